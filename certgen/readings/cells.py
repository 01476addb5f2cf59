"""Cells of text into columns of SI numbers; every cell that is no number is reported with its place."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from certgen.document.source import Place, Problems
from certgen.job.columns import CLOCK, COLUMNS, MINUTES, STAMP, WRITTEN_TIMES, Column
from certgen.job.dialect import DAY_FIRST, MONTH_FIRST, Dialect
from certgen.physics.domain import Array, Mask
from certgen.readings.marks import PLAIN, NumberMarks
from certgen.readings.model import Table
from certgen.readings.time_cells import EITHER, HOW, TimeOfDay, kind_of_time
from certgen.units import LARGEST, SMALLEST, conversion, from_si, measurable

#: A load point without these is no load point, so they may not be left empty.
NEEDED = frozenset({"speed", "scale", "scale_2", "torque"})
EMPTY = frozenset({"", "-", "–", "—", "~", "null"})
#: What loggers and spreadsheets write where a channel gave nothing, or more than it can show.
DROPPED_OUT = frozenset({
    "nan", "na", "n/a", "n.a.", "#n/a", "#nv", "inf", "-inf", "+inf", "none", "?", "??", "???",
    "ol", "-ol", "o.l", "o.l.", "0l", "0.l", "over", "overload", "overflow", "overrange", "over range", "ovl", "ovld",
    "ovrflw", "open", "err", "error", "#value!", "#wert!", "#div/0!", "#num!", "#zahl!", "#ref!",
    "--", "---", "----", "-----", "------", "***", "****", "*****", "******",
})  # fmt: skip
#: Those of them that say that there was more than the channel can show: of a load that is known to be beyond its span.
OVERLOADED = frozenset({
    "inf", "+inf", "ol", "+ol", "o.l", "o.l.", "0l", "0.l", "over", "overload", "overflow", "overrange", "over range",
    "ovl", "ovld", "ovrflw",
})  # fmt: skip
LOAD = frozenset({"scale", "scale_2", "torque"})
_LONGEST_REMARK = 80

PlaceOf = Callable[[int, int], Place]


@dataclass
class Notation:
    """How the cells of a table are written: marks of its numbers, and its time where that is no plain count.

    ``log`` says that the rows are samples of a log, of which any may have dropped out; ``missing`` is what the job says
    that stands in a cell without a reading, in small letters.
    """

    marks: NumberMarks = PLAIN
    time: TimeOfDay | None = None
    log: bool = False
    missing: frozenset[str] = frozenset()

    @classmethod
    def of(
        cls, columns: Sequence[Column], marks: NumberMarks = PLAIN, *, log: bool = False, dialect: Dialect | None = None
    ) -> Notation:
        """The notation that the unit of a time column asks for."""
        kind = next((column.unit for column in columns if column.name == "time"), "")
        dialect = dialect or Dialect()
        missing = frozenset(text.strip().casefold() for text in dialect.missing or ())
        return cls(marks, TimeOfDay.of(kind, dialect.date_order) if kind in WRITTEN_TIMES else None, log, missing)

    @cached_property
    def missing_numbers(self) -> frozenset[float]:
        """Those of the missing texts that are numbers, such as -999."""
        numbers = (self.marks.read(text) for text in self.missing)
        return frozenset(number for number in numbers if number is not None)

    def is_empty(self, text: str) -> bool:
        """Whether a cell says that nothing was read."""
        return text in EMPTY or (bool(self.missing) and text.casefold() in self.missing)


def tabulate(
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    place_of: PlaceOf,
    shown: str,
    problems: Problems,
    *,
    notation: Notation | None = None,
) -> Table:
    """Rows of texts as a table in SI.

    Parameters
    ----------
    columns : sequence of Column
        Names and units, in the order of the cells of a row.
    rows : sequence of sequence of str
        The cells.
    place_of : callable
        Row and column index, both from 0, to line and column in the file.
    shown, problems
        The file's name in messages, and where mistakes are kept.
    notation
        How the cells are written; as in a job where it is left out.
    """
    reader = _CellReader(place_of, shown, problems, notation or Notation.of(columns))
    values = {}
    remarks = [""] * len(rows)
    for index, column in enumerate(columns):
        texts = [row[index].strip() for row in rows]
        if column.name == "remark":
            remarks = [plain_remark(text) for text in texts]
        else:
            values[column.name] = reader.read(column, index, texts)
    return Table(values, tuple(remarks))


@dataclass(frozen=True)
class _CellReader:
    """Reads the cells of a column and keeps what is wrong with them."""

    place_of: PlaceOf
    shown: str
    problems: Problems
    notation: Notation

    def read(self, column: Column, index: int, texts: Sequence[str]) -> Array:
        """SI values of a column given by its index, ``nan`` where a cell is empty or wrong; inf for an overload."""
        timed = column.name == "time" and self.notation.time is not None
        if timed and self.notation.time is not None:
            self.notation.time.settle(texts)
        number = self._time if timed else self._number
        numbers = np.array([number(column, text, (row, index)) for row, text in enumerate(texts)])
        if timed:
            return numbers
        values = in_si(column, numbers)
        for row in np.flatnonzero(impossible_values(column, values, log=self.notation.log)).tolist():
            if np.isinf(values[row]) and texts[row].casefold() in OVERLOADED:
                continue
            self._doubt(column, float(values[row]), texts[row], (row, index))
        return values

    def _number(self, column: Column, text: str, cell: tuple[int, int]) -> float:
        number = self.notation.marks.read(text)
        if number is not None:
            return math.nan if number in self.notation.missing_numbers else number
        if self.notation.log and text.casefold() in DROPPED_OUT:
            return math.inf if column.name in LOAD and text.casefold() in OVERLOADED else math.nan
        if not self.notation.is_empty(text):
            unit = "" if column.unit == "1" else f" in {column.unit}"
            what = f"'{text[:40]}' in column '{column.name}' is not a number"
            self._wrong(cell, what, self._how(column, text, unit))
        elif column.name in NEEDED and not self.notation.log:
            self._wrong(cell, f"the cell of '{column.name}' is empty", "write what was read, or leave the row out")
        return math.nan

    def _how(self, column: Column, text: str, unit: str) -> str:
        """What to write instead of a text that is no number."""
        kind = kind_of_time(text) if column.name == "time" else None
        if kind is not None:
            units = (CLOCK, MINUTES) if kind == EITHER else (kind,)
            ways = " or ".join(f"'unit: {unit}' for this column where it is {_TIMES[unit]}" for unit in units)
            return f"write {ways}"
        mark, example = ("point", "12.5") if self.notation.marks.decimal == "." else ("comma", "12,5")
        return f"write a plain number{unit} with a decimal {mark}, for example {example}"

    def _time(self, column: Column, text: str, cell: tuple[int, int]) -> float:
        time = self.notation.time
        assert time is not None  # asked for where the column is such a time
        seconds = time.read(text)
        if seconds is None and not self.notation.is_empty(text):
            if time.unsettled(text):
                what = f"the date of '{text[:40]}' can be read with the day or with the month first"
                self._wrong(
                    cell,
                    what,
                    f"write 'date_order: {DAY_FIRST}' or 'date_order: {MONTH_FIRST}' beside the file in the job",
                )
                return math.nan
            another = time.kind == STAMP and kind_of_time(text) == STAMP
            what = "has a zone and others have none, or the other way round" if another else "is no such time"
            self._wrong(cell, f"'{text[:40]}' in column '{column.name}' {what}", HOW[time.kind])
        return math.nan if seconds is None else seconds

    def _doubt(self, column: Column, value: float, text: str, cell: tuple[int, int]) -> None:
        if not measurable(value):
            size = "small" if abs(value) < 1.0 else "large"
            what = f"'{text[:40]}' in column '{column.name}' is too {size} a number for a motor bench"
            self._wrong(cell, what, "write what was read")
            return
        kind = COLUMNS[column.name]
        low, high = (None if bound is None else from_si(bound, column.unit) for bound in (kind.low, kind.high))
        bounds = f"from {low:g} to {high:g}" if high is not None else f"not below {low:g}"
        unit = "" if column.unit == "1" else f" {column.unit}"
        what = f"'{text[:40]}{unit}' is not possible in column '{column.name}'"
        self._wrong(cell, what, f"write a value {bounds}{unit}")

    def _wrong(self, cell: tuple[int, int], what: str, instead: str) -> None:
        self.problems.add(self.shown, self.place_of(*cell), what, instead)


_TIMES = {CLOCK: "a time of day", STAMP: "a date with time of day", MINUTES: "minutes and seconds"}


def in_si(column: Column, numbers: Array, out: Array | None = None) -> Array:
    """Numbers in the unit of their column as SI values, written to ``out`` where that is given."""
    _, scale, offset = conversion(column.unit)
    if scale == 1.0 and offset == 0.0:
        return numbers
    with np.errstate(over="ignore"):
        scaled = np.multiply(numbers, scale, out=out)
        return scaled if offset == 0.0 else np.add(offset, scaled, out=out)


def impossible_values(column: Column, values: Array, *, log: bool = False) -> Mask:
    """Which SI values a column cannot have; about zero a logger's channel scatters to either side."""
    kind = COLUMNS[column.name]
    low = -math.inf if kind.low is None or log else kind.low
    high = math.inf if kind.high is None or log else kind.high
    size = np.abs(values)
    impossible: Mask = (values < low) | (values > high) | (size > LARGEST) | ((size < SMALLEST) & (size > 0.0))
    return impossible


def plain_remark(text: str) -> str:
    """A remark as one plain line of bounded length."""
    plain = "".join(character if character.isprintable() else " " for character in text)
    return " ".join(plain.split())[:_LONGEST_REMARK]
