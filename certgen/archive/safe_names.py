"""Names of enclosed files that may be laid out as a folder tree without harm, and how much may be enclosed."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable

#: Bounds on what one certificate encloses: files, and their bytes together.
MOST_FILES = 200
MOST_BYTES = 256_000_000

_MOST_NAME = 500
_MOST_PART = 200  # of one folder or file name; file systems allow 255 bytes
_DEVICE = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
_ON_WINDOWS = os.name == "nt"
_NOT_IN_NAMES = set('\\:*?"<>|') if _ON_WINDOWS else {"\\"}


def unsafe(name: str) -> str:
    """Why a name is not safe, or nothing where it is.

    Safe is a relative name of plain parts joined by '/': no way up, no root, no drive, no sign or name that the
    system at hand treats in a way of its own.
    """
    if not name or len(name) > _MOST_NAME or not name.isprintable():
        return "it is empty, too long or holds signs that cannot be printed"
    if name.startswith(("/", "~")) or _NOT_IN_NAMES & set(name):
        return "it is absolute, or holds a sign that is no part of a plain name"
    if any(_bad_part(part) for part in name.split("/")):
        return "a part of it is no plain name"
    return ""


def _bad_part(part: str) -> bool:
    if part in ("", ".", "..") or len(part.encode()) > _MOST_PART:
        return True
    return _ON_WINDOWS and (part[-1] in ". " or _DEVICE.fullmatch(part) is not None)


def clashing(names: Iterable[str]) -> list[str]:
    """Names that are the same where capitals do not count, or stand where another needs a folder."""
    seen: set[str] = set()
    folders: set[str] = set()
    found = []
    for name in names:
        plain = name.casefold()
        above = {plain[:at] for at, sign in enumerate(plain) if sign == "/"}
        if plain in seen or plain in folders or above & seen:
            found.append(name)
        seen.add(plain)
        folders |= above
    return found
