"""Cells of text into columns of SI numbers; every cell that is no number is reported with its place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from certgen.document.source import Place, Problems
from certgen.job.columns import COLUMNS
from certgen.job.table import Column
from certgen.readings.model import Table
from certgen.units import from_si, measurable, read_number, to_si

#: A load point without these is no load point, so they may not be left empty.
NEEDED = frozenset({"speed", "scale", "scale_2", "torque"})
_EMPTY = frozenset({"", "-", "–", "—", "~", "null"})
_LONGEST_REMARK = 80

PlaceOf = Callable[[int, int], Place]


def tabulate(
    columns: Sequence[Column], rows: Sequence[Sequence[str]], place_of: PlaceOf, shown: str, problems: Problems
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
    """
    reader = _CellReader(place_of, shown, problems)
    values = {column.name: np.full(len(rows), np.nan) for column in columns if column.name != "remark"}
    remarks = [""] * len(rows)
    for index, column in enumerate(columns):
        if column.name == "remark":
            remarks = [_remark(row[index]) for row in rows]
            continue
        for number, row in enumerate(rows):
            values[column.name][number] = reader.read(column, row[index], (number, index))
    return Table(values, tuple(remarks))


@dataclass(frozen=True)
class _CellReader:
    """Reads single cells and keeps what is wrong with them."""

    place_of: PlaceOf
    shown: str
    problems: Problems

    def read(self, column: Column, text: str, cell: tuple[int, int]) -> float:
        """The SI value of a cell given by row and column index, ``nan`` where it is empty or wrong."""
        if text.strip() in _EMPTY:
            if column.name in NEEDED:
                self._wrong(cell, f"the cell of '{column.name}' is empty", "write what was read, or leave the row out")
            return np.nan
        number = read_number(text)
        if number is None:
            what = f"'{text.strip()[:40]}' in column '{column.name}' is not a number"
            self._wrong(cell, what, f"write a plain number in {column.unit} with a decimal point, for example 12.5")
            return np.nan
        value = to_si(number, column.unit, column.dimension)
        if not measurable(value):
            size = "small" if abs(value) < 1.0 else "large"
            what = f"'{text.strip()[:40]}' in column '{column.name}' is too {size} a number for a motor bench"
            self._wrong(cell, what, "write what was read")
            return np.nan
        self._check_bounds(column, value, text, cell)
        return value

    def _check_bounds(self, column: Column, value: float, text: str, cell: tuple[int, int]) -> None:
        kind = COLUMNS[column.name]
        if (kind.low is not None and value < kind.low) or (kind.high is not None and value > kind.high):
            low, high = (None if bound is None else from_si(bound, column.unit) for bound in (kind.low, kind.high))
            bounds = f"from {low:g} to {high:g}" if high is not None else f"not below {low:g}"
            what = f"'{text.strip()[:40]} {column.unit}' is not possible in column '{column.name}'"
            self._wrong(cell, what, f"write a value {bounds} {column.unit}")

    def _wrong(self, cell: tuple[int, int], what: str, instead: str) -> None:
        self.problems.add(self.shown, self.place_of(*cell), what, instead)


def _remark(text: str) -> str:
    plain = "".join(sign if sign.isprintable() else " " for sign in text)
    return " ".join(plain.split())[:_LONGEST_REMARK]
