"""Delimited text files: a header line, then one row a line."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from certgen.document.source import Place, Problems, decode
from certgen.document.wording import nearest, short
from certgen.job.table import Column, TableSource
from certgen.readings.cells import tabulate
from certgen.readings.model import Table

MOST_BYTES = 64_000_000
MOST_IN_LINE = 20_000
_DELIMITERS = (",", ";", "\t")
_ENDINGS = (".csv", ".txt", ".tsv", ".dat")
_EMPTY = ("the table is empty", "write a header line and at least one row")
_QUOTED = re.compile(r'"[^"]*+(?:""[^"]*+)*+"')


@dataclass(frozen=True)
class _Record:
    """One record: its cells, and the first and last line it stands in, counted from 1."""

    cells: list[str]
    first: int
    last: int


@dataclass(frozen=True)
class _Text:
    """The lines of one file, how it is called in messages, and where its mistakes are kept."""

    lines: list[str]
    delimiter: str
    shown: str
    problems: Problems

    def place(self, first: int, last: int, cell: int) -> Place:
        """Line and column in which a cell of the record in these lines begins; the last well-formed one at most."""
        record = "".join(self.lines[first - 1 : last])
        starts = _starts(record, self.delimiter)
        start = starts[min(cell, len(starts) - 1)]
        return first + record.count("\n", 0, start), start - record.rfind("\n", 0, start)

    def records(self) -> Iterator[_Record]:
        """The records that hold anything; the rest of a file whose quotes do not close is a mistake."""
        first = 1
        reader = csv.reader(self.lines, delimiter=self.delimiter, skipinitialspace=True, strict=True)
        try:
            for cells in reader:
                if any(cell.strip() for cell in cells):
                    yield _Record(cells, first, reader.line_num)
                first = reader.line_num + 1
        except csv.Error:
            place = self.place(first, len(self.lines), MOST_IN_LINE)
            what = "the quote opened here is not closed at the end of its cell"
            self.problems.add(self.shown, place, what, "close it, or write two quotes where one is meant")


def read_delimited(source: TableSource, data: bytes, shown: str, problems: Problems) -> Table | None:
    """The declared columns of a delimited text file, or ``None`` with the problems kept."""
    text = decode(data, shown, problems)
    file = None if text is None else _open(text, shown, problems)
    if file is None:
        return None
    records = file.records()
    before = len(problems.found)
    header = next(records, None)
    if header is None:
        if len(problems.found) == before:
            problems.add(shown, (1, 1), *_EMPTY)
        return None
    where = [_position(column, header, file) for column in source.columns]
    rows = list(_rows(records, len(header.cells), file))
    if not rows and len(problems.found) == before:
        problems.add(shown, (header.last + 1, 1), "the table is empty", "write at least one row below the header")
    if not rows or None in where:
        return None
    positions = [index for index in where if index is not None]

    def place_of(row: int, column: int) -> Place:
        return file.place(rows[row].first, rows[row].last, positions[column])

    cells = [[row.cells[index] for index in positions] for row in rows]
    return tabulate(source.columns, cells, place_of, shown, problems, log=source.steady is not None)


def read_file(source: TableSource, path: Path, data: bytes, shown: str, problems: Problems) -> Table | None:
    """A readings file by the ending of its name."""
    if path.suffix.lower() not in _ENDINGS:
        what = f"a readings file ending in '{path.suffix[:10]}' cannot be read"
        problems.add(shown, (0, 0), what, "save it as delimited text, for example load_test.csv")
        return None
    return read_delimited(source, data, shown, problems)


def _open(text: str, shown: str, problems: Problems) -> _Text | None:
    lines = ["\n" if line.startswith("#") else line for line in io.StringIO(text, newline="")]  # '#': a comment
    too_long = next((number for number, line in enumerate(lines, start=1) if len(line) > MOST_IN_LINE), None)
    if too_long is not None:
        what = f"the line has more than {MOST_IN_LINE} characters"
        problems.add(shown, (too_long, 1), what, "write one row a line, with the columns that were measured")
        return None
    header = next((line for line in lines if line.strip(",; \t\r\n")), None)
    if header is None:
        problems.add(shown, (1, 1), *_EMPTY)
        return None
    return _Text(lines, _delimiter(header), shown, problems)


def _delimiter(header: str) -> str:
    """The sign that cuts a header into the most cells."""
    return max(_DELIMITERS, key=lambda sign: len(next(csv.reader([header], delimiter=sign, skipinitialspace=True))))


def _rows(records: Iterator[_Record], width: int, file: _Text) -> Iterator[_Record]:
    """The records below the header; one of another width is a mistake."""
    for record in records:
        if len(record.cells) == width:
            yield record
        else:
            what = f"the line has {len(record.cells)} cells for {width} columns"
            file.problems.add(file.shown, (record.first, 1), what, "give every line as many cells as the header")


def _position(column: Column, header: _Record, file: _Text) -> int | None:
    names = [cell.strip() for cell in header.cells]
    found = [index for index, name in enumerate(names) if name == column.header]
    if len(found) == 1:
        return found[0]
    if found:
        what = f"the header '{short(column.header)}' stands {len(found)} times"
        place = file.place(header.first, header.last, found[1])
        file.problems.add(file.shown, place, what, "give each column a header of its own")
    else:
        what = f"there is no column '{short(column.header)}' for '{column.name}'"
        advice = nearest(column.header, [name for name in names if name])
        file.problems.add(file.shown, (header.first, 1), what, f"{advice}, or name its header in the job with 'from:'")
    return None


def _starts(record: str, delimiter: str) -> Sequence[int]:
    """Where the cells of a record begin, up to the first one whose quotes are wrong."""
    spaces, end_of_cell = re.compile(" *"), re.compile(f"[{delimiter}\r\n]")
    starts: list[int] = []
    at = 0
    while True:
        at = spaces.match(record, at).end()  # type: ignore[union-attr]  # matches anywhere
        starts.append(at)
        quoted = _QUOTED.match(record, at)
        if quoted is None and record.startswith('"', at):
            return starts
        at = at if quoted is None else quoted.end()
        end = end_of_cell.search(record, at)
        if end is None or end[0] != delimiter or (quoted is not None and end.start() > at):
            return starts
        at = end.end()
