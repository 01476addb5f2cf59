"""What the commands tell in the terminal: results, plans, outcomes, the register."""
