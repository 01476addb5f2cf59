"""Before the test: what to load the motor to, what the scale will read, and what the rig holds."""
