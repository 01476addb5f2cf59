"""One module a job: its motor, what was set at the bench, and the readings that gives."""
