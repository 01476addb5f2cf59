"""The job and rig files: what a person writes about one test, read into frozen values in SI."""
