"""Certificates in the register: what is kept of each, how file and row appear together, how it is replaced."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from certgen.archive.register.database import FILE_NAME, bring_up_to_date, errors_reported, writing
from certgen.archive.register.numbers import take_number
from certgen.archive.register.search import shown_number
from certgen.archive.store import failure_reported, file_name, flush_folder, take_name
from certgen.assessment.statement import headline_of, scope_in_brief
from certgen.document.source import digest
from certgen.errors import AlreadyIssued, CertgenError
from certgen.messages.catalogue import text_of
from certgen.quantity import Quantity
from certgen.results.model import Point, Results
from certgen.results.points import leading_point

#: Headline values of an entry and the SI unit each is kept in.
HEADLINES = {"voltage": "V", "power": "W", "torque": "N*m", "speed": "rad/s", "current": "A", "efficiency": "1"}


@dataclass(frozen=True)
class Entry:
    """One certificate, as it goes into the register; headline values in SI, ``None`` where not measured."""

    number: str
    revision: int
    reason: str  # why a revision replaces the one before; empty for the first
    tested_on: str  # ISO date
    tested_by: str
    issued_to: str
    motor_type: str
    maker: str
    model: str
    serial: str
    description: str
    verdict: str
    voltage: float | None
    power: float | None
    torque: float | None
    speed: float | None
    current: float | None
    efficiency: float | None
    inputs: Mapping[str, str]  # file as named -> SHA-256
    source_sha256: str
    headline: str = ""  # what the certificate prints large
    scope: str = ""  # what its verdict does not cover, in brief
    set_by: str = ""  # the headline value that defines the others; empty where all were measured

    @property
    def file(self) -> str:
        """Name of the certificate's file in the archive folder."""
        return certificate_file(self.number, self.revision)

    @property
    def words(self) -> str:
        """What a search for text looks through."""
        parts = (self.number, self.maker, self.model, self.serial, self.description, self.issued_to, self.motor_type)
        return " ".join(part for part in parts if part)


def certificate_file(number: str, revision: int) -> str:
    """The file name of a certificate: its number, and the revision from the second on."""
    return file_name(number if revision == 1 else f"{number}-revision-{revision}")


def entry_of(results: Results, source_sha256: str, units: str = "si") -> Entry:
    """The entry of one test's results, whose certificate has its number and prints in these units.

    Headline values are those that lead the certificate, also where the test has one load point only.
    """
    certificate, motor = results.certificate, results.motor
    scope = scope_in_brief(results.verdict)
    if certificate.number is None:
        raise AssertionError("a certificate is entered after it has its number")
    return Entry(
        number=certificate.number,
        revision=certificate.revision,
        reason=certificate.revision_reason or "",
        tested_on=certificate.tested_on.isoformat(),
        tested_by=certificate.tested_by,
        issued_to=certificate.issued_to or "",
        motor_type=motor.type,
        maker=motor.maker or "",
        model=motor.model or "",
        serial=motor.serial or "",
        description=motor.description or "",
        verdict=results.verdict.outcome,
        headline=text_of(headline_of(results.verdict), units=units),
        scope="" if scope is None else text_of(scope, units=units),
        set_by=set_value(results),
        **headlines(results),
        inputs=dict(results.traceability.inputs),
        source_sha256=source_sha256,
    )


def headlines(results: Results) -> dict[str, float | None]:
    """The headline values by name, in SI."""
    leading = leading_point(results)
    point = Point() if leading is None else leading.point
    found = {name: getattr(point, "shaft_power" if name == "power" else name) for name in HEADLINES}
    if found["voltage"] is None and results.nameplate.voltage is not None:
        found["voltage"] = Quantity(results.nameplate.voltage, "V")
    return {name: None if quantity is None else quantity.value for name, quantity in found.items()}


def set_value(results: Results) -> str:
    """The headline value at which the others were read off, by name; empty where all were measured."""
    leading = leading_point(results)
    set_by = "" if leading is None else leading.set_by
    return "power" if set_by == "shaft_power" else set_by


def source_digest(inputs: Mapping[str, str]) -> str:
    """A digest of every file a certificate is made from: names as the job gives them, and what they hold."""
    return digest(json.dumps(sorted(inputs.items()), ensure_ascii=False).encode())


# Entering a certificate: the file and its row appear together, whatever instant the power goes.
#
# The order is: the complete file under a passing name, flushed to disk, and the row marked 'entering', committed;
# then the file takes its own name and the row is marked 'issued'. Whoever opens the register next finishes what was
# committed; what was not committed leaves a passing file that ``reconcile`` removes.


#: Beginning of the passing names of files that are being entered.
PASSING = ".entering-"

_COLUMNS = (
    "number", "revision", "reason", "file", "tested_on", "tested_by", "issued_to", "motor_type", "maker", "model", "serial",
    "description", "verdict", "headline", "scope", "set_by",
    "voltage", "power", "torque", "speed", "current", "efficiency", "source_sha256",
)  # fmt: skip


@dataclass(frozen=True)
class Entered:
    """A certificate in the register."""

    number: str
    revision: int
    path: Path
    verdict: str
    new: bool


