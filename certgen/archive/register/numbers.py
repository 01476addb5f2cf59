"""Certificate numbers by the shop's own pattern: each is given once and never again."""

from __future__ import annotations

import re
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from certgen.archive.register.database import FILE_NAME, errors_reported, writing
from certgen.errors import CertgenError

_PIECE = re.compile(r"\{(year|serial)(?::(0[1-9]))?\}")
_SETTING = "numbers"
_LONGEST = 60
_EXAMPLE = "for example 'HB-{year}-{serial:04}'"


@dataclass(frozen=True)
class Pattern:
    """A pattern of numbers: plain text with ``{serial}``, once, and ``{year}`` where each year counts from 1.

    ``{serial:04}`` pads with zeros to four figures.
    """

    text: str

    def series(self, year: int) -> str:
        """The pattern with its year filled in: numbers of one series count upwards together."""
        return self.text.replace("{year}", f"{year:04}")

    def number(self, year: int, serial: int) -> str:
        """One number."""
        return _PIECE.sub(lambda piece: f"{serial:{piece[2] or ''}}", self.series(year))


def read_pattern(text: str) -> Pattern:
    """A pattern as a person writes it.

    Raises
    ------
    CertgenError
        It has no ``{serial}``, more than one, other braces, or is too long.
    """
    pieces = [piece[1] for piece in _PIECE.finditer(text)]
    plain = _PIECE.sub("", text)
    wrong = ""
    if pieces.count("serial") != 1:
        wrong = "needs {serial} once"
    elif "{year:" in text or "{" in plain or "}" in plain:
        wrong = "may have {year} and {serial:04} in braces and nothing else"
    elif len(text) > _LONGEST - 10 or not plain.isprintable():
        wrong = f"must be printable and at most {_LONGEST - 10} characters long"
    if wrong:
        raise CertgenError(f"'{text[:80]}': a pattern of numbers {wrong}; write one {_EXAMPLE}.")
    return Pattern(text)


def set_pattern(connection: sqlite3.Connection, pattern: Pattern) -> None:
    """Let the register give numbers by this pattern from now on."""
    with writing(connection):
        connection.execute(
            "INSERT INTO setting VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
            (_SETTING, pattern.text),
        )


def pattern_of(connection: sqlite3.Connection) -> Pattern | None:
    """The register's pattern, or ``None`` where none was set."""
    row = connection.execute("SELECT value FROM setting WHERE name = ?", (_SETTING,)).fetchone()
    return None if row is None else Pattern(row["value"])


def next_number(connection: sqlite3.Connection, folder: Path, year: int) -> str:
    """Take the next number of the year; it counts as given from now on, whatever becomes of the certificate.

    Parameters
    ----------
    connection : sqlite3.Connection
        The register.
    folder : Path
        Its folder, for messages.
    year : int
        Year of the test.

    Returns
    -------
    str
        A number that was never given before.

    Raises
    ------
    CertgenError
        The register has no pattern.
    """
    with errors_reported(folder / FILE_NAME), writing(connection):
        pattern = pattern_of(connection)
        if pattern is None:
            raise CertgenError(
                f"{folder}: the job has no certificate.number and this register has no pattern to make one; write the "
                f"number into the job, or set a pattern with 'certgen register start {folder} --numbers PATTERN', "
                f"{_EXAMPLE}."
            )
        series = pattern.series(year)
        last = connection.execute("SELECT max(serial) FROM number WHERE series = ?", (series,)).fetchone()[0]
        serial = (last or 0) + 1
        while _given(connection, pattern.number(year, serial)):
            serial += 1
        number = pattern.number(year, serial)
        connection.execute("INSERT INTO number VALUES (?, ?, ?)", (number, series, serial))
    return number


def give_back(connection: sqlite3.Connection, number: str) -> None:
    """Let a number whose certificate could not be written be the next one again, while it is the last of its series.

    Any other stays given: a hole in the middle would be filled with a later test.
    """
    with writing(connection):
        connection.execute(
            "DELETE FROM number WHERE number = ? AND number NOT IN (SELECT number FROM certificate) "
            "AND serial = (SELECT max(serial) FROM number AS other WHERE other.series = number.series)",
            (number,),
        )


def take_number(connection: sqlite3.Connection, number: str) -> None:
    """Keep a number that a job brought with it, within the caller's transaction."""
    if not _given(connection, number):
        connection.execute("INSERT INTO number VALUES (?, '', NULL)", (number,))


def never_issued(connection: sqlite3.Connection) -> list[str]:
    """Numbers that were given and no certificate came of."""
    rows = connection.execute(
        "SELECT number FROM number WHERE number NOT IN (SELECT number FROM certificate) ORDER BY series, serial"
    )
    return [row["number"] for row in rows]


def _given(connection: sqlite3.Connection, number: str) -> bool:
    return connection.execute("SELECT 1 FROM number WHERE number = ?", (number,)).fetchone() is not None
