"""Cells of time that are no plain count: time of day, minutes and seconds, date with time of day."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

import numpy as np
from numpy.typing import NDArray

from certgen.job.columns import CLOCK, MINUTES, STAMP
from certgen.job.dialect import MONTH_FIRST
from certgen.physics.domain import Array

DAY, HOUR = 86400.0, 3600.0
#: What a time such as ``14:02`` looks like: hours and minutes, or minutes and seconds.
EITHER = "clock or mm:ss"

_HALF_OF_DAY = r"(?:[ \u00a0\u202f]?(?P<half>[AaPp])\.?[Mm]\.?)?"
_OF_DAY = r"(?P<h>[0-9]{1,3}):(?P<min>[0-5]?[0-9])(?::(?P<s>[0-5][0-9])(?:[.,](?P<part>[0-9]{1,9}))?)?" + _HALF_OF_DAY
_CLOCK = re.compile(_OF_DAY)
_MINUTES = re.compile(r"([0-9]{1,4}):([0-5][0-9])(?:[.,]([0-9]{1,9}))?")
_STAMP = re.compile(
    r"(?:(?P<iso>[0-9]{4}(?P<mark>[-/.])[0-9]{2}(?P=mark)[0-9]{2})"
    r"|(?P<one>[0-9]{1,2})(?P<sign>[-/.])(?P<two>[0-9]{1,2})(?P=sign)(?P<y>[0-9]{4}|[0-9]{2}))(?:T|,? +)"
    + _OF_DAY.replace("{1,3}", "{1,2}")
    + r" ?(?P<zone>Z|[+-][0-9]{2}:?[0-9]{2})?"
)
HOW = {
    CLOCK: "write times of day as HH:MM:SS, for example 14:02:07.5",
    MINUTES: "write minutes and seconds as MM:SS, for example 02:07.5",
    STAMP: "write date and time as 2026-03-14T14:02:07, with or without a zone such as +01:00",
}


def kind_of_time(text: str) -> str | None:
    """``clock``, ``mm:ss``, ``stamp``, or that it may be either of the first two, where a text is one of them."""
    match = _MINUTES.fullmatch(text)
    if match is not None:
        return EITHER if match[3] is None else MINUTES
    if clock(text) is not None:
        return CLOCK
    return STAMP if stamp(text) is not None or stamp(text, month_first=True) is not None else None


def clock(text: str) -> float | None:
    """Seconds since midnight of a time of day ``HH:MM[:SS[.fff]]``, with AM or PM behind it perhaps, or ``None``.

    Without AM or PM the hours may run on beyond 23.
    """
    match = _CLOCK.fullmatch(text)
    return None if match is None else _seconds_of_day(match)


def _seconds_of_day(match: re.Match[str]) -> float | None:
    hours = int(match["h"])
    if match["half"]:
        if not 1 <= hours <= 12:
            return None
        hours = hours % 12 + 12 * (match["half"] in "Pp")
    if len(match["min"]) < 2:
        return None
    return hours * HOUR + int(match["min"]) * 60.0 + int(match["s"] or 0) + _part(match["part"])


def minutes(text: str) -> float | None:
    """Seconds of a time ``MM:SS[.fff]``, or ``None``."""
    match = _MINUTES.fullmatch(text)
    return None if match is None else int(match[1]) * 60.0 + int(match[2]) + _part(match[3])


def _part(digits: str | None) -> float:
    """A part of a second by its digits."""
    return int(digits) / 10.0 ** len(digits) if digits else 0.0


@dataclass(frozen=True)
class Stamp:
    """A moment as seconds since 1970 (without a zone: as the clock on the wall shows them), and whether it has a zone."""

    seconds: float
    zoned: bool


def stamp(text: str, *, month_first: bool = False) -> Stamp | None:
    """A date with time of day, or ``None``.

    The date has the year first, as ISO 8601, or last; with points between its parts the day always stands first.
    """
    match = _STAMP.fullmatch(text)
    if match is None:
        return None
    of_day = _seconds_of_day(match)
    if of_day is None or of_day >= DAY:
        return None
    zone = (match["zone"] or "").replace("Z", "+00:00")
    try:
        if match["iso"]:
            year, month, day = (int(part) for part in match["iso"].split(match["mark"]))
        else:
            day, month, year = int(match["one"]), int(match["two"]), int(match["y"])
            year += 2000 * (year < 100)
            if month_first and match["sign"] != ".":
                day, month = month, day
        moment = datetime(year, month, day, tzinfo=datetime.fromisoformat(f"2000-01-01T00:00{zone}").tzinfo or UTC)
        return Stamp(moment.timestamp() + of_day, bool(zone))
    except (ValueError, OverflowError):
        return None


def _is_of_two_minds(text: str) -> bool:
    """Whether the date of a stamp reads with the day first as well as with the month first, and not the same."""
    day_first, month_first = stamp(text), stamp(text, month_first=True)
    return day_first is not None and month_first is not None and day_first != month_first


@dataclass
class TimeOfDay:
    """Reads the cells of one time column; all its stamps have a zone, or none has.

    ``month_first`` says how a date such as 03/04/2026 is read, where the job or another date of the column shows it.
    """

    kind: str
    month_first: bool | None = None
    zoned: bool | None = None

    @classmethod
    def of(cls, kind: str, date_order: str | None) -> TimeOfDay:
        """The reader of a kind of times; ``date_order`` is what the job says of the order of day and month."""
        return cls(kind, None if date_order is None else date_order == MONTH_FIRST)

    def settle(self, texts: Sequence[str]) -> None:
        """See whether the dates of a column tell where the month stands: a number above 12 is a day, AM and PM are US."""
        if self.kind != STAMP or self.month_first is not None:
            return
        for text in texts:
            match = _STAMP.fullmatch(text)
            if match is None or match["iso"] or match["sign"] == ".":
                continue
            if int(match["one"]) > 12 or int(match["two"]) > 12 or match["half"]:
                self.month_first = int(match["one"]) <= 12
                return

    def unsettled(self, text: str) -> bool:
        """Whether a text is a date that can be read in two ways, and nobody says in which."""
        return self.kind == STAMP and self.month_first is None and _is_of_two_minds(text)

    def read(self, text: str) -> float | None:
        """Seconds, or ``None`` where the cell is no time of this kind."""
        if self.kind != STAMP:
            return clock(text) if self.kind == CLOCK else minutes(text)
        moment = stamp(text, month_first=bool(self.month_first))
        if moment is None or (self.zoned is not None and moment.zoned != self.zoned) or self.unsettled(text):
            return None
        self.zoned = moment.zoned
        return moment.seconds

    def read_all(self, texts: Sequence[str] | Characters) -> Array | None:
        """The cells of a long column, as texts or characters of shape (n, length); ``None`` where one must be looked at.

        The result has shape (n,). [s]
        """
        if isinstance(texts, np.ndarray):
            characters: Characters | None = texts
            first = texts[0].tobytes().decode("ascii")
        else:
            characters, first = None, texts[0]
        if self.kind == STAMP and self.zoned is None:
            self.read(first)
        if not self.zoned and self.kind != MINUTES:
            characters = _characters(texts) if not isinstance(texts, np.ndarray) else characters
            seconds = _clocks(characters) if self.kind == CLOCK else _stamps(characters)
            if seconds is not None:
                return seconds
        cells = texts if not isinstance(texts, np.ndarray) else [row.tobytes().decode("ascii").strip() for row in texts]
        self.settle(cells)
        each = [self.read(text) for text in cells]
        return None if None in each else np.array(each, dtype=float)


# Many cells written alike, character by character.


_ZERO = np.uint8(ord("0"))
Characters = NDArray[np.uint8]


def _characters(texts: Sequence[str]) -> Characters | None:
    """Texts of one length as bytes, shape (n, length)."""
    together = "".join(texts)
    if len(set(map(len, texts))) != 1 or not together.isascii():
        return None
    return np.frombuffer(together.encode("ascii"), np.uint8).reshape(len(texts), -1)


def _clocks(characters: Characters | None) -> Array | None:
    """Times of day all written alike as ``HH:MM:SS[.fff]``."""
    return None if characters is None or characters.shape[1] < 8 else _of_day(np.ascontiguousarray(characters.T))


def _stamps(characters: Characters | None) -> Array | None:
    """Stamps all written alike as ``YYYY-MM-DD HH:MM:SS[.fff]``."""
    if characters is None or characters.shape[1] < 19:
        return None
    begins, rows = _days(characters[:, :10]), np.ascontiguousarray(characters.T)
    if begins is None or not ((rows[10] == ord(" ")) | (rows[10] == ord("T"))).all():
        return None
    of_day = _of_day(rows[11:])
    if of_day is None or of_day.max() >= DAY:
        return None
    return np.asarray(begins + of_day)


def _days(characters: Characters) -> Array | float | None:
    """Seconds from 1970 to the day of each stamp, or of all of them."""
    if (characters == characters[0]).all():
        days, where = [characters[0].tobytes()], None
    else:
        different, where = np.unique(np.ascontiguousarray(characters).view("S10").ravel(), return_inverse=True)
        days = different.tolist()
    try:
        begins = [(date.fromisoformat(day.decode()) - date(1970, 1, 1)).days * DAY for day in days]
    except ValueError:
        return None
    if any(day[4:5] != b"-" for day in days):
        return None
    return begins[0] if where is None else np.asarray(np.array(begins)[where])


def _of_day(rows: Characters) -> Array | None:
    """Seconds of the day, from the characters in turn, shape (length, n): two digits, a colon, and so on. [s]"""
    length = rows.shape[0]
    if length == 9 or length > 18 or not ((rows[2] == ord(":")) & (rows[5] == ord(":"))).all():
        return None
    if length > 8 and not ((rows[8] == ord(".")) | (rows[8] == ord(","))).all():
        return None
    digits = rows - _ZERO  # above 9 for what is no digit
    places = [at for at in range(length) if at not in (2, 5, 8)]
    if max(int(digits[at].max()) for at in places) > 9:
        return None
    hours, of_hour, of_minute = (10 * digits[at] + digits[at + 1] for at in (0, 3, 6))
    if of_hour.max() > 59 or of_minute.max() > 59:
        return None
    seconds = hours * np.float64(HOUR)
    seconds += of_hour * np.float64(60.0)
    seconds += of_minute
    if length > 8:
        part = digits[9].astype(np.int32)
        for at in places[7:]:
            part *= 10
            part += digits[at]
        seconds += part / 10.0 ** (length - 9)
    return np.asarray(seconds)
