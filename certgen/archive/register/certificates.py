"""Certificates enter the register: file and row appear together, and one is replaced by another."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from datetime import UTC, datetime
from pathlib import Path

from certgen.archive.register.database import FILE_NAME, bring_up_to_date, errors_reported, writing
from certgen.archive.register.entry import Entry, certificate_file, shown_number
from certgen.archive.register.numbers import take_number
from certgen.archive.store import failure_reported, flush_folder, take_name
from certgen.document.source import digest
from certgen.errors import AlreadyIssued, CertgenError
from certgen.messages.catalogue import Message

# Entering a certificate: the file and its row appear together, whatever instant the power goes.
#
# The order is: the complete file under a passing name, flushed to disk, and the row marked 'entering', committed;
# then the file takes its own name and the row is marked 'issued'. Whoever opens the register next finishes what was
# committed; what was not committed leaves a passing file that ``reconcile`` removes.


#: Beginning of the passing names of files that are being entered.
PASSING = ".entering-"

_COLUMNS = tuple(field.name for field in fields(Entry))


@dataclass(frozen=True)
class Entered:
    """A certificate in the register."""

    number: str
    revision: int
    path: Path
    verdict: str
    new: bool


@dataclass(frozen=True)
class Stuck:
    """A certificate whose entering cannot be brought to its end, and why; everything else goes on without it."""

    row: int
    shown_number: str
    file: str
    why: Message


def already_entered(connection: sqlite3.Connection, folder: Path, source_sha256: str) -> Entered | None:
    """The certificate that was made from the same files before, if any; the newest of several."""
    finish_entering(connection, folder)
    return _same_source(connection, folder, source_sha256)


def number_being_entered(connection: sqlite3.Connection, source_sha256: str) -> str | None:
    """The number under which these very files were being entered when that was interrupted, if they were."""
    row = connection.execute(
        "SELECT number FROM certificate WHERE source_sha256 = ? AND state = 'entering'", (source_sha256,)
    ).fetchone()
    return None if row is None else str(row["number"])


def enter(
    connection: sqlite3.Connection,
    folder: Path,
    entry: Entry,
    document: bytes,
    inputs: Mapping[str, str] | None = None,
) -> Entered:
    """Put one certificate into the folder and the register.

    Parameters
    ----------
    connection : sqlite3.Connection
        The register.
    folder : Path
        The archive folder.
    entry : Entry
        What the register keeps.
    document : bytes
        The certificate's file.
    inputs : mapping, optional
        Every file it is made from, as the job names it -> SHA-256.

    Returns
    -------
    Entered
        Where it is, and whether it is new; the same certificate again is left in place.

    Raises
    ------
    AlreadyIssued
        Its number and revision, or the name of its file, are taken by another certificate.
    CertgenError
        A revision without the one before or of a certificate that was replaced, or the folder cannot be written.
    """
    sha256 = digest(document)
    path = folder / certificate_file(entry.number, entry.revision)
    finish_entering(connection, folder)
    with errors_reported(folder / FILE_NAME), failure_reported(path):
        bring_up_to_date(connection, folder)
        with writing(connection):
            before = _same_source(connection, folder, entry.source_sha256)
            if before is not None:  # another process was first
                return before
            interrupted = _interrupted(connection, entry, sha256)
            if not interrupted:
                _refuse_conflict(connection, entry, path)
            passing = folder / f"{PASSING}{sha256}"
            try:
                _write_flushed(passing, document)
                if not interrupted:
                    _insert(connection, entry, inputs or {}, path.name, sha256)
            except BaseException:
                passing.unlink(missing_ok=True)
                raise
        for stuck in finish_entering(connection, folder):
            if stuck.file == path.name:
                raise CertgenError(f"{stuck.shown_number}: {stuck.why}.")
    return Entered(entry.number, entry.revision, path, entry.verdict, new=True)


def finish_entering(connection: sqlite3.Connection, folder: Path) -> list[Stuck]:
    """Bring every committed entry to its end: the file under its name, the row 'issued'.

    Returns
    -------
    list of Stuck
        Entries that cannot be: their file is gone, or another stands under its name.
    """
    with errors_reported(folder / FILE_NAME):
        if not _entering(connection):
            return []
        try:
            with writing(connection):
                return finish_in_lock(connection, folder)
        except sqlite3.OperationalError as cause:
            if cause.sqlite_errorcode & 0xFF != sqlite3.SQLITE_READONLY:
                raise
            why = Message("register.stuck.unreadable", reason="read-only")
            return [_stuck(row, why) for row in _entering(connection)]


def finish_in_lock(connection: sqlite3.Connection, folder: Path) -> list[Stuck]:
    """The same within a transaction that holds the write lock."""
    found = []
    for row in _entering(connection):
        try:
            why = _finish(connection, folder, row)
        except OSError as cause:
            why = Message("register.stuck.unreadable", reason=cause.strerror or str(cause))
        if why is not None:
            found.append(_stuck(row, why))
    return found


def _entering(connection: sqlite3.Connection) -> list[sqlite3.Row]:
    return connection.execute("SELECT * FROM certificate WHERE state = 'entering'").fetchall()


def _stuck(row: sqlite3.Row, why: Message) -> Stuck:
    return Stuck(row["id"], shown_number(row["number"], row["revision"]), row["file"], why)


def _finish(connection: sqlite3.Connection, folder: Path, row: sqlite3.Row) -> Message | None:
    """Why an entry cannot be finished, ``None`` once it is."""
    if Path(row["file"]).name != row["file"] or Path(row["pdf_sha256"]).name != row["pdf_sha256"]:
        return Message("register.stuck.outside")
    passing, path = folder / f"{PASSING}{row['pdf_sha256']}", folder / row["file"]
    if not _is(path, row["pdf_sha256"]):
        if not _is(passing, row["pdf_sha256"]):
            return Message("register.stuck.lost")
        if path.is_file() and path.stat().st_size == 0:  # only its name was taken, on a file system without links
            passing.replace(path)
        elif not take_name(passing, path):
            return Message("register.stuck.name_taken", file=row["file"])
        flush_folder(folder)
    connection.execute("UPDATE certificate SET state = 'issued' WHERE id = ?", (row["id"],))
    passing.unlink(missing_ok=True)
    return None


def withdraw(connection: sqlite3.Connection, row: int) -> None:
    """Take back an entry whose file is lost, within a transaction; its number stays given, and is listed so."""
    kept = connection.execute("SELECT * FROM certificate WHERE id = ? AND state = 'entering'", (row,)).fetchone()
    names = [name for name in _COLUMNS if name in kept.keys()]  # noqa: SIM118  a row is no mapping
    words = Entry(**{name: kept[name] for name in names}).words
    connection.execute("INSERT INTO words (words, rowid, text) VALUES ('delete', ?, ?)", (row, words))
    connection.execute("DELETE FROM replacement WHERE by_certificate = ?", (row,))
    connection.execute("DELETE FROM input WHERE certificate = ?", (row,))
    connection.execute("DELETE FROM certificate WHERE id = ?", (row,))


def _is(path: Path, sha256: str) -> bool:
    return path.is_file() and digest(path.read_bytes()) == sha256


def _same_source(connection: sqlite3.Connection, folder: Path, source_sha256: str) -> Entered | None:
    row = connection.execute(
        "SELECT number, revision, file, verdict FROM certificate WHERE source_sha256 = ? AND state = 'issued' "
        "ORDER BY id DESC LIMIT 1",
        (source_sha256,),
    ).fetchone()
    if row is None:
        return None
    return Entered(row["number"], row["revision"], folder / row["file"], row["verdict"], new=False)


def _interrupted(connection: sqlite3.Connection, entry: Entry, sha256: str) -> bool:
    """Whether this very file was being entered when that was interrupted: writing it again mends the entry."""
    row = connection.execute(
        "SELECT pdf_sha256 FROM certificate WHERE number = ? AND revision = ? AND state = 'entering'",
        (entry.number, entry.revision),
    ).fetchone()
    return row is not None and row["pdf_sha256"] == sha256


def _refuse_conflict(connection: sqlite3.Connection, entry: Entry, path: Path) -> None:
    last = connection.execute(
        "SELECT id, revision, state FROM certificate WHERE number = ? ORDER BY revision DESC LIMIT 1", (entry.number,)
    ).fetchone()
    number = entry.number
    if last is not None and last["state"] == "entering":
        raise AlreadyIssued(
            f"{number}: a certificate of this number was being entered and its file is lost; 'certgen register check "
            "--repair' takes the entry back, then issue again."
        )
    if last is not None and entry.revision <= last["revision"]:
        raise AlreadyIssued(
            f"{number}: revision {entry.revision} was issued before from other files, and an issued certificate is "
            f"never changed; give the job a number of its own, or 'revision: {last['revision'] + 1}' with the reason "
            "in 'revision_reason' under certificate."
        )
    due = 1 if last is None else last["revision"] + 1
    if entry.revision != due:
        held = "holds no certificate of this number" if last is None else f"holds revision {due - 1} as the last"
        raise CertgenError(
            f"{number}: revision {entry.revision} cannot be entered, the register {held}; write 'revision: {due}'."
        )
    if last is not None:
        _refuse_revision_of_replaced(connection, entry, last["id"])
    _refuse_taken_name(connection, entry, path)


def _refuse_revision_of_replaced(connection: sqlite3.Connection, entry: Entry, last: int) -> None:
    by = connection.execute(
        "SELECT number, certificate.revision FROM replacement JOIN certificate ON certificate.id = by_certificate "
        "WHERE replaced = ?",
        (last,),
    ).fetchone()
    if by is not None:
        shown = shown_number(by["number"], by["revision"])
        raise AlreadyIssued(
            f"{entry.number}: this certificate was replaced by {shown}, so it takes no revision; correct "
            f"{by['number']} instead, or give the job a number of its own."
        )


def _refuse_taken_name(connection: sqlite3.Connection, entry: Entry, path: Path) -> None:
    other = connection.execute("SELECT number, revision FROM certificate WHERE file = ?", (path.name,)).fetchone()
    if other is not None:
        shown = shown_number(other["number"], other["revision"])
        raise AlreadyIssued(
            f"{entry.number}: its file would be called {path.name}, and that is the file of certificate {shown}; leave "
            "that file where it is, and give this job a number that differs in letters or figures."
        )
    if _taken(path):
        raise AlreadyIssued(
            f"{path}: a file of this name stands in the archive and is not in its register; move it away, or give the "
            "certificate another number."
        )


def _taken(path: Path) -> bool:
    """Whether a name is taken; a name the file system cannot bear is an error here, before anything is entered."""
    try:
        path.lstat()
    except FileNotFoundError:
        return False
    return True


def _write_flushed(path: Path, data: bytes) -> None:
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    path.chmod(0o644)
    flush_folder(path.parent)


def _insert(
    connection: sqlite3.Connection, entry: Entry, inputs: Mapping[str, str], file: str, pdf_sha256: str
) -> None:
    take_number(connection, entry.number)
    now = datetime.now(UTC).isoformat(timespec="seconds")
    kept = {**asdict(entry), "file": file, "state": "entering", "entered_at": now, "pdf_sha256": pdf_sha256}
    row = connection.execute(
        f"INSERT INTO certificate ({', '.join(kept)}) VALUES ({', '.join('?' * len(kept))})", tuple(kept.values())
    ).lastrowid
    connection.executemany("INSERT INTO input VALUES (?, ?, ?)", [(row, *named) for named in inputs.items()])
    connection.execute("INSERT INTO words (rowid, text) VALUES (?, ?)", (row, entry.words))
    if entry.revision > 1:
        connection.execute(
            "INSERT INTO replacement SELECT id, ?, ? FROM certificate WHERE number = ? AND revision = ?",
            (row, entry.reason, entry.number, entry.revision - 1),
        )


# Marking a certificate as replaced by another of its own number; neither file changes.


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
            f"--because: a reason of 1 to {_LONGEST} characters on one line is needed; say why in a sentence."
        )
    with errors_reported(folder / FILE_NAME), writing(connection):
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
