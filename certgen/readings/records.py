"""Lines of a delimited text as records of cells, each with its place."""

from __future__ import annotations

import csv
import io
import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from certgen.document.source import Place, Problems

MOST_IN_LINE = 20_000
SPACES = " "
_BLANKS = " \t"
#: How a comment line begins where the job does not say.
COMMENTS = ("#", "%", "//", "!")

_QUOTED = re.compile(r'"[^"]*+(?:""[^"]*+)*+"')
_WORD = re.compile(r'"[^"]*"|\S+')


@dataclass(frozen=True)
class Record:
    """One record: its cells, and the first and last line it stands in, counted from 1."""

    cells: list[str]
    first: int
    last: int

    @property
    def empty(self) -> bool:
        """Whether nothing stands in it."""
        return not any(cell.strip() for cell in self.cells)


@dataclass
class Lines:
    """Some lines of a file: the number of the first of them, how cells are parted, and what begins a comment."""

    lines: list[str]
    delimiter: str
    comments: tuple[str, ...] = COMMENTS
    first: int = 1
    passed_over: list[int] = field(default_factory=list)  # numbers of the comment lines met so far

    def place(self, record: Record, cell: int) -> Place:
        """Line and column in which a cell of a record begins; the last well-formed one at most."""
        text = "".join(self.lines[record.first - self.first : record.last - self.first + 1])
        starts = _starts(text, self.delimiter)
        start = starts[min(cell, len(starts) - 1)]
        return record.first + text.count("\n", 0, start), start - text.rfind("\n", 0, start)

    def comment(self, line: str) -> bool:
        """Whether a line is a comment; one behind an empty first cell is none."""
        blanks = None if self.delimiter == SPACES else _BLANKS.replace(self.delimiter, "")
        return line.lstrip(blanks).startswith(self.comments)

    def records(self, *, strict: bool = True, keep_comments: bool = False) -> Iterator[Record]:
        """The records in turn, empty ones too.

        Raises
        ------
        csv.Error
            Where ``strict``, at a quote that is not closed at the end of its cell.
        """
        if self.delimiter == SPACES:
            yield from self._words(keep_comments=keep_comments)
            return
        at = 0
        begins = True

        def feed() -> Iterator[str]:
            nonlocal at, begins
            for line in self.lines:
                at += 1
                if begins and not keep_comments and self.comment(line):
                    self.passed_over.append(self.first + at - 1)
                    continue
                begins = False
                yield line

        reader = csv.reader(feed(), delimiter=self.delimiter or "\x1f", skipinitialspace=True, strict=strict)
        fed = 0
        for cells in reader:
            took, fed = reader.line_num - fed, reader.line_num
            begins = True
            last = self.first + at - 1
            yield Record(cells, last - took + 1, last)

    def _words(self, *, keep_comments: bool) -> Iterator[Record]:
        for number, line in enumerate(self.lines, start=self.first):
            if not keep_comments and self.comment(line):
                self.passed_over.append(number)
                continue
            yield Record([word.strip('"') for word in _WORD.findall(line)], number, number)


def lines_of(text: str, shown: str, problems: Problems, first: int = 1, most: int | None = None) -> list[str] | None:
    """The lines of a text with their ends, all or so many of them, or ``None`` where one is too long."""
    lines = list(itertools.islice(io.StringIO(text, newline=""), most))
    too_long = next((number for number, line in enumerate(lines, start=first) if len(line) > MOST_IN_LINE), None)
    if too_long is None:
        return lines
    what = f"the line has more than {MOST_IN_LINE} characters"
    problems.add(shown, (too_long, 1), what, "write one row a line, with the columns that were measured")
    return None


def report_unclosed(lines: Lines, first: int, shown: str, problems: Problems) -> None:
    """Keep the quote that is not closed, in the record that begins in the given line, as a mistake."""
    place = lines.place(Record([], first, lines.first + len(lines.lines) - 1), MOST_IN_LINE)
    what = "the quote opened here is not closed at the end of its cell"
    problems.add(shown, place, what, "close it, or write two quotes where one is meant")


def _starts(record: str, delimiter: str) -> Sequence[int]:
    """Where the cells of a record begin, up to the first one whose quotes are wrong."""
    if delimiter == SPACES:
        return [match.start() for match in _WORD.finditer(record)] or [0]
    spaces, end_of_cell = re.compile(" *"), re.compile(f"[{re.escape(delimiter)}\r\n]")
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
