"""Delimited text files of any common kind: headers somewhere near the top, then one row a line."""

from __future__ import annotations

import csv
import itertools
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from certgen.document.build import Reader
from certgen.document.source import Place, Problems
from certgen.errors import MOST_REPORTED
from certgen.job.columns import WRITTEN_TIMES, Column
from certgen.job.dialect import DELIMITERS, FileSource
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.readings.bulk import BulkReader, Parsed
from certgen.readings.cells import Notation, tabulate
from certgen.readings.marks import has_number_shape
from certgen.readings.model import FileRead, NoRemarks, Table
from certgen.readings.records import COMMENTS, SPACES, Lines, Record, lines_of, report_unclosed
from certgen.readings.structure import (
    HEADERS_WITHIN,
    Structure,
    find_columns,
    find_structure,
    fits_width,
    mark_name,
    marks_of,
)
from certgen.readings.text_file import (
    Piece,
    TextFile,
    decoded,
    ends,
    latin,
    without_blank_lines,
    without_last_lines,
)

if TYPE_CHECKING:
    from concurrent.futures import Future


# A long table gathered piece by piece without ever standing in memory twice.


_SPARE = 1.02
_GROWTH = 1.5
_LEAST = 1000
_LARGEST_KEPT = 32_000_000  # bytes


def keep_freed_blocks() -> None:
    """Have the C library keep blocks of some megabytes for the next of their size, where it adapts to what is freed.

    glibc returns larger blocks than any freed before to the system at once; to get them back, page by page, takes longer
    than to fill them with numbers. This is the largest that it heeds (M_MMAP_THRESHOLD in its manual page mallopt(3)).
    """
    np.empty(_LARGEST_KEPT, np.uint8)


class Gathered:
    """Grows by rows of the same k columns; ``size`` is that of the whole file, by which room is made once. [bytes]

    All columns stand in one array: a system that hands out memory in large pages does so for large arrays only.
    """

    def __init__(self, columns: Sequence[Column], size: int) -> None:
        self.size = size
        self.rows = 0
        self.remarks: list[str] = []
        self.written = any(column.name == "remark" for column in columns)
        self.names = tuple(column.name for column in columns if column.name != "remark")
        self.room: Array = np.empty((len(self.names), 0))

    def add(self, values: Array, remarks: Sequence[str], data: int) -> None:
        """Add the rows read from some of the file's bytes, given by their number; ``values`` has shape (k, rows)."""
        rows = values.shape[1]
        end = self.rows + rows
        if self.room.shape[1] < end:
            self.room = self._wider(end, rows * self.size / max(data, 1))
        self.room[:, self.rows : end] = values
        self.rows = end
        if self.written:
            self.remarks.extend(remarks)

    def add_table(self, table: Table, data: int) -> None:
        """The same for rows that are a table already."""
        values = np.array([table.columns[name] for name in self.names]).reshape(len(self.names), table.rows)
        self.add(values, table.remarks, data)

    def _wider(self, end: int, expected: float) -> Array:
        """More room: for the whole file as the first piece lets expect, or half as much again."""
        wanted = int(end * _GROWTH) if self.rows else max(end, int(expected * _SPARE))
        wider = np.empty((len(self.names), wanted + _LEAST))
        wider[:, : self.rows] = self.room[:, : self.rows]
        return wider

    def table(self) -> Table:
        """Everything added."""
        remarks = tuple(self.remarks) if self.written else NoRemarks(self.rows)
        return Table({name: values[: self.rows] for name, values in zip(self.names, self.room, strict=True)}, remarks)


# Delimited text files of any common kind: headers somewhere near the top, then one row a line.


