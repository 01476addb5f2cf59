"""Decimal and thousands marks: how a number is written, and what a file's numbers say of it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from certgen.job.dialect import DECIMALS, THOUSANDS, Dialect
from certgen.units import read_number

_GROUP = 3
_DIGITS = r"[+-]?[0-9]"
_EXPONENT = r"(?:[eE][+-]?[0-9]+)?"
#: Blanks that stand between groups of digits: space, no-break space, narrow no-break space, thin space.
_BLANKS = re.compile("[ \u00a0\u202f\u2009]")
_APOSTROPHES = re.compile("['’]")


@dataclass(frozen=True)
class NumberMarks:
    """The decimal mark (``.`` or ``,``) and the mark between groups of three digits, empty where there is none."""

    decimal: str = "."
    thousands: str = ""

    def read(self, text: str) -> float | None:
        """The number in a text, or ``None`` where it is none written with these marks."""
        if self.decimal == "." and not self.thousands:
            return read_number(text)
        plain = _like_marks(text.strip())
        if self.thousands and self.thousands in plain:
            if self._grouped.fullmatch(plain) is None:
                return None
            plain = plain.replace(self.thousands, "")
        if self.decimal == ",":
            if "." in plain:
                return None
            plain = plain.replace(",", ".", 1)
        return read_number(plain)

    @cached_property
    def _grouped(self) -> re.Pattern[str]:
        mark, decimal = re.escape(self.thousands), re.escape(self.decimal)
        return re.compile(rf"{_DIGITS}{{1,3}}(?:{mark}[0-9]{{3}})+(?:{decimal}[0-9]*)?{_EXPONENT}")


#: How a job writes its numbers, and a program its own.
PLAIN = NumberMarks()


def _like_marks(text: str) -> str:
    """Every kind of blank as a space and every apostrophe as the straight one."""
    return _APOSTROPHES.sub("'", _BLANKS.sub(" ", text))


def has_number_shape(text: str) -> bool:
    """Whether a text can be a number under any marks."""
    plain = _like_marks(text)
    return _WHOLE.fullmatch(plain) is not None or next(_kinds(plain), None) is not None


_WHOLE = re.compile(rf"{_DIGITS}+{_EXPONENT}")
_EVIDENCE = (
    ("both comma last", re.compile(rf"{_DIGITS}{{1,3}}(?:\.[0-9]{{3}})+,[0-9]*{_EXPONENT}")),
    ("both point last", re.compile(rf"{_DIGITS}{{1,3}}(?:,[0-9]{{3}})+\.[0-9]*{_EXPONENT}")),
    ("commas", re.compile(rf"{_DIGITS}{{1,3}}(?:,[0-9]{{3}}){{2,}}")),
    ("points", re.compile(rf"{_DIGITS}{{1,3}}(?:\.[0-9]{{3}}){{2,}}")),
    ("either comma", re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")),
    ("either point", re.compile(r"[+-]?[1-9][0-9]{0,2}\.[0-9]{3}")),
    ("decimal comma", re.compile(rf"[+-]?(?:[0-9]+,[0-9]*|,[0-9]+){_EXPONENT}")),
    ("decimal point", re.compile(rf"[+-]?(?:[0-9]+\.[0-9]*|\.[0-9]+){_EXPONENT}")),
)
_SPACED = re.compile(rf"{_DIGITS}{{1,3}}(?: [0-9]{{3}})+(?:[.,][0-9]*)?")
_APOSTROPHED = re.compile(rf"{_DIGITS}{{1,3}}(?:'[0-9]{{3}})+(?:[.,][0-9]*)?")


@dataclass
class _Seen:
    """How often each way of writing was met, and the first text that can be read in two ways."""

    counts: dict[str, int]
    either: int | None = None
    either_point: int | None = None

    def of(self, *kinds: str) -> int:
        return sum(self.counts.get(kind, 0) for kind in kinds)


@dataclass(frozen=True)
class SampleMarks:
    """The marks of a file, or where among the texts stands the first that can be read in two ways."""

    marks: NumberMarks
    either: int | None = None


def find_marks(texts: Iterable[str], dialect: Dialect, *, commas_part: bool = False) -> SampleMarks:
    """What a file's numbers say of its marks, with what the job fixes taken as said.

    A text such as ``1,234`` or ``1.234`` is 1.234 or 1234: it decides nothing, and where nothing else does the file is
    ambiguous. A point is the decimal mark where cells are parted by commas (``commas_part``) or another number has four
    digits without a mark, such as 1450.
    """
    seen = _look(texts)
    decimal = _decimal(seen, dialect)
    thousands = _thousands(decimal, seen) if dialect.thousands is None else THOUSANDS[dialect.thousands]
    settled = decimal == "," or thousands == "," or dialect.thousands is not None
    either = seen.either
    if not settled and dialect.decimal is not None and either is not None:
        thousands, settled = ",", True  # the job says that the comma is no decimal mark
    point_is_plain = commas_part or dialect.decimal is not None or seen.of("decimal point", "ungrouped") > 0
    if either is None and decimal == "." and not point_is_plain:
        either = seen.either_point
    return SampleMarks(NumberMarks(decimal, "" if thousands == decimal else thousands), None if settled else either)


def _decimal(seen: _Seen, dialect: Dialect) -> str:
    """The decimal mark: as the job says, else the one that more of the numbers show."""
    if dialect.decimal is not None:
        return DECIMALS[dialect.decimal]
    comma = seen.of("decimal comma", "both comma last", "points")
    point = seen.of("decimal point", "both point last", "commas")
    if comma == point:
        no_comma = dialect.thousands not in (None, "comma")
        return "," if dialect.thousands == "point" or (no_comma and point == 0 and seen.of("either comma")) else "."
    return "," if comma > point else "."


def _thousands(decimal: str, seen: _Seen) -> str:
    """The thousands mark that the numbers leave no choice about."""
    if decimal == "." and seen.of("both point last", "commas"):
        return ","
    if decimal == "," and seen.of("both comma last", "points"):
        return "."
    if seen.of("spaces"):
        return " "
    return "'" if seen.of("apostrophes") else ""


def _look(texts: Iterable[str]) -> _Seen:
    seen = _Seen({})
    points = 0  # the plain decimal numbers of a log, counted without asking every pattern
    ungrouped = 0  # whole numbers of four digits and more without a mark: a point is no thousands mark
    for index, text in enumerate(texts):
        before, _, behind = text.partition(".")
        if behind.isdigit() and before.isdigit():
            decides = len(behind) != _GROUP or len(before) > _GROUP or before[0] == "0"
            points += decides
            if not decides and seen.either_point is None:
                seen.either_point = index
            continue  # what remains might be groups of digits, and decides nothing
        if text.isdigit():
            ungrouped += len(text) > _GROUP
            continue
        for kind in _kinds(_like_marks(text.strip())):
            seen.counts[kind] = seen.counts.get(kind, 0) + 1
            if kind == "either comma" and seen.either is None:
                seen.either = index
    seen.counts["decimal point"] = seen.counts.get("decimal point", 0) + points
    seen.counts["ungrouped"] = ungrouped
    return seen


def _kinds(text: str) -> Iterator[str]:
    """Every way in which a text shows its marks."""
    if " " in text and _SPACED.fullmatch(text):
        yield "spaces"
        text = text.replace(" ", "")
    elif "'" in text and _APOSTROPHED.fullmatch(text):
        yield "apostrophes"
        text = text.replace("'", "")
    for kind, pattern in _EVIDENCE:
        if pattern.fullmatch(text):
            yield kind
            return
