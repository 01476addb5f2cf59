"""A piece of a delimited file parsed at once by pandas; what is not plain numbers in whole rows is left to others."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from typing import Any

import numpy as np

from certgen.job.columns import COLUMNS
from certgen.job.table_columns import CLOCK, STAMP, Column
from certgen.readings.cells import EMPTY, NEEDED, doubtful, in_si, plain_remark
from certgen.readings.marks import NumberMarks
from certgen.readings.model import Array, Table
from certgen.readings.records import MOST_IN_LINE, SPACES
from certgen.units import LARGEST, SMALLEST

_LINE_FEED = 10
_TRUTH = re.compile(rb"(?i)true|false")


@dataclass(frozen=True)
class Parsed:
    """A piece in SI; ``times`` are the cells of its column ``time`` where that is no plain count."""

    table: Table
    times: list[str] | None


@dataclass(frozen=True)
class BulkReader:
    """Reads pieces in which nothing stands but rows of ``width`` cells; safe to be used by several threads."""

    columns: tuple[Column, ...]
    positions: tuple[int, ...]
    width: int
    delimiter: str
    marks: NumberMarks
    comments: tuple[bytes, ...]
    all_numbers: bool
    codec: str
    log: bool = False

    def read(self, data: bytes) -> Parsed | None:
        """The piece as a table in SI, or ``None`` where some cell or line has to be looked at."""
        if max(self.positions) >= self.width or _has_long_line(data) or self._unusual(data):
            return None
        frame = self._parsed(data, empty=False)
        if frame is None or not self.all_numbers:
            if self.delimiter == SPACES:
                return None  # a cell too few cannot be seen
            frame = self._parsed(data, empty=True) if frame is None else frame
            if frame is None or not self._whole(data, len(frame)):
                return None
        values: dict[str, Array] = {}
        times: list[str] | None = None
        remarks: tuple[str, ...] = ("",) * len(frame)
        for column, position in zip(self.columns, self.positions, strict=True):
            if column.name == "remark":
                remarks = tuple(plain_remark(text) for text in frame[position].tolist())
                continue
            if column.unit in (CLOCK, STAMP):
                times = [text.strip() for text in frame[position].tolist()]
                values[column.name] = np.empty(0)
                continue
            numbers = frame[position].to_numpy()
            found = None if _may_be_words(numbers, data) else _checked(column, numbers, log=self.log)
            if found is None:
                return None
            values[column.name] = found
        if _row_without_values(values):
            return None
        return Parsed(Table(values, remarks), times)

    def _unusual(self, data: bytes) -> bool:
        return (
            bool(self.marks.thousands)
            or not data.isascii()
            or b'"' in data
            or b"\0" in data
            or any(sign[:1] in data and sign in data for sign in self.comments)  # one byte is found far faster than two
            or (b"\r" in data and data.count(b"\r") != data.count(b"\r\n"))
        )

    def _parsed(self, data: bytes, *, empty: bool) -> Any:
        """The piece as a frame of floats and texts; ``None`` where a cell is no number, or empty unless that is allowed.

        Where no cell may be empty, a line with a cell too few is refused too, and one with a cell too many always is.
        """
        import pandas

        pairs = zip(self.columns, self.positions, strict=True)
        numbers = [at for one, at in pairs if one.name != "remark" and one.unit not in (CLOCK, STAMP)]
        kinds: dict[int, Any] = dict.fromkeys(range(self.width) if self.all_numbers else numbers, np.float64)
        kinds.update({at: object for at in self.positions if at not in numbers})
        try:
            frame = pandas.read_csv(
                io.BytesIO(data),
                header=None,
                names=range(self.width),
                sep=r"\s+" if self.delimiter == SPACES else self.delimiter or "\x1f",
                decimal=self.marks.decimal,
                dtype=kinds,
                usecols=None if self.all_numbers else sorted(self.positions),
                na_filter=empty,
                keep_default_na=False,
                na_values={at: sorted(EMPTY) for at, kind in kinds.items() if kind is np.float64} if empty else None,
                low_memory=False,
                skip_blank_lines=False,  # so that a row is a line
                engine="c",
            )
        except (ValueError, OverflowError):  # pandas.errors.ParserError is a ValueError
            return None
        # With a cell too many in every line the first would become the index.
        return frame if isinstance(frame.index, pandas.RangeIndex) else None

    def _whole(self, data: bytes, rows: int) -> bool:
        """Whether every line has as many cells as there are columns."""
        if self.width == 1:
            return True
        sign = self.delimiter.encode()
        if self.all_numbers:  # no line had a cell too many, else pandas had told
            return data.count(sign) == rows * (self.width - 1)
        signs = np.frombuffer(data, np.uint8)
        ends = signs[(signs == _LINE_FEED) | (signs == sign[0])]
        lines = data.count(b"\n")
        if not data.endswith(b"\n"):
            ends, lines = np.append(ends, _LINE_FEED), lines + 1
        return (
            lines == rows and len(ends) == rows * self.width and bool((ends[self.width - 1 :: self.width] == 10).all())
        )


def _has_long_line(data: bytes) -> bool:
    """Whether a line is longer than a row can be; pandas would make a cell of every part of it."""
    begin = 0
    while begin + MOST_IN_LINE < len(data):
        end = data.rfind(b"\n", begin, begin + MOST_IN_LINE + 1)
        if end < 0:
            return True
        begin = end + 1
    return False


def _may_be_words(numbers: Array, data: bytes) -> bool:
    """Whether ones and noughts may have been written as words: pandas takes a column of TRUE and FALSE for numbers."""
    first = numbers[:1]  # such a column begins with one of them, or with an empty cell
    return bool((np.isnan(first) | np.isin(first, (0.0, 1.0))).any()) and _TRUTH.search(data) is not None


def _checked(column: Column, numbers: Array, *, log: bool) -> Array | None:
    """The SI values of a column, or ``None`` where one of them cannot be."""
    values = in_si(column, numbers)
    kind = COLUMNS[column.name]
    low, high = float(np.min(values)), float(np.max(values))
    if np.isnan(low):
        needed = column.name in NEEDED and not log
        if needed or np.isinf(values).any() or doubtful(column, values, log=log).any():
            return None
        return values
    if low >= max(SMALLEST, kind.low or 0.0) and high <= min(LARGEST, LARGEST if kind.high is None else kind.high):
        return values
    return None if np.isinf(high - low) or doubtful(column, values, log=log).any() else values


def _row_without_values(values: dict[str, Array]) -> bool:
    """Whether some row has nothing in any of the columns: an empty line, perhaps."""
    found = [one for one in values.values() if len(one)]
    missing = [np.isnan(one) for one in found if np.isnan(np.min(one))]
    return len(missing) == len(found) and bool(np.logical_and.reduce(missing).any())