_THREADS = 2
_ROWS_AT_ONCE = 20_000
#: So many lines of a log, or one in so many, may be cut short: the logger was switched off, or its card was pulled.
_FEW_CUT_SHORT, _CUT_SHORT_ONE_IN = 5, 1000


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
    headers_again: int = 0
    cut_short: list[Place] = field(default_factory=list)  # lines of a log with a cell too few
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
            if len(self.problems.found) <= MOST_REPORTED and not self.broken:
                for written in without_blank_lines(piece):
                    for part in self._by_cell(written):
                        gathered.add_table(part, size)
        self._judge_cut_short(gathered.rows)
        return gathered.table()

    def _judge_cut_short(self, rows: int) -> None:
        """A few lines of a log that end too soon are left out; many are a file that is not what it seems."""
        if len(self.cut_short) <= max(_FEW_CUT_SHORT, rows // _CUT_SHORT_ONE_IN):
            return
        for place in self.cut_short[:MOST_REPORTED]:
            self._wrong_width(place, 0)
        self.cut_short = []

    @property
    def notes(self) -> tuple[Message, ...]:
        """What was left out of the rows, to be reported."""
        found = (("cut_short", len(self.cut_short)), ("headers_again", self.headers_again))
        return tuple(
            Message(f"files.{what}_once") if count == 1 else Message(f"files.{what}", count=count)
            for what, count in found
            if count
        )

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
            tuple(mark.encode() for mark in self.structure.comments if not (all_numbers and mark in COMMENTS)),
            all_numbers,
            self.file.codec,
            self.notation.log,
            self.notation.missing,
            self._times_first and not all_numbers and self.structure.rest_numbers,
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

    @property
    def _times_first(self) -> bool:
        """Whether times that are no plain count stand in the first cell of each line."""
        named = dict(zip(self.positions, self.columns, strict=True))
        return 0 in named and named[0].unit in WRITTEN_TIMES and self.structure.delimiter not in ("", SPACES)

    def _cells_a_line(self) -> int:
        """Cells of a line of numbers, which may end with a delimiter behind the last column."""
        widths = {len(record.cells) for record in self.structure.sample}
        return widths.pop() if len(widths) == 1 else self.structure.width

    def _by_cell(self, piece: Piece) -> Iterator[Table]:
        text = self._decoded(piece)
        shown = self.file.shown
        cut_lines = None if text is None else lines_of(text, shown, self.problems, piece.first)
        if cut_lines is None:
            return
        comments = () if self._remarks_first else self.structure.comments
        lines = Lines(cut_lines, self.structure.delimiter, comments, piece.first)
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
            report_unclosed(lines, begin, shown, self.problems)
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
        if self._is_header(record):
            self.headers_again += 1
            return False
        if fits_width(record, self.structure.width):
            return True
        if self.notation.log and len(record.cells) < self.structure.width:
            self.cut_short.append((record.first, 1))
        else:
            self._wrong_width((record.first, 1), len(record.cells))
        return False

    def _is_header(self, record: Record) -> bool:
        """Whether a record is the line of the headers once more, as a logger writes it where it begins anew."""
        headers = self.structure.headers
        if not self.structure.header_line or has_number_shape(record.cells[-1].strip()):
            return False
        texts = [" ".join(cell.split()) for cell in record.cells]
        return texts == [header.text for header in headers] and any(texts)

    def _wrong_width(self, place: Place, cells: int) -> None:
        has = f"has {cells} cells" if cells else "has too few cells"
        what = f"the line {has} for {self.structure.width} columns"
        instead = (
            "give every line as many cells as the header; lines behind the last row are passed over by 'skip_footer: 1'"
        )
        self.problems.add(self.file.shown, place, what, instead)

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


# A delimited text file as a table in SI, with all that was found in it.


_EMPTY = ("the table is empty", "write a header line and at least one row")
_NO_ROWS = ("the table is empty", "write at least one row below the header")
#: Numbers that are looked at for their decimal mark.
_SAMPLE_LINES = 500


@dataclass(frozen=True)
class LoadedFile:
    """One readings file in SI: its time as read, what that is, and what was found in the file."""

    table: Table
    time_unit: str
    zoned: bool | None
    file_read: FileRead


def read_text_table(source: FileSource, file: TextFile, reader: Reader) -> LoadedFile | None:
    """The declared columns of a delimited text file, or ``None`` with the problems kept."""
    shown, problems = file.shown, reader.problems
    text = decoded(Piece(_head(file), 1), file, problems)
    lines = None if text is None else lines_of(text, shown, problems, most=HEADERS_WITHIN + _SAMPLE_LINES)
    if lines is None:
        return None
    if not any(line.strip(",; \t\r\n") for line in lines):
        problems.add(shown, (1, 1), *_EMPTY)
        return None
    if source.dialect.skip_footer:
        file = replace(file, data=without_last_lines(file.data, source.dialect.skip_footer))
    structure = find_structure(lines, source.columns, source.dialect)
    if structure is None or not structure.headers or not any(header.text for header in structure.headers):
        problems.add(shown, (1, 1), *_EMPTY)
        return None
    cut = Lines(lines, structure.delimiter, structure.comments)

    def header_place(index: int) -> Place:
        line = structure.header_line
        return cut.place(Record([], line, line), index) if line else (1, 1)

    before = len(problems.found)
    columns_found = find_columns(source, structure, header_place, shown, reader)
    if columns_found is None:
        if not _any_row(lines, structure):
            _no_rows(structure, file, reader, before)
        return None
    sampled = replace(structure, sample=_sample(lines, structure))
    marks = marks_of(
        source,
        sampled,
        columns_found,
        cell_place=lambda row, cell: cut.place(sampled.sample[row], cell),
        shown=shown,
        reader=reader,
    )
    if marks.either is not None:
        return None
    rows = RowReader(
        file,
        structure,
        columns_found.columns,
        columns_found.positions,
        Notation.of(columns_found.columns, marks.marks, log=source.log, dialect=source.dialect),
        problems,
        fixed_encoding=source.dialect.encoding is not None,
    )
    skip = len("".join(lines[: structure.first_line - 1]).encode(file.codec))
    table = rows.read(skip)
    if not table.rows:
        _no_rows(structure, file, reader, before)
        return None
    time = rows.notation.time
    file_read = FileRead(
        table=source.path,
        file=source.file.name,
        encoding=file.encoding,
        delimiter=next((word for word, character in DELIMITERS.items() if character == structure.delimiter), None),
        decimal=mark_name(marks.marks.decimal),
        thousands=mark_name(marks.marks.thousands),
        header_row=structure.header_line or None,
        unit_row=structure.unit_line or None,
        units=columns_found.units,
        rows=table.rows,
        skipped=_above(lines, structure) + rows.comments + rows.headers_again + (source.dialect.skip_footer or 0),
        notes=rows.notes,
    )
    return LoadedFile(table, columns_found.units.get("time", ""), time.zoned if time else None, file_read)


def _head(file: TextFile) -> bytes:
    """The head up to its last whole line."""
    return file.head if file.whole else file.head[: file.head.rfind(b"\n") + 1] or file.head


def _sample(lines: list[str], structure: Structure) -> tuple[Record, ...]:
    """Many records below the headers, to see how their numbers are written."""
    begin = structure.first_line - 1
    some = Lines(lines[begin : begin + _SAMPLE_LINES], structure.delimiter, structure.comments, structure.first_line)
    return tuple(record for record in some.records(strict=False) if not record.empty)


def _any_row(lines: list[str], structure: Structure) -> bool:
    return any(line.strip() for line in lines[structure.first_line - 1 :])


def _no_rows(structure: Structure, file: TextFile, reader: Reader, before: int) -> None:
    if len(reader.problems.found) == before:
        reader.problems.add(file.shown, (structure.first_line, 1), *_NO_ROWS)


def _above(lines: list[str], structure: Structure) -> int:
    """Lines above the numbers that hold something and are neither headers nor units."""
    kept = {structure.header_line, structure.unit_line}
    above = enumerate(lines[: structure.first_line - 1], start=1)
    return sum(bool(line.strip()) and number not in kept for number, line in above)
