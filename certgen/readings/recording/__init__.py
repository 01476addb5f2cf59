"""Serial recording: lines of a logger into a readings file, each of them safe on the disk before the next."""
