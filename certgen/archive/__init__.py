"""Keeping what was issued: files that appear whole or not at all and are never overwritten."""
