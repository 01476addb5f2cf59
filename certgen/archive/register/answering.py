"""The register of an archive as verification asks it: is this the file issued under its number, and does it stand?"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from certgen.archive.register.search import Registered, Wanted, find


@dataclass(frozen=True)
class Answer:
    """What the register says of one certificate.

    Attributes
    ----------
    digest : str
        SHA-256 of the file as issued, hexadecimal.
    state : str
        In words what became of it; empty where it stands.
    """

    digest: str
    state: str


@dataclass(frozen=True)
class Answering:
    """An open register."""

    connection: sqlite3.Connection

    def look_up(self, number: str, digest: str) -> Answer | None:
        """The entry of a number: the one of this digest where several revisions were issued, or ``None``."""
        entries = [one for one in find(self.connection, Wanted(number=number)) if one.number == number]
        if not entries:
            return None
        entry = next((one for one in entries if one.pdf_sha256 == digest), entries[0])
        return Answer(entry.pdf_sha256, _state(entry))


def _state(entry: Registered) -> str:
    if entry.replacement is None:
        return ""
    because = f": {entry.because}" if entry.because else ""
    return f"{entry.shown_number} was replaced by {entry.replacement}{because}"
