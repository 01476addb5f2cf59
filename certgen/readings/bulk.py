"""A piece of a delimited file parsed at once by pandas; what is not plain numbers in whole rows is left to others."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from certgen.job.columns import COLUMNS, WRITTEN_TIMES, Column
from certgen.physics.domain import Array
from certgen.readings.cells import (
    DROPPED_OUT,
    EMPTY,
    LOAD,
    NEEDED,
    OVERLOADED,
    impossible_values,
    in_si,
    plain_remark,
)
from certgen.readings.marks import NumberMarks
from certgen.readings.model import NoRemarks
from certgen.readings.records import MOST_IN_LINE, SPACES
from certgen.readings.time_cells import Characters
from certgen.units import LARGEST, SMALLEST

_LINE_FEED = 10
#: What a piece may be full of without holding a row.
_NOTHING = b" \t\r\n,;|"
_TRUTH = re.compile(rb"(?i)true|false")
_ITS_LETTERS = (b"u", b"U", b"l", b"L")  # one byte is found far faster than a word


@dataclass(frozen=True)
class Parsed:
    """A piece in SI: ``values`` has a row for each column but the remark, shape (k, n).

    ``times`` are the cells of its column ``time`` where that is no plain count, as texts or as characters of shape
    (n, length); its row is to be filled from them.
    """

    values: Array
    remarks: Sequence[str]
    times: list[str] | Characters | None


@dataclass(frozen=True)
class BulkReader:
    """Reads pieces in which nothing stands but rows of ``width`` cells; safe to be used by several threads.

    ``comments`` are the signs of a comment that would not be seen in parsing: a piece that holds one is not read.
    ``all_numbers`` says that every cell of the sample is a number, ``rest_numbers`` that only a time in its first column
    is none. ``missing`` is what the job says that stands in a cell without a reading.
    """

    columns: tuple[Column, ...]
    positions: tuple[int, ...]
    width: int
    delimiter: str
    marks: NumberMarks
    comments: tuple[bytes, ...]
    all_numbers: bool
    codec: str
    log: bool = False
    missing: frozenset[str] = frozenset()
    rest_numbers: bool = False

    def read(self, file: bytes, where: slice) -> Parsed | None:
        """A piece of a file in SI, or ``None`` where some cell or line of it has to be looked at."""
        data = file[where]
        if not data.strip(_NOTHING):
            return None
        if max(self.positions) >= self.width or _has_long_line(data) or self._unusual(data):
            return None
        if self.rest_numbers and (stamped := self._stamped(data)) is not None:
            return stamped
        frame = self._parsed(data, empty=False)
        if frame is None or not self.all_numbers:
            if self.delimiter == SPACES:
                return None  # a cell too few cannot be seen
            frame = self._parsed(data, empty=True) if frame is None else frame
            if frame is None or not self._whole(data, len(frame)):
                return None
        return self._in_si(frame, data)

    def _stamped(self, data: bytes) -> Parsed | None:
        """A piece whose lines all begin with a time of one length, and hold nothing but numbers behind it."""
        times = first_cells(data, self.delimiter.encode())
        frame = None if times is None else self._parsed(data, empty=False, numbers=range(1, self.width))
        if frame is None or times is None or len(frame) != len(times):
            return None
        # No line has a cell too few: its last number would be missing.
        if data.count(self.delimiter.encode()) != len(frame) * (self.width - 1):
            return None
        return self._in_si(frame, data, times)

    def _in_si(self, frame: Any, data: bytes, first: Characters | None = None) -> Parsed | None:
        values = np.empty((sum(column.name != "remark" for column in self.columns), len(frame)))
        numbers: list[tuple[int, Column]] = []
        times: list[str] | Characters | None = None
        remarks: Sequence[str] = NoRemarks(len(frame))
        row = 0
        for column, position in zip(self.columns, self.positions, strict=True):
            if column.name == "remark":
                remarks = tuple(plain_remark(text) for text in frame[position].tolist())
                continue
            if column.unit in WRITTEN_TIMES:
                times = [text.strip() for text in frame[position].tolist()] if first is None else first
                values[row] = 0.0
            else:
                values[row] = frame[position].to_numpy()
                numbers.append((row, column))
            row += 1
        if _may_be_words([values[row, :1] for row, _ in numbers], data):
            return None
        for row, column in numbers:
            in_si(column, values[row], out=values[row])
        if not _possible(values, numbers, log=self.log) or _row_without_values(values, numbers):
            return None
        return Parsed(values, remarks, times)

    def _unusual(self, data: bytes) -> bool:
        """Whether something stands in the piece that is no plain cell."""
        if self.marks.thousands or not data.isascii() or b'"' in data or b"\0" in data:
            return True
        if b"\r" in data and data.count(b"\r") != data.count(b"\r\n"):
            return True
        return any(mark[:1] in data and mark in data for mark in self.comments)  # one byte is found far faster than two

    def _parsed(self, data: bytes, *, empty: bool, numbers: Sequence[int] | None = None) -> Any:
        """The piece as a frame of floats and texts; ``None`` where a cell is no number, or empty unless that is allowed.

        ``numbers`` are the columns to parse where not all that are asked for. Where no cell may be empty, a line with a cell
        too few is refused too, and one with a cell too many always is, unless some columns are left out.
        """
        import pandas

        pairs = zip(self.columns, self.positions, strict=True)
        if numbers is None:
            asked = [at for column, at in pairs if column.name != "remark" and column.unit not in WRITTEN_TIMES]
            kinds: dict[int, Any] = dict.fromkeys(range(self.width) if self.all_numbers else asked, np.float64)
            kinds.update({at: object for at in self.positions if at not in asked})
        else:
            kinds = dict.fromkeys(numbers, np.float64)
        try:
            frame = pandas.read_csv(
                io.BytesIO(data),
                header=None,
                names=range(self.width),
                sep=r"\s+" if self.delimiter == SPACES else self.delimiter or "\x1f",
                decimal=self.marks.decimal,
                dtype=kinds,
                usecols=None if self.all_numbers else sorted(kinds),
                na_filter=empty,
                keep_default_na=False,
                na_values={at: self._na(at) for at, kind in kinds.items() if kind is np.float64} if empty else None,
                low_memory=False,
                skip_blank_lines=False,  # so that a row is a line
                engine="c",
            )
        except (ValueError, OverflowError):  # pandas.errors.ParserError is a ValueError
            return None
        # With a cell too many in every line the first would become the index.
        return frame if isinstance(frame.index, pandas.RangeIndex) else None

    def _na(self, position: int) -> list[str]:
        """What stands in a cell of a column without a reading; an overload of a load is one, and looked at by itself."""
        loads = {at for column, at in zip(self.columns, self.positions, strict=True) if column.name in LOAD}
        return self._na_of_load if position in loads else self._na_of_others

    @cached_property
    def _na_of_others(self) -> list[str]:
        return self._ways(self.missing | (DROPPED_OUT if self.log else frozenset()))

    @cached_property
    def _na_of_load(self) -> list[str]:
        return self._ways(self.missing | (DROPPED_OUT - OVERLOADED if self.log else frozenset()))

    @staticmethod
    def _ways(words: frozenset[str]) -> list[str]:
        """Words in small letters, in capitals and with a capital, and what is empty anyway."""
        return sorted(EMPTY | {way for word in words for way in (word, word.upper(), word.capitalize())})

    def _whole(self, data: bytes, rows: int) -> bool:
        """Whether every line has as many cells as there are columns."""
        if self.width == 1:
            return True
        delimiter = self.delimiter.encode()
        if self.all_numbers:  # no line had a cell too many, else pandas had refused it
            return data.count(delimiter) == rows * (self.width - 1)
        characters = np.frombuffer(data, np.uint8)
        ends = characters[(characters == _LINE_FEED) | (characters == delimiter[0])]
        lines = data.count(b"\n")
        if not data.endswith(b"\n"):
            ends, lines = np.append(ends, _LINE_FEED), lines + 1
        return (
            lines == rows and len(ends) == rows * self.width and bool((ends[self.width - 1 :: self.width] == 10).all())
        )


def first_cells(data: bytes, delimiter: bytes) -> Characters | None:
    """The first cells of some lines, where all are as long as the first of them and hold no end of a line.

    Parameters
    ----------
    data : bytes
        Whole lines.
    delimiter : bytes
        One character.

    Returns
    -------
    array, shape (n, length), or None
        Their characters, where no line is empty.
    """
    length = data.find(delimiter)
    characters = np.frombuffer(data, np.uint8)
    ends = np.flatnonzero(characters == _LINE_FEED)
    begins = np.concatenate(([0], ends + 1)).astype(np.intp)
    if begins[-1] == characters.size:
        begins = begins[:-1]
    if length <= 0 or begins[-1] + length >= characters.size or not (characters[begins + length] == delimiter[0]).all():
        return None
    every = np.ndarray((characters.size - length + 1,), f"S{length}", data, strides=(1,))
    cells = every[begins].view(np.uint8).reshape(begins.size, length)
    return None if (cells == _LINE_FEED).any() else cells


def _has_long_line(data: bytes) -> bool:
    """Whether a line is longer than a row can be; pandas would make a cell of every part of it."""
    begin = 0
    while begin + MOST_IN_LINE < len(data):
        end = data.rfind(b"\n", begin, begin + MOST_IN_LINE + 1)
        if end < 0:
            return True
        begin = end + 1
    return False


def _may_be_words(first: Sequence[Array], data: bytes) -> bool:
    """Whether ones and zeros may have been written as words: pandas takes a column of TRUE and FALSE for numbers.

    Such a column begins with one of them, or with an empty cell.
    """
    if not any(cell in (0.0, 1.0) or math.isnan(cell) for cells in first for cell in cells.tolist()):
        return False
    return any(letter in data for letter in _ITS_LETTERS) and _TRUTH.search(data) is not None


def _possible(values: Array, numbers: Sequence[tuple[int, Column]], *, log: bool) -> bool:
    """Whether every SI value can be one of its column, given by the row of values in which it stands."""
    if not values.size:
        return True
    lowest, highest = values.min(axis=1).tolist(), values.max(axis=1).tolist()
    for row, column in numbers:
        kind, low, high = COLUMNS[column.name], lowest[row], highest[row]
        if math.isnan(low) and column.name in NEEDED and not log:
            return False
        plain = low >= max(SMALLEST, kind.low or 0.0) and high <= min(
            LARGEST, LARGEST if kind.high is None else kind.high
        )
        if not plain and (np.isinf(values[row]).any() or impossible_values(column, values[row], log=log).any()):
            return False
    return True


def _row_without_values(values: Array, numbers: Sequence[tuple[int, Column]]) -> bool:
    """Whether some line of the piece has nothing in any of the columns of numbers: an empty line, perhaps."""
    missing = np.ones(values.shape[1], dtype=bool)
    for row, _ in numbers:
        missing &= np.isnan(values[row])
        if not missing.any():
            return False
    return True