def already_entered(connection: sqlite3.Connection, folder: Path, source_sha256: str) -> Entered | None:
    """The certificate that was made from the same files before, if any; the newest of several."""
    finish_entering(connection, folder)
    return _same_source(connection, folder, source_sha256)


def enter(connection: sqlite3.Connection, folder: Path, entry: Entry, document: bytes) -> Entered:
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

    Returns
    -------
    Entered
        Where it is, and whether it is new; the same certificate again is left in place.

    Raises
    ------
    AlreadyIssued
        Its number and revision are taken by another certificate.
    CertgenError
        A revision without the one before, or the folder cannot be written.
    """
    sha256 = digest(document)
    path = folder / entry.file
    finish_entering(connection, folder)
    with errors_reported(folder / FILE_NAME), failure_reported(path):
        with writing(connection):
            before = _same_source(connection, folder, entry.source_sha256)
            if before is not None:  # another process was first
                return before
            _refuse_conflict(connection, entry, path)
            bring_up_to_date(connection)
            passing = folder / f"{PASSING}{sha256}"
            try:
                _write_flushed(passing, document)
                _insert(connection, entry, sha256)
            except BaseException:
                passing.unlink(missing_ok=True)
                raise
        finish_entering(connection, folder)
    return Entered(entry.number, entry.revision, path, entry.verdict, new=True)


def finish_entering(connection: sqlite3.Connection, folder: Path) -> None:
    """Bring every committed entry to its end: the file under its name, the row 'issued'.

    Raises
    ------
    CertgenError
        The file of a committed entry is neither under its passing nor under its own name, or its name is taken.
    """
    with errors_reported(folder / FILE_NAME):
        if connection.execute("SELECT 1 FROM certificate WHERE state = 'entering' LIMIT 1").fetchone() is None:
            return
        with writing(connection), failure_reported(folder):
            for row in connection.execute("SELECT * FROM certificate WHERE state = 'entering'").fetchall():
                _finish(connection, folder, row)


def _finish(connection: sqlite3.Connection, folder: Path, row: sqlite3.Row) -> None:
    if Path(row["file"]).name != row["file"] or Path(row["pdf_sha256"]).name != row["pdf_sha256"]:
        raise CertgenError(
            f"{folder / FILE_NAME}: the register names a file outside its folder, which this program never does; "
            "put back a copy of it."
        )
    passing, path = folder / f"{PASSING}{row['pdf_sha256']}", folder / row["file"]
    if not _is(path, row["pdf_sha256"]):
        if not passing.is_file() or not take_name(passing, path):
            raise CertgenError(
                f"{path}: certificate {row['number']} was being entered, and its file is missing or another stands in "
                "its place; put the folder back from a copy made with its register."
            )
        flush_folder(folder)
    connection.execute("UPDATE certificate SET state = 'issued' WHERE id = ?", (row["id"],))
    passing.unlink(missing_ok=True)


def _is(path: Path, sha256: str) -> bool:
    return path.is_file() and digest(path.read_bytes()) == sha256


def _same_source(connection: sqlite3.Connection, folder: Path, source_sha256: str) -> Entered | None:
    row = connection.execute(
        "SELECT number, revision, file, verdict FROM certificate WHERE source_sha256 = ? ORDER BY id DESC LIMIT 1",
        (source_sha256,),
    ).fetchone()
    if row is None:
        return None
    return Entered(row["number"], row["revision"], folder / row["file"], row["verdict"], new=False)


def _refuse_conflict(connection: sqlite3.Connection, entry: Entry, path: Path) -> None:
    last = connection.execute("SELECT max(revision) FROM certificate WHERE number = ?", (entry.number,)).fetchone()[0]
    if last is not None and entry.revision <= last:
        raise AlreadyIssued(
            f"{entry.number}: revision {entry.revision} was issued before from other files, and an issued certificate "
            f"is never changed; give the job a number of its own, or 'revision: {last + 1}' with the reason in "
            "'revision_reason' under certificate."
        )
    if entry.revision != (last or 0) + 1:
        held = "holds no certificate of this number" if last is None else f"holds revision {last} as the last"
        raise CertgenError(
            f"{entry.number}: revision {entry.revision} cannot be entered, the register {held}; "
            f"write 'revision: {(last or 0) + 1}'."
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


def _insert(connection: sqlite3.Connection, entry: Entry, digest: str) -> None:
    take_number(connection, entry.number)
    kept = asdict(entry) | {"file": entry.file}
    values = [kept[name] for name in _COLUMNS]
    now = datetime.now(UTC).isoformat(timespec="seconds")
    names = ", ".join((*_COLUMNS, "state", "entered_at", "pdf_sha256"))
    marks = ", ".join("?" * (len(_COLUMNS) + 3))
    row = connection.execute(
        f"INSERT INTO certificate ({names}) VALUES ({marks})", (*values, "entering", now, digest)
    ).lastrowid
    connection.executemany(
        "INSERT INTO input VALUES (?, ?, ?)", [(row, name, sha256) for name, sha256 in entry.inputs.items()]
    )
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
            f"--because: a reason of 1 to {_LONGEST} signs on one line is needed; say why in a sentence."
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
