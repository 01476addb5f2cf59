"""Finding certificates in the register."""

from __future__ import annotations

import csv
import io
import json
import re
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import MISSING, asdict, dataclass, fields
from pathlib import Path

from certgen.archive.register.entry import Registered
from certgen.document.source import digest as digest_of
from certgen.errors import CertgenError
from certgen.messages.catalogue import Message
from certgen.results.model import NO_VERDICT

_SELECT = """
SELECT certificate.*, newer.number AS replaced_by, newer.revision AS replaced_by_revision, replacement.because
FROM certificate
LEFT JOIN replacement ON replacement.replaced = certificate.id
LEFT JOIN certificate AS newer ON newer.id = replacement.by_certificate
"""


@dataclass(frozen=True)
class Wanted:
    """What is looked for; whatever is ``None`` is not asked. Days are ISO dates, both ends included; power is in W."""

    text: str | None = None
    number: str | None = None
    serial: str | None = None
    maker: str | None = None
    verdict: str | None = None
    tested_from: str | None = None
    tested_to: str | None = None
    power_from: float | None = None
    power_to: float | None = None
    current_only: bool = False  # without certificates that were replaced


def find(connection: sqlite3.Connection, wanted: Wanted, most: int | None = None) -> list[Registered]:
    """Certificates that answer to everything asked, the latest test first.

    Parameters
    ----------
    connection : sqlite3.Connection
        The register.
    wanted : Wanted
        What is looked for. Serial and maker compare without regard to case and may end in ``*``; every word of
        ``text`` must begin a word of the entry.
    most : int or None
        How many at most.

    Returns
    -------
    list of Registered
        What was found.
    """
    return list(found(connection, wanted, most))


#: Rows read at once: few first, so that the first lines come soon; then more, but never all.
_FIRST_PAGE, _LARGEST_PAGE = 500, 8_000


def found(connection: sqlite3.Connection, wanted: Wanted, most: int | None = None) -> Iterator[Registered]:
    """The same, one after the other; between pages the register is free for others to issue."""
    conditions, values = _conditions(wanted)
    order = "ORDER BY certificate.tested_on DESC, certificate.id DESC"
    after: list[str | float] = []
    size, left = _FIRST_PAGE, float("inf") if most is None else most
    while left > 0:
        size = int(min(size, left))
        behind = ["(certificate.tested_on, certificate.id) < (?, ?)"] if after else []
        where = " AND ".join([*conditions, *behind])
        page = connection.execute(f"{_SELECT} WHERE {where} {order} LIMIT {size}", [*values, *after]).fetchall()
        yield from map(_registered, page)
        if len(page) < size:
            return
        after = [page[-1]["tested_on"], page[-1]["id"]]
        size, left = min(2 * size, _LARGEST_PAGE), left - size


def look_up(connection: sqlite3.Connection, number: str, revision: int) -> Registered | None:
    """One certificate by number and revision."""
    row = connection.execute(
        f"{_SELECT} WHERE certificate.number = ? AND certificate.revision = ?", (number, revision)
    ).fetchone()
    return None if row is None else _registered(row)


def inputs_of(connection: sqlite3.Connection, number: str, revision: int) -> dict[str, str]:
    """The files a certificate was made from, each with its SHA-256."""
    rows = connection.execute(
        "SELECT name, sha256 FROM input JOIN certificate ON certificate.id = input.certificate "
        "WHERE number = ? AND revision = ? ORDER BY name",
        (number, revision),
    )
    return {row["name"]: row["sha256"] for row in rows}


_COLUMNS = {field.name: field.default is MISSING for field in fields(Registered)}


def _registered(row: sqlite3.Row) -> Registered:
    kept = set(row.keys())
    for name, needed in _COLUMNS.items():
        if needed and name not in kept:
            raise sqlite3.DatabaseError(f"column {name} is lost")
    return Registered(**{name: row[name] for name in _COLUMNS if name in kept})


def _conditions(wanted: Wanted) -> tuple[list[str], list[str | float]]:
    asked: list[tuple[str, str | float | None]] = [
        ("certificate.number = ?", wanted.number),
        (_like("serial", wanted.serial), _pattern(wanted.serial)),
        (_like("maker", wanted.maker), _pattern(wanted.maker)),
        (_verdict(wanted.verdict), wanted.verdict),
        ("certificate.tested_on >= ?", wanted.tested_from),
        ("certificate.tested_on <= ?", wanted.tested_to),
        ("certificate.power >= ?", wanted.power_from),
        ("certificate.power <= ?", wanted.power_to),
        ("certificate.id IN (SELECT rowid FROM words WHERE words MATCH ?)", _match(wanted.text)),
    ]
    given = [(condition, value) for condition, value in asked if value is not None]
    conditions = ["certificate.state = 'issued'", *(condition for condition, _ in given)]
    if wanted.current_only:
        conditions.append("replacement.replaced IS NULL")
    return conditions, [value for _, value in given]


