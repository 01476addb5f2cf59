"""The register held against its folder: what is missing, changed, or stands there unknown."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from certgen.archive.register.certificates import PASSING, finish_entering
from certgen.archive.register.database import FILE_NAME, errors_reported, writing
from certgen.archive.register.numbers import never_issued
from certgen.archive.store import failure_reported
from certgen.messages.catalogue import Message


@dataclass(frozen=True)
class Reconciled:
    """What was found, file by file."""

    certificates: int
    missing: tuple[str, ...]  # in the register, not in the folder
    changed: tuple[str, ...]  # in the folder with other bytes than the register knows
    unknown: tuple[str, ...]  # PDF files the register does not know
    never_issued: tuple[str, ...]  # numbers given without a certificate
    removed: tuple[str, ...]  # files left behind by an interrupted run, now gone
    damage: tuple[str, ...]  # what the database engine finds wrong with the register itself

    @property
    def good(self) -> bool:
        """Whether every certificate is there, whole, and nothing else."""
        return not (self.missing or self.changed or self.unknown or self.damage)


def reconcile(connection: sqlite3.Connection, folder: Path) -> Reconciled:
    """Finish what was interrupted, and hold every certificate of the register against its file.

    Parameters
    ----------
    connection : sqlite3.Connection
        The register.
    folder : Path
        The archive folder.

    Returns
    -------
    Reconciled
        What was found.
    """
    with errors_reported(folder / FILE_NAME):
        damage = tuple(_damage(connection))
        finish_entering(connection, folder)
        # Passing files are written under the write lock: with the lock in hand, none of them is anyone's.
        with writing(connection):
            with failure_reported(folder):
                removed = tuple(_remove_left_behind(folder))
            rows = connection.execute("SELECT file, pdf_sha256 FROM certificate").fetchall()
    known = {row["file"].casefold() for row in rows}
    missing, changed = [], []
    for row in rows:
        path = folder / row["file"]
        if not path.is_file():
            missing.append(row["file"])
        elif _digest(path) != row["pdf_sha256"]:
            changed.append(row["file"])
    unknown = sorted(path.name for path in folder.glob("*.pdf") if path.name.casefold() not in known)
    return Reconciled(
        len(rows), tuple(missing), tuple(changed), tuple(unknown), tuple(never_issued(connection)), removed, damage
    )


def _damage(connection: sqlite3.Connection) -> Iterator[str]:
    for row in connection.execute("PRAGMA integrity_check(20)"):
        if row[0] != "ok":
            yield str(row[0])
    for row in connection.execute("PRAGMA foreign_key_check"):
        yield str(Message("register.dangling_row", table=row[0], other=row[2]))


def _remove_left_behind(folder: Path) -> Iterator[str]:
    for path in sorted(folder.glob(f"{PASSING}*")):
        path.unlink(missing_ok=True)
        yield path.name


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
