"""Sheets made and written: the certificate of a job, its tag, run sheets, lists, one at a time or many."""
