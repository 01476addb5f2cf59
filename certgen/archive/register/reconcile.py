"""The register held against its folder: what is missing, changed, or stands there unknown; and mended where it can be."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from certgen.archive.register.certificates import PASSING, Stuck, finish_in_lock, withdraw
from certgen.archive.register.database import FILE_NAME, errors_reported, writing
from certgen.archive.register.entry import Registered
from certgen.archive.register.numbers import never_issued
from certgen.archive.register.page_entry import absent, differences, page_entry, row_difference
from certgen.archive.register.search import Wanted, find
from certgen.archive.store import WRITING, failure_reported
from certgen.document.source import digest
from certgen.messages.catalogue import Message

#: A file under a passing name that nobody has written to for so long is nobody's: writing one takes seconds. [s]
_LEFT_BEHIND = 3600.0


@dataclass(frozen=True)
class Reconciled:
    """What was found, file by file."""

    certificates: int
    missing: tuple[str, ...] = ()  # in the register, not in the folder
    changed: tuple[str, ...] = ()  # in the folder with other bytes than the register knows
    unknown: tuple[str, ...] = ()  # PDF files the register does not know
    never_issued: tuple[str, ...] = ()  # numbers given without a certificate
    removed: tuple[str, ...] = ()  # files left behind by an interrupted run, now gone
    damage: tuple[str, ...] = ()  # what the database engine finds wrong with the register itself
    stuck: tuple[Message, ...] = ()  # certificates that were being entered and cannot be finished
    differs: tuple[Message, ...] = ()  # rows that say something else than their own certificate
    incomplete: tuple[str, ...] = ()  # rows without the figures their certificate has
    mended: tuple[Message, ...] = ()  # what was brought in order

    @property
    def good(self) -> bool:
        """Whether every certificate is there, whole and as its row says, and nothing else."""
        return not (self.missing or self.changed or self.unknown or self.damage or self.stuck or self.differs)


@dataclass(frozen=True)
class _Folder:
    """Register and folder as they stood at one instant, with the write lock in hand."""

    rows: list[Registered]
    files: dict[str, str]  # name without regard to capitals -> name
    removed: tuple[str, ...]
    stuck: tuple[Message, ...]
    mended: tuple[Message, ...]


def reconcile(connection: sqlite3.Connection, folder: Path, *, repair: bool = False) -> Reconciled:
    """Finish what was interrupted, and hold every certificate of the register against its file.

    Parameters
    ----------
    connection : sqlite3.Connection
        The register.
    folder : Path
        The archive folder.
    repair : bool
        Whether entries whose file is lost are taken back, and rows brought in line with their own certificates.

    Returns
    -------
    Reconciled
        What was found.
    """
    with errors_reported(folder / FILE_NAME):
        damage = tuple(_damage(connection))
        with writing(connection), failure_reported(folder):
            then = _as_it_stands(connection, folder, repair=repair)
        missing, changed, differs, incomplete = [], [], [], []
        mended = list(then.mended)
        for row in then.rows:
            if row.file.casefold() not in then.files:
                missing.append(row.file)
                continue
            data = _read(folder / row.file)
            if data is None or digest(data) != row.pdf_sha256:
                changed.append(row.file)
                continue
            wrong, absent_figures = _against_page(row, data)
            if repair and (wrong or absent_figures):
                _bring_in_line(connection, row, {**wrong, **absent_figures})
                mended.append(Message("register.mended.row", number=row.shown_number))
                continue
            differs += [row_difference(column, row, said) for column, said in wrong.items()]
            incomplete += [row.shown_number] * bool(absent_figures)
        known = {row.file.casefold() for row in then.rows}
        unknown = tuple(sorted(name for plain, name in then.files.items() if plain not in known))
        return Reconciled(
            len(then.rows),
            missing=tuple(missing),
            changed=tuple(changed),
            unknown=unknown,
            never_issued=tuple(never_issued(connection)),
            removed=then.removed,
            damage=damage,
            stuck=then.stuck,
            differs=tuple(differs),
            incomplete=tuple(incomplete),
            mended=tuple(mended),
        )


def _as_it_stands(connection: sqlite3.Connection, folder: Path, *, repair: bool) -> _Folder:
    """Everything that others change while they issue, taken at one instant.

    Rows and names of files are changed under the write lock only. With the lock in hand every entry that can be
    finished is, so that a file under a passing name belongs to an entry that is stuck, or to nobody.
    """
    stuck = finish_in_lock(connection, folder)
    mended = []
    for entry in [one for one in stuck if repair and _is_lost(one)]:
        withdraw(connection, entry.row)
        stuck.remove(entry)
        mended.append(Message("register.mended.withdrawn", number=entry.shown_number))
    awaited = connection.execute("SELECT pdf_sha256, file FROM certificate WHERE state = 'entering'").fetchall()
    removed = tuple(_remove_left_behind(folder, {f"{PASSING}{row['pdf_sha256']}" for row in awaited}))
    names_of_stuck = {row["file"].casefold() for row in awaited}
    files = {path.name.casefold(): path.name for path in folder.glob("*.[pP][dD][fF]")}
    return _Folder(
        find(connection, Wanted()),
        {plain: name for plain, name in files.items() if plain not in names_of_stuck},
        removed,
        tuple(Message("register.stuck.entry", number=one.shown_number, why=one.why) for one in stuck),
        tuple(mended),
    )


def _read(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None


def _is_lost(entry: Stuck) -> bool:
    return entry.why.key == "register.stuck.lost"


def _against_page(row: Registered, data: bytes) -> tuple[dict[str, object], dict[str, object]]:
    """What the row says otherwise than its own certificate, and what it lacks."""
    page = page_entry(data)
    if page is None:  # no results inside, though the bytes are those that were entered
        return {}, {}
    return dict(differences(row, page)), dict(absent(row, page))


def _bring_in_line(connection: sqlite3.Connection, row: Registered, said: dict[str, object]) -> None:
    """Let a row say what its certificate says; number and revision, which name the row, stay as they are."""
    columns = {name: value for name, value in said.items() if name not in ("number", "revision")}
    with writing(connection):
        kept = connection.execute(
            "SELECT id FROM certificate WHERE number = ? AND revision = ? AND pdf_sha256 = ?",
            (row.number, row.revision, row.pdf_sha256),
        ).fetchone()
        if kept is None or not columns:
            return
        connection.execute("INSERT INTO words (words, rowid, text) VALUES ('delete', ?, ?)", (kept["id"], row.words))
        assigned = ", ".join(f"{name} = ?" for name in columns)
        connection.execute(f"UPDATE certificate SET {assigned} WHERE id = ?", (*columns.values(), kept["id"]))
        changed = find(connection, Wanted(number=row.number))
        words = next(one.words for one in changed if one.revision == row.revision)
        connection.execute("INSERT INTO words (rowid, text) VALUES (?, ?)", (kept["id"], words))


def _damage(connection: sqlite3.Connection) -> Iterator[str]:
    for row in connection.execute("PRAGMA integrity_check(20)"):
        if row[0] != "ok":
            yield str(row[0])
    for row in connection.execute("PRAGMA foreign_key_check"):
        yield str(Message("register.dangling_row", table=row[0], other=row[2]))


def _remove_left_behind(folder: Path, awaited: set[str]) -> Iterator[str]:
    for path in sorted(folder.glob(f"{PASSING}*")):
        if path.name not in awaited:
            path.unlink(missing_ok=True)
            yield path.name
    for path in sorted(folder.glob(f"{WRITING}*")):
        if time.time() - path.stat().st_mtime > _LEFT_BEHIND:
            path.unlink(missing_ok=True)
            yield path.name
