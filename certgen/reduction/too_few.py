"""What a reduction raises where the readings do not carry a figure."""

from __future__ import annotations


class TooFewReadings(Exception):
    """A figure cannot be computed; the message says what is missing, as the end of a sentence."""
