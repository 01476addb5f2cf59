"""Delimited text files of any common kind: headers somewhere near the top, then one row a line."""

from __future__ import annotations

import csv
import itertools
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from certgen.document.source import Problems
from certgen.errors import MOST_TOLD
from certgen.job.table_columns import Column
from certgen.readings.bulk import BulkReader, Parsed
from certgen.readings.cells import Notation, tabulate
from certgen.readings.encoding import latin
from certgen.readings.gathered import Gathered, keep_freed_blocks
from certgen.readings.marks import has_number_shape
from certgen.readings.model import Table
from certgen.readings.records import COMMENTS, Lines, Record, lines_of, told_unclosed
from certgen.readings.structure import Structure, fits_width
from certgen.readings.text_file import Piece, TextFile, decoded, ends

if TYPE_CHECKING:
    from concurrent.futures import Future

_THREADS = 2
_ROWS_AT_ONCE = 20_000


@dataclass
class RowReader:
    """Reads the rows below the headers, piece by piece; what is wrong is kept with line and column."""

    file: TextFile
    structure: Structure
    columns: tuple[Column, ...]
    positions: tuple[int, ...]
    notation: Notation
    problems: Problems
    fixed_encoding: bool
    comments: int = 0
    blank: int = 0
    non_ascii: bool = False
    broken: bool = False  # quotes do not close: what stands below cannot be cut into cells

    def read(self, skip: int) -> Table:
        """All rows of the file from the byte ``skip`` of its head."""
        line = self.structure.first_line
        gathered = Gathered(self.columns, len(self.file.data))
        for where, parsed in self._bulk(self.file.pieces(skip)):
            size = where.stop - where.start
            if parsed is not None and self._timed(parsed, gathered.names):
                gathered.add(parsed.values, parsed.remarks, size)
                line += parsed.values.shape[1]
                continue
            piece = Piece(self.file.data[where], line)
            line += ends(piece.data)
            if len(self.problems.found) <= MOST_TOLD and not self.broken:
                for part in self._by_cell(piece):
                    gathered.add_table(part, size)
        return gathered.table()

    def _timed(self, parsed: Parsed, names: Sequence[str]) -> bool:
        """Fill in the times of a parsed piece, where they are no plain count; false where some are none."""
        if parsed.times is None or self.notation.time is None:
            return True
        times = self.notation.time.read_all(parsed.times)
        if times is not None:
            parsed.values[names.index("time")] = times
        return times is not None

    def _bulk(self, pieces: Iterator[slice]) -> Iterator[tuple[slice, Parsed | None]]:
        """Each piece with what bulk parsing makes of it; the next pieces are parsed meanwhile.

        A file no longer than its head is read cell by cell before pandas were imported.
        """
        if self.file.whole:
            yield from ((piece, None) for piece in pieces)
            return
        keep_freed_blocks()
        all_numbers = self.structure.all_numbers
        bulk = BulkReader(
            self.columns,
            self.positions,
            self._cells_a_line(),
            self.structure.delimiter,
            self.notation.marks,
            tuple(sign.encode() for sign in self.structure.comments if not (all_numbers and sign in COMMENTS)),
            all_numbers,
            self.file.codec,
            self.notation.log,
        )
        from concurrent.futures import ThreadPoolExecutor

        with ThreadPoolExecutor(_THREADS) as pool:
            waiting: deque[tuple[slice, Future[Parsed | None]]] = deque()
            for piece in pieces:
                waiting.append((piece, pool.submit(bulk.read, self.file.data, piece)))
                if len(waiting) > _THREADS:
                    done, future = waiting.popleft()
                    yield done, future.result()
            for done, future in waiting:
                yield done, future.result()

    def _cells_a_line(self) -> int:
        """Cells of a line of numbers, which may end with a delimiter behind the last column."""
        widths = {len(one.cells) for one in self.structure.sample}
        return widths.pop() if len(widths) == 1 else self.structure.width

    def _by_cell(self, piece: Piece) -> Iterator[Table]:
        text = self._decoded(piece)
        shown = self.file.shown
        found = None if text is None else lines_of(text, shown, self.problems, piece.first)
        if found is None:
            return
        comments = () if self._remarks_first else self.structure.comments
        lines = Lines(found, self.structure.delimiter, comments, piece.first)
        records: list[Record] = []
        last = piece.first - 1
        try:
            for record in lines.records():
                last = record.last
                if self._usable(record):
                    records.append(record)
                if len(records) == _ROWS_AT_ONCE:
                    yield self._table(records, lines)
                    records = []
        except csv.Error:
            begin = next(number for number in itertools.count(last + 1) if number not in lines.passed_over)
            told_unclosed(lines, begin, shown, self.problems)
            self.broken = True
        self.comments += len(lines.passed_over)
        if records:
            yield self._table(records, lines)

    def _usable(self, record: Record) -> bool:
        """Whether a record is a row; one of another width is a mistake, an empty one is passed over."""
        if record.empty:
            self.blank += 1
            return False
        if self._remarks_first and record.cells[0].startswith(self.structure.comments) and not self._numbers(record):
            self.comments += 1
            return False
        if fits_width(record, self.structure.width):
            return True
        what = f"the line has {len(record.cells)} cells for {self.structure.width} columns"
        instead = "give every line as many cells as the header"
        self.problems.add(self.file.shown, (record.first, 1), what, instead)
        return False

    @property
    def _remarks_first(self) -> bool:
        """Whether a row may begin with a remark, and so like a comment, where the job does not say what one is."""
        named = dict(zip(self.positions, self.columns, strict=True))
        return self.structure.comments == COMMENTS and 0 in named and named[0].name == "remark"

    def _numbers(self, record: Record) -> bool:
        """Whether a record has as many cells as there are columns, and a number in one of those asked for."""
        return fits_width(record, self.structure.width) and any(
            has_number_shape(record.cells[at].strip()) for at in self.positions if at
        )

    def _table(self, records: list[Record], lines: Lines) -> Table:
        cells = [[record.cells[index] for index in self.positions] for record in records]

        def place_of(row: int, column: int) -> tuple[int, int]:
            return lines.place(records[row], self.positions[column])

        return tabulate(self.columns, cells, place_of, self.file.shown, self.problems, notation=self.notation)

    def _decoded(self, piece: Piece) -> str | None:
        """The text of a piece; a file taken for UTF-8 by an all-ASCII beginning may turn out to be Latin."""
        if self.file.codec == "utf-8" and not self.fixed_encoding and not self.non_ascii and self.file.head.isascii():
            try:
                piece.data.decode("utf-8")
            except UnicodeDecodeError:
                self.file.encoding = self.file.codec = latin(piece.data)
        self.non_ascii = self.non_ascii or not piece.data.isascii()
        return decoded(piece, self.file, self.problems)
