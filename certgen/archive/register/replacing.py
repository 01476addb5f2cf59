"""Marking a certificate as replaced by another of its own number; neither file changes."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from certgen.archive.register.database import FILE_NAME, told, writing
from certgen.archive.register.search import shown_number
from certgen.errors import CertgenError

_LONGEST = 300


def supersede(connection: sqlite3.Connection, folder: Path, replaced: str, *, by: str, because: str) -> str:
    """Let one certificate be replaced by another, for good.

    Parameters
    ----------
    connection : sqlite3.Connection
        The register.
    folder : Path
        Its folder, for messages.
    replaced, by : str
        Numbers; the last revision of each is meant.
    because : str
        Why.

    Returns
    -------
    str
        The replaced certificate with its revision.

    Raises
    ------
    CertgenError
        A number is not in the register, both are one, the reason is empty or too long, or either is replaced already.
    """
    if not because.strip() or len(because) > _LONGEST or not because.isprintable():
        raise CertgenError(
            f"--because: a reason of 1 to {_LONGEST} signs on one line is needed; say why in a sentence."
        )
    with told(folder / FILE_NAME), writing(connection):
        old, new = _last(connection, folder, replaced), _last(connection, folder, by)
        if old["id"] == new["id"]:
            raise CertgenError(f"{replaced}: a certificate cannot replace itself; name the other one with --by.")
        for row, what in ((old, "is replaced already"), (new, "is itself replaced")):
            if _replaced(connection, row["id"]):
                shown = shown_number(row["number"], row["revision"])
                raise CertgenError(f"{shown}: this certificate {what}; name the one that stands.")
        connection.execute("INSERT INTO replacement VALUES (?, ?, ?)", (old["id"], new["id"], because.strip()))
    return shown_number(old["number"], old["revision"])


def _last(connection: sqlite3.Connection, folder: Path, number: str) -> sqlite3.Row:
    row = connection.execute(
        "SELECT id, number, revision FROM certificate WHERE number = ? AND state = 'issued' "
        "ORDER BY revision DESC LIMIT 1",
        (number,),
    ).fetchone()
    if row is None:
        raise CertgenError(f"{number}: no certificate of this number is in the register of {folder}; check the number.")
    found: sqlite3.Row = row
    return found


def _replaced(connection: sqlite3.Connection, row: int) -> bool:
    return connection.execute("SELECT 1 FROM replacement WHERE replaced = ?", (row,)).fetchone() is not None
