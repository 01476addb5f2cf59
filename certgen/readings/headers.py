"""Headers of a file against the columns a job asks for: which stands where, and in which unit."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from certgen.job.columns import CLOCK, COLUMNS, MINUTES, WRITTEN_TIMES, Column, dimension_in, unit_of
from certgen.readings.time_cells import EITHER, kind_of_time
from certgen.units import USUAL_UNITS, UnitError, conversion

#: Spellings of revolutions per minute and of other units as instruments print them; common practice, from memory.
_SPELLINGS = {
    "u/min": "rpm", "umin-1": "rpm", "tr/min": "rpm", "giri/min": "rpm", "obr/min": "rpm",
    "ot/min": "rpm", "об/мин": "rpm", "rpm": "rpm", "r.p.m.": "rpm", "r/min": "rpm", "1/min": "rpm", "min-1": "rpm",
    "n-m": "N*m", "n.m": "N*m", "nm": "N*m", "watt": "W", "volt": "V", "volts": "V", "v": "V",
    "ampere": "A", "amps": "A", "amp": "A", "sec": "s", "watts": "W", "vac": "V", "vdc": "V", "kw": "kW", "ohms": "ohm",
    "seconds": "s", "kg": "kg", "°c": "degC", "degc": "degC", "°f": "degF", "hz": "Hz",
}  # fmt: skip
_BRACKETED = re.compile(r"(.*?)\s*(?:\[\s*([^\[\]]*?)\s*\]|\(\s*([^()]*?)\s*\))\s*")
_BEHIND = re.compile(r"(.+?)\s*(?:,|\bin\b|/)\s*(\S+)\s*")
_SPACED = re.compile(r"(.+?)\s+(\S+)")
_UNDERSCORED = re.compile(r"(.+)_([^_\s]+)")
#: Behind a blank these may name a line as well as a unit: they are asked for.
_MAY_BE_A_NAME = frozenset({"A", "C", "F", "N", "K", "m", "g", "h", "s"})
#: Letters that name a line, a day or a year; in brackets behind a current they are no unit of time.
_NO_UNIT = frozenset({"a", "b", "c", "d"})


@dataclass(frozen=True)
class Header:
    """A header cell taken apart; ``explicit`` where the unit stands in brackets or in a row of its own."""

    text: str
    name: str
    unit: str | None = None
    explicit: bool = False


@dataclass(frozen=True)
class Trouble:
    """Why a column cannot be read; ``in_job`` where the job is the place to mend it."""

    what: str
    instead: str
    in_job: bool = True


@lru_cache(maxsize=2000)
def known_unit(text: str) -> str | None:
    """A unit as the job would write it, or ``None`` where the text is none."""
    plain = text.strip().strip("[]()").strip()
    spelt = _SPELLINGS.get(plain.lower(), plain)
    for spelling in dict.fromkeys((plain, spelt)):
        try:
            if spelling:
                conversion(spelling)
                return spelling
        except UnitError:
            continue
    return None


def _usual(text: str) -> bool:
    """Whether a text is a unit that is written every day; any word may stand behind an underscore."""
    return text in USUAL_UNITS or text.lower() in _SPELLINGS


@lru_cache(maxsize=5000)
def parse_header(cell: str, unit_cell: str = "") -> Header:
    """A header with the unit beside its name, or in the row below it."""
    text = " ".join(cell.split())
    below = known_unit(unit_cell) if unit_cell.strip() else None
    bracketed = _BRACKETED.fullmatch(text)
    if bracketed is not None and bracketed[1]:
        inside = bracketed[2] if bracketed[2] is not None else bracketed[3]
        unit = None if inside in _NO_UNIT else known_unit(inside)
        return Header(text, bracketed[1], below or unit, explicit=True)
    if below is not None:
        return Header(text, text, below, explicit=True)
    for pattern in (_BEHIND, _UNDERSCORED):
        behind = pattern.fullmatch(text)
        if behind is not None and behind[2] not in _NO_UNIT and _usual(behind[2]):
            return Header(text, behind[1], known_unit(behind[2]))
    spaced = _SPACED.fullmatch(text)
    if spaced is not None and spaced[2] not in (*_NO_UNIT, *_MAY_BE_A_NAME) and _usual(spaced[2]):
        return Header(text, spaced[1], known_unit(spaced[2]))
    # A header that is a unit and nothing else: Watts, RPM.
    return Header(text, text, known_unit(text) if text not in _NO_UNIT and _usual(text) else None)


def matches(wanted: str, headers: Sequence[Header]) -> list[int]:
    """Where a header stands: letter by letter, else without its unit, else in any case of letters."""
    plain = " ".join(wanted.split())
    tests: tuple[Callable[[Header], bool], ...] = (
        lambda header: header.text == plain,
        lambda header: header.name == plain,
        lambda header: plain.casefold() in (header.text.casefold(), header.name.casefold()),
    )
    for test in tests:
        positions = [index for index, header in enumerate(headers) if test(header)]
        if positions:
            return positions
    return []


def with_unit(column: Column, header: Header, sample: Sequence[str], *, heeded: bool) -> Column | Trouble:
    """A column with the unit that its numbers have: the job's, else the header's, else that of a time by its looks.

    Parameters
    ----------
    column, header
        What the job says, and the header found for it.
    sample : sequence of str
        Some of its cells.
    heeded : bool
        Whether a unit in the header counts.
    """
    kind = COLUMNS[column.name]
    if not kind.dimensions or column.unit in WRITTEN_TIMES:
        return column
    unit = header.unit if heeded else None
    if unit is not None and not header.explicit and conversion(unit)[0] not in kind.dimensions:
        unit = None
    if column.unit:
        return column if unit is None else _agreed(column, header, unit)
    if "time" in kind.dimensions:
        kinds = {kind_of_time(text.strip()) for text in sample if text.strip()}
        if kinds == {EITHER}:
            example = next(text.strip() for text in sample if text.strip())
            what = f"'{example}' can be hours and minutes or minutes and seconds"
            return Trouble(what, f"write 'time: {CLOCK}' or 'time: {MINUTES}' in the job")
        kinds -= {EITHER}
        if len(kinds) == 1 and (looks := kinds.pop()) is not None:
            return replace(column, unit=looks, dimension="time")
    instead = f"write 'unit: {unit_of(kind)}' beside it in the job, or the unit the file has"
    if unit is None:
        return Trouble(f"the header '{header.text[:40]}' names no unit known here", instead)
    try:
        return replace(column, unit=unit, dimension=dimension_in(unit, kind))
    except UnitError as cause:
        return Trouble(f"the header is '{header.text[:40]}', and {cause}", instead)


def _agreed(column: Column, header: Header, unit: str) -> Column | Trouble:
    if conversion(unit) == conversion(column.unit):
        return column
    what = f"the job says '{column.unit}', but the unit of '{header.text[:40]}' in the file is '{unit}'"
    return Trouble(what, "correct the job, or write 'header_units: ignore' beside the file if the file is wrong")