def _verdict(verdict: str | None) -> str:
    """A verdict by its word; 'no verdict' was 'not tested' in earlier certificates, which keep their word."""
    old = " OR certificate.verdict = 'not tested'" if verdict == NO_VERDICT else ""
    return f"(certificate.verdict = ?{old})"


def _like(column: str, value: str | None) -> str:
    sample = value is not None and value.endswith("*")
    return f"certificate.{column} LIKE ? ESCAPE '\\'" if sample else f"certificate.{column} = ?"


def _pattern(value: str | None) -> str | None:
    if value is None or not value.endswith("*"):
        return value
    return re.sub(r"([%_\\])", r"\\\1", value[:-1]) + "%"


def _match(text: str | None) -> str | None:
    """Words of a search, each quoted, so that no sign in them is an operator of the search."""
    words = re.findall(r"\w+", text or "")
    if text is None:
        return None
    return " ".join(f'"{word}"*' for word in words) or '""'


# The register of an archive as verification asks it: is this the file issued under its number, and does it stand?


@dataclass(frozen=True)
class Answer:
    """What the register says of one certificate.

    Attributes
    ----------
    digest : str
        SHA-256 of the file as issued, hexadecimal.
    state : Message or None
        What became of it; ``None`` where it stands.
    replaced_by : str
        The certificate that stands in its place; empty where it stands itself.
    """

    digest: str
    state: Message | None
    replaced_by: str = ""


@dataclass(frozen=True)
class Answering:
    """An open register and its folder."""

    connection: sqlite3.Connection
    folder: Path

    def certificate(self, pdf_sha256: str) -> tuple[str, bytes]:
        """Number and bytes of the certificate of a digest.

        Raises
        ------
        CertgenError
            The register knows none, or its file is gone or was changed.
        """
        row = self.connection.execute(
            "SELECT number, file FROM certificate WHERE pdf_sha256 = ? AND state = 'issued'", (pdf_sha256,)
        ).fetchone()
        path = None if row is None else self.folder / row["file"]
        data = path.read_bytes() if path is not None and path.is_file() else b""
        if digest_of(data) != pdf_sha256:
            raise CertgenError("its certificate is not in the archive as it was issued")
        return str(row["number"]), data

    def look_up(self, number: str, digest: str) -> Answer | None:
        """The entry of a number: the one of this digest where several revisions were issued, or ``None``."""
        entries = [one for one in find(self.connection, Wanted(number=number)) if one.number == number]
        if not entries:
            return None
        entry = next((one for one in entries if one.pdf_sha256 == digest), entries[0])
        return Answer(entry.pdf_sha256, _state(entry), entry.replacement or "")


def _state(entry: Registered) -> Message | None:
    if entry.replacement is None:
        return None
    numbers = {"number": entry.shown_number, "by": entry.replacement}
    if entry.because:
        return Message("verify.register.replaced_because", **numbers, because=entry.because)
    return Message("verify.register.replaced", **numbers)


# The register handed on: CSV for a spreadsheet, JSON for a program.


#: Columns of either form, with the unit of a value in its name.
COLUMNS = {
    "number": "number", "revision": "revision", "verdict": "verdict", "headline": "headline", "scope": "scope",
    "tested_on": "tested_on", "tested_by": "tested_by",
    "issued_to": "issued_to", "motor_type": "motor_type", "maker": "maker", "model": "model", "serial": "serial",
    "description": "description", "voltage": "voltage_V", "power": "power_W", "torque": "torque_Nm",
    "speed": "speed_rad_per_s", "current": "current_A", "efficiency": "efficiency", "set_by": "set_value",
    "reason": "revision_reason",
    "replacement": "replaced_by", "because": "replaced_because", "file": "file", "pdf_sha256": "pdf_sha256",
    "entered_at": "entered_at",
}  # fmt: skip

#: A cell that begins so is run as a formula by spreadsheets (OWASP, CSV injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")  # the last four in full width


def as_csv(found: Iterable[Registered]) -> Iterator[str]:
    """Comma-separated text (RFC 4180) with a header, row by row; no cell is a formula."""
    yield _csv_row(COLUMNS.values())
    for one in found:
        row = _row(one)
        yield _csv_row(harmless(row[name]) for name in COLUMNS)


def _csv_row(cells: Iterable[object]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerow(cells)
    return text.getvalue()


def as_json(found: Iterable[Registered]) -> Iterator[str]:
    """A JSON list of the same columns, row by row; what is not known is null."""
    begin = "[\n "
    for one in found:
        row = _row(one)
        text = json.dumps({title: row[name] for name, title in COLUMNS.items()}, ensure_ascii=False, indent=1)
        yield begin + text.replace("\n", "\n ")  # within a text, JSON writes the end of a line as a sign of its own
        begin = ",\n "
    yield "[]\n" if begin.startswith("[") else "\n]\n"


def _row(one: Registered) -> dict[str, object]:
    return asdict(one) | {"replacement": one.replacement}


def harmless(value: object) -> object:
    """A text that a spreadsheet would run gets an apostrophe before it, which makes it text there."""
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.9g}"
    text = str(value)
    return f"'{text}" if text.startswith(_FORMULA) else text
