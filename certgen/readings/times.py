"""Times that are no plain count: time of day, and date with time of day."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

import numpy as np
from numpy.typing import NDArray

from certgen.job.table_columns import CLOCK, STAMP
from certgen.readings.model import Array

DAY = 86400.0

_CLOCK = re.compile(r"([0-9]{1,3}):([0-5][0-9]):([0-5][0-9])(?:[.,]([0-9]{1,9}))?")
_STAMP = re.compile(
    r"(?:(?P<iso>[0-9]{4}-[0-9]{2}-[0-9]{2})|(?P<d>[0-9]{1,2})\.(?P<m>[0-9]{1,2})\.(?P<y>[0-9]{4}))(?:T| +)"
    r"(?P<h>[0-9]{1,2}):(?P<min>[0-9]{2})(?::(?P<s>[0-9]{2})(?:[.,](?P<part>[0-9]{1,9}))?)?"
    r" ?(?P<zone>Z|[+-][0-9]{2}:?[0-9]{2})?"
)
HOW = {
    CLOCK: "write times of day as HH:MM:SS, for example 14:02:07.5",
    STAMP: "write date and time as 2026-03-14T14:02:07, with or without a zone such as +01:00",
}


def kind_of_time(text: str) -> str | None:
    """``clock`` or ``stamp`` where a text is one of them."""
    if clock(text) is not None:
        return CLOCK
    return None if stamp(text) is None else STAMP


def clock(text: str) -> float | None:
    """Seconds since midnight of a time of day ``HH:MM:SS[.fff]``, or ``None``; hours may run on beyond 23."""
    match = _CLOCK.fullmatch(text)
    if match is None:
        return None
    hours, minutes, seconds, part = match.groups()
    return int(hours) * 3600.0 + int(minutes) * 60.0 + int(seconds) + _part(part)


def _part(digits: str | None) -> float:
    """A part of a second by its digits."""
    return int(digits) / 10.0 ** len(digits) if digits else 0.0


@dataclass(frozen=True)
class Stamp:
    """A moment as seconds since 1970 (without a zone: as the clock on the wall shows them), and whether it has a zone."""

    seconds: float
    zoned: bool


def stamp(text: str) -> Stamp | None:
    """A date with time of day, year first as ISO 8601 or ``DD.MM.YYYY``, or ``None``."""
    match = _STAMP.fullmatch(text)
    if match is None:
        return None
    day = match["iso"] or f"{match['y']}-{int(match['m']):02}-{int(match['d']):02}"
    zone = (match["zone"] or "").replace("Z", "+00:00")
    try:
        moment = datetime.fromisoformat(f"{day}T{int(match['h']):02}:{match['min']}:{match['s'] or '00'}{zone}")
        moment = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
        return Stamp(moment.timestamp() + _part(match["part"]), bool(zone))
    except (ValueError, OverflowError):
        return None


@dataclass
class TimeOfDay:
    """Reads the cells of one time column; all its stamps have a zone, or none has."""

    kind: str
    zoned: bool | None = None

    def read(self, text: str) -> float | None:
        """Seconds, or ``None`` where the cell is no time of this kind."""
        if self.kind == CLOCK:
            return clock(text)
        found = stamp(text)
        if found is None or (self.zoned is not None and found.zoned != self.zoned):
            return None
        self.zoned = found.zoned
        return found.seconds

    def read_all(self, texts: Sequence[str]) -> Array | None:
        """The cells of a long column, shape (n,); ``None`` where one of them has to be looked at."""
        if self.kind == STAMP and self.zoned is None:
            self.read(texts[0])
        if not self.zoned:
            found = _clocks(texts) if self.kind == CLOCK else _stamps(texts)
            if found is not None:
                return found
        each = [self.read(text) for text in texts]
        return None if None in each else np.array(each, dtype=float)


_ZERO = np.uint8(ord("0"))
Signs = NDArray[np.uint8]


def _clocks(texts: Sequence[str]) -> Array | None:
    """Times of day all written alike as ``HH:MM:SS[.fff]``."""
    signs = _signs(texts)
    return None if signs is None or signs.shape[1] < 8 else _of_day(signs)


def _stamps(texts: Sequence[str]) -> Array | None:
    """Stamps all written alike as ``YYYY-MM-DD HH:MM:SS[.fff]``."""
    signs = _signs(texts)
    if signs is None or signs.shape[1] < 19 or not np.isin(signs[:, 10], (ord(" "), ord("T"))).all():
        return None
    of_day, begins = _of_day(signs[:, 11:]), _days(signs[:, :10])
    if of_day is None or begins is None or of_day.max() >= DAY:
        return None
    whole = np.floor(of_day)
    return np.asarray(begins + whole + (of_day - whole))


def _days(signs: Signs) -> Array | float | None:
    """Seconds from 1970 to the day of each stamp, or of all of them."""
    if (signs == signs[0]).all():
        days, where = [signs[0].tobytes()], None
    else:
        found, where = np.unique(np.ascontiguousarray(signs).view("S10").ravel(), return_inverse=True)
        days = found.tolist()
    try:
        begins = [(date.fromisoformat(day.decode()) - date(1970, 1, 1)).days * DAY for day in days]
    except ValueError:
        return None
    if any(day[4:5] != b"-" for day in days):
        return None
    return begins[0] if where is None else np.asarray(np.array(begins)[where])


def _signs(texts: Sequence[str]) -> Signs | None:
    """Texts of one length as bytes, shape (n, length)."""
    together = "".join(texts)
    if len(set(map(len, texts))) != 1 or not together.isascii():
        return None
    return np.frombuffer(together.encode("ascii"), np.uint8).reshape(len(texts), -1)


def _of_day(signs: Signs) -> Array | None:
    length = signs.shape[1]
    if length == 9 or length > 18 or (signs[:, (2, 5)] != ord(":")).any():
        return None
    if length > 8 and not np.isin(signs[:, 8], (ord("."), ord(","))).all():
        return None
    values = [signs[:, at] - _ZERO for at in range(length) if at not in (2, 5, 8)]  # above 9 for what is no digit
    if max(int(one.max()) for one in values) > 9:
        return None
    digits = [one.astype(np.float64) for one in values]
    hours, minutes, seconds = (10.0 * digits[at] + digits[at + 1] for at in (0, 2, 4))
    if minutes.max() > 59.0 or seconds.max() > 59.0:
        return None
    part = sum(digit * 10.0 ** (length - 10 - at) for at, digit in enumerate(digits[6:])) / 10.0 ** (length - 9)
    return np.asarray(hours * 3600.0 + minutes * 60.0 + seconds + part)


def told_moment(seconds: float, kind: str, zoned: bool | None) -> str:
    """A moment in words, as the clock showed it."""
    if kind == CLOCK:
        whole = int(seconds)
        return f"{whole // 3600:02}:{whole // 60 % 60:02}:{whole % 60:02}"
    if not math.isfinite(seconds):
        return "?"
    shown = datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M:%S")
    return f"{shown} UTC" if zoned else shown
