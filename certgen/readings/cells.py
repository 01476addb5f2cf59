"""Cells of text into columns of SI numbers; every cell that is no number is reported with its place."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from certgen.document.source import Place, Problems
from certgen.job.columns import COLUMNS
from certgen.job.table import Column
from certgen.readings.model import Array, Table
from certgen.units import LARGEST, SMALLEST, conversion, from_si, measurable, read_number

#: A load point without these is no load point, so they may not be left empty.
NEEDED = frozenset({"speed", "scale", "scale_2", "torque"})
_EMPTY = frozenset({"", "-", "–", "—", "~", "null"})
#: What loggers write where a channel gave nothing.
_DROPPED_OUT = frozenset({"nan", "na", "n/a", "inf", "-inf", "+inf", "ol", "err", "error"})
_LONGEST_REMARK = 80

PlaceOf = Callable[[int, int], Place]


def tabulate(
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    place_of: PlaceOf,
    shown: str,
    problems: Problems,
    *,
    log: bool = False,
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
    log : bool
        Whether the rows are samples of a log, of which any may have dropped out.
    """
    reader = _CellReader(place_of, shown, problems, log)
    values = {}
    remarks = [""] * len(rows)
    for index, column in enumerate(columns):
        texts = [row[index].strip() for row in rows]
        if column.name == "remark":
            remarks = [_remark(text) for text in texts]
        else:
            values[column.name] = reader.read(column, index, texts)
    return Table(values, tuple(remarks))


@dataclass(frozen=True)
class _CellReader:
    """Reads the cells of a column and keeps what is wrong with them."""

    place_of: PlaceOf
    shown: str
    problems: Problems
    log: bool

    def read(self, column: Column, index: int, texts: Sequence[str]) -> Array:
        """SI values of a column given by its index, ``nan`` where a cell is empty or wrong."""
        numbers = [self._number(column, text, (row, index)) for row, text in enumerate(texts)]
        _, scale, offset = conversion(column.unit)
        with np.errstate(over="ignore"):
            values = offset + scale * np.array(numbers)
        kind = COLUMNS[column.name]
        # About zero a logger's channel scatters to either side.
        low = -math.inf if kind.low is None or self.log else kind.low
        high = math.inf if kind.high is None or self.log else kind.high
        size = np.abs(values)
        doubtful = (values < low) | (values > high) | (size > LARGEST) | ((size < SMALLEST) & (size > 0.0))
        for row in np.flatnonzero(doubtful).tolist():
            self._doubt(column, float(values[row]), texts[row], (row, index))
        return values

    def _number(self, column: Column, text: str, cell: tuple[int, int]) -> float:
        number = read_number(text)
        if number is not None:
            return number
        if self.log and text.casefold() in _DROPPED_OUT:
            return math.nan
        if text not in _EMPTY:
            unit = "" if column.unit == "1" else f" in {column.unit}"
            what = f"'{text[:40]}' in column '{column.name}' is not a number"
            self._wrong(cell, what, f"write a plain number{unit} with a decimal point, for example 12.5")
        elif column.name in NEEDED and not self.log:
            self._wrong(cell, f"the cell of '{column.name}' is empty", "write what was read, or leave the row out")
        return math.nan

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


def _remark(text: str) -> str:
    plain = "".join(sign if sign.isprintable() else " " for sign in text)
    return " ".join(plain.split())[:_LONGEST_REMARK]
