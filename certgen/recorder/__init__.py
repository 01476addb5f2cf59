"""The recorder: lines of a logger go into a file while the terminal shows what they mean and how near a limit is."""
