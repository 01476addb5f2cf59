"""The register's file: its tables, opening it, and one writer at a time."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from certgen.errors import CertgenError

FILE_NAME = "register.sqlite3"

#: Marks the file as a register of certificates ("cgrg"), and the version of its tables.
APPLICATION_ID = 0x63677267
VERSION = 2

_BUSY_SECONDS = 60.0

_ADVICE = "if the file is damaged put back a copy of it, then let 'certgen register check' hold it against the folder"
_MAY_WRITE = "name a folder that may be read and written to"
#: What to do where not the file but the system is the cause, by the engine's primary result code.
_OF_THE_SYSTEM = {
    sqlite3.SQLITE_FULL: "make room on the disk",
    sqlite3.SQLITE_IOERR: "make room on the disk, and see that it is sound",
    sqlite3.SQLITE_CANTOPEN: _MAY_WRITE,
    sqlite3.SQLITE_READONLY: _MAY_WRITE,
    sqlite3.SQLITE_BUSY: "another program holds it; try again when that is done",
    sqlite3.SQLITE_CONSTRAINT: "the register is whole and was left as it was; report this line as a fault of the program",
}

_TABLES = """
CREATE TABLE setting (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;

-- Every number ever given, whether a certificate came of it or not, never deleted.
CREATE TABLE number (
    number TEXT PRIMARY KEY,
    series TEXT NOT NULL,
    serial INTEGER,
    UNIQUE (series, serial)
) WITHOUT ROWID;

CREATE TABLE certificate (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    number TEXT NOT NULL REFERENCES number,
    revision INTEGER NOT NULL,
    reason TEXT NOT NULL,
    file TEXT NOT NULL UNIQUE COLLATE NOCASE,
    state TEXT NOT NULL CHECK (state IN ('entering', 'issued')),
    tested_on TEXT NOT NULL,
    entered_at TEXT NOT NULL,
    tested_by TEXT NOT NULL,
    issued_to TEXT NOT NULL,
    motor_type TEXT NOT NULL,
    maker TEXT NOT NULL COLLATE NOCASE,
    model TEXT NOT NULL COLLATE NOCASE,
    serial TEXT NOT NULL COLLATE NOCASE,
    description TEXT NOT NULL,
    verdict TEXT NOT NULL,
    headline TEXT NOT NULL DEFAULT '',
    scope TEXT NOT NULL DEFAULT '',
    set_by TEXT NOT NULL DEFAULT '',
    voltage REAL, power REAL, torque REAL, speed REAL, current REAL, efficiency REAL,
    pdf_sha256 TEXT NOT NULL,
    source_sha256 TEXT NOT NULL,
    UNIQUE (number, revision)
);
CREATE INDEX certificate_serial ON certificate (serial);
CREATE INDEX certificate_maker ON certificate (maker);
CREATE INDEX certificate_tested_on ON certificate (tested_on);
CREATE INDEX certificate_verdict ON certificate (verdict, tested_on);
CREATE INDEX certificate_power ON certificate (power);
CREATE INDEX certificate_source ON certificate (source_sha256);
CREATE INDEX certificate_entering ON certificate (state) WHERE state = 'entering';

CREATE TABLE input (
    certificate INTEGER NOT NULL REFERENCES certificate,
    name TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    PRIMARY KEY (certificate, name)
) WITHOUT ROWID;

CREATE TABLE replacement (
    replaced INTEGER PRIMARY KEY REFERENCES certificate,
    by_certificate INTEGER NOT NULL REFERENCES certificate,
    because TEXT NOT NULL
);

CREATE VIRTUAL TABLE words USING fts5 (text, content='', tokenize='unicode61 remove_diacritics 2');
"""


def open_register(folder: Path, *, make: bool, only_read: bool = False) -> sqlite3.Connection:
    """The register of an archive folder.

    Parameters
    ----------
    folder : Path
        The archive folder; it must exist.
    make : bool
        Whether to start a register where there is none.
    only_read : bool
        Whether it is another's: nothing in its folder is changed, and one of an earlier version is read as it is.

    Returns
    -------
    sqlite3.Connection
        In autocommit mode; writers go through ``writing``.

    Raises
    ------
    CertgenError
        The folder or its register is missing, is not a register, or cannot be read.
    """
    path = folder / FILE_NAME
    with _looked_at(folder):
        there, started = folder.is_dir(), path.is_file()
    if not there:
        raise CertgenError(f"{folder}: there is no such folder; make it first, or name the archive's folder.")
    if not make and not started:
        raise CertgenError(
            f"{folder}: there is no register in this folder; 'certgen register start {folder}' starts one."
        )
    with errors_reported(path):
        place = f"{path.resolve().as_uri()}?mode=ro" if only_read else str(path)
        connection = sqlite3.connect(place, timeout=_BUSY_SECONDS, isolation_level=None, uri=only_read)
        try:
            _prepare(connection, path)
            if not only_read:
                with suppress(OSError, sqlite3.OperationalError):  # one that cannot be written to is read as it is
                    bring_up_to_date(connection, folder)
        except BaseException:
            connection.close()
            raise
    return connection


@contextmanager
def _looked_at(folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as cause:
        reason = cause.strerror or str(cause)
        raise CertgenError(f"{folder}: the folder cannot be looked into ({reason}); {_MAY_WRITE}.") from cause


@contextmanager
def errors_reported(path: Path) -> Iterator[None]:
    """What the database engine reports, in a sentence that names the file."""
    try:
        yield
    except UnicodeDecodeError as cause:  # damage in the very words that would tell of it
        raise CertgenError(f"{path}: the register cannot be used (it holds bytes of no text); {_ADVICE}.") from cause
    except sqlite3.Error as cause:
        code = getattr(cause, "sqlite_errorcode", None)
        advice = _ADVICE if code is None else _OF_THE_SYSTEM.get(code & 0xFF, _ADVICE)
        raise CertgenError(f"{path}: the register cannot be used ({cause}); {advice}.") from cause


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction that holds the write lock from its beginning, kept whole or undone.

    What the engine undid by itself, as on a full disk, is not undone again: that error would hide the first.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            with suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
        raise


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    # A rollback journal leaves one file between commits and needs no shared memory, so network folders work.
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.row_factory = sqlite3.Row
    if _version(connection, path) == 0:
        with writing(connection):
            if _version(connection, path) == 0:  # unless another process was first
                _make_tables(connection)


def _version(connection: sqlite3.Connection, path: Path) -> int:
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    mark = int(connection.execute("PRAGMA application_id").fetchone()[0])
    empty = version == 0 and connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    if not empty and (mark != APPLICATION_ID or version > VERSION):
        what = "is not a register of certificates" if mark != APPLICATION_ID else "was made by a later program"
        raise CertgenError(f"{path}: this file {what}; move it away, or use the program that made it.")
    return version


#: Columns that a register made by an earlier version lacks: what is printed large, what the verdict covers in brief,
#: and which headline value defines the others.
ADDED = ("headline", "scope", "set_by")


def bring_up_to_date(connection: sqlite3.Connection, folder: Path) -> None:
    """Give a register of an earlier version the columns of this one, once; the register as it was stays beside it.

    Parameters
    ----------
    connection : sqlite3.Connection
        The register, outside a transaction.
    folder : Path
        Its folder, where the copy goes.

    Raises
    ------
    OSError, sqlite3.OperationalError
        The folder cannot be written to; the register is as it was.
    """
    if _stated_version(connection) >= VERSION:
        return
    with writing(connection):  # with the lock in hand nobody else writes, so the file may be copied as it lies there
        version = _stated_version(connection)
        if version >= VERSION:
            return
        _keep_copy(folder, version)
        for column in ADDED:
            connection.execute(f"ALTER TABLE certificate ADD COLUMN {column} TEXT NOT NULL DEFAULT ''")
        connection.execute(f"PRAGMA user_version = {VERSION}")


def _stated_version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _keep_copy(folder: Path, version: int) -> None:
    """The file as a register of its version, under a name that says so; an earlier copy stays."""
    copy = folder / FILE_NAME.replace(".", f"-version-{version}.", 1)
    if copy.exists():
        return
    passing = copy.with_suffix(".copying")
    try:
        with (folder / FILE_NAME).open("rb") as source, passing.open("wb") as target:
            shutil.copyfileobj(source, target)
            target.flush()
            os.fsync(target.fileno())
        passing.replace(copy)
    finally:
        passing.unlink(missing_ok=True)


def _make_tables(connection: sqlite3.Connection) -> None:
    for statement in _TABLES.split(";"):
        if statement.strip():
            connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {VERSION}")
