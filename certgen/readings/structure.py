"""How a delimited file is built: its delimiter, where its headers, units and numbers stand. Found in its beginning."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from certgen.document.build import Reader
from certgen.document.source import Place
from certgen.document.wording import nearest, short
from certgen.job.columns import COLUMNS, Column
from certgen.job.dialect import DELIMITERS, IGNORE, Dialect, FileSource
from certgen.readings.cells import DROPPED_OUT, EMPTY
from certgen.readings.headers import Header, Trouble, known_unit, matches, parse_header, with_unit
from certgen.readings.marks import SampleMarks, find_marks, has_number_shape
from certgen.readings.records import COMMENTS, SPACES, Lines, Record
from certgen.readings.time_cells import kind_of_time

#: Records in which headers are looked for, and records below them that are looked at.
_BANNER, _SAMPLE = 60, 30
#: Lines from the beginning in which all that is found.
HEADERS_WITHIN = 2 * (_BANNER + _SAMPLE)
#: So many records of numbers in a row are the table, and headers stand above it.
_PAST_THE_HEADERS = 5
_WIDE_SPACES = "  "
#: Delimiters in the order in which they are preferred where the file fits several.
_CANDIDATES = ("\t", ";", ",", "|", SPACES)


@dataclass(frozen=True)
class Structure:
    """What was found; lines are counted from 1, 0 where there is no such line."""

    delimiter: str
    headers: tuple[Header, ...]
    header_line: int
    unit_line: int
    first_line: int  # where the numbers begin
    width: int
    banner: int  # lines passed over above the headers
    comments: tuple[str, ...] = COMMENTS
    sample: tuple[Record, ...] = ()

    @property
    def all_numbers(self) -> bool:
        """Whether every cell of the sample is a number or empty."""
        return self._numbers_from(0)

    @property
    def rest_numbers(self) -> bool:
        """Whether every cell of the sample but the first of a record is a number or empty."""
        return self._numbers_from(1)

    def _numbers_from(self, first: int) -> bool:
        cells = (cell for record in self.sample for cell in record.cells[first:])
        return all(_empty(cell) or has_number_shape(cell.strip()) for cell in cells)


@dataclass(frozen=True)
class _Candidate:
    """One way to cut the file, and how well it fits: headers found, and part of the records that fit below them."""

    structure: Structure
    headers_found: int
    fit: float

    def fits(self, wanted: int) -> bool:
        """Whether nothing could fit better than this."""
        return self.headers_found == wanted and self.fit == 1.0 and self.structure.width > 1

    def worth(self, wanted: int) -> tuple[bool, float, int]:
        return (
            self.headers_found == wanted,
            round((self.headers_found + 0.1) * (self.fit + 0.1), 3),
            self.structure.width,
        )


def find_structure(
    lines: list[str], columns: Sequence[Column], dialect: Dialect, *, delimiter: str | None = None, first: int = 1
) -> Structure | None:
    """The structure under which most of the wanted headers are found above rows of numbers; ``None`` for an empty file.

    Parameters
    ----------
    lines : list of str
        The beginning of the file, with line ends.
    columns : sequence of Column
        What the job asks for.
    dialect : Dialect
        What the job fixes.
    delimiter : str or None
        The delimiter where it is known for another reason.
    first : int
        Number of the first of the lines.
    """
    comments = COMMENTS if dialect.comment is None else (dialect.comment,)
    fixed = delimiter if dialect.delimiter is None else DELIMITERS[dialect.delimiter]

    def cut(mark: str) -> _Candidate | None:
        return _cut(Lines(lines, mark, comments, first), columns, dialect)

    ways = [cut(mark) for mark in (_occurring(lines) if fixed is None else (fixed,))]
    if fixed is None and not any(candidate is not None and candidate.fits(len(columns)) for candidate in ways):
        ways.insert(0, cut(""))
    candidates = [candidate for candidate in ways if candidate is not None]
    if not candidates:
        return None
    best = max(candidates, key=lambda candidate: candidate.worth(len(columns))).structure
    return replace(best, delimiter="") if best.width == 1 and fixed is None else best


def _occurring(lines: list[str]) -> tuple[str, ...]:
    """The delimiters that stand somewhere in the beginning."""
    beginning = "".join(lines[:HEADERS_WITHIN])
    blanks = " " in beginning or "\t" in beginning
    return tuple(delimiter for delimiter in _CANDIDATES if (blanks if delimiter == SPACES else delimiter in beginning))


def _cut(lines: Lines, asked: Sequence[Column], dialect: Dialect) -> _Candidate | None:
    """The file cut by one delimiter."""
    wanted = [column.header for column in asked]
    records = [record for record in _head(lines) if not record.empty]
    if not any(not _comment(record, lines) for record in records):
        return None
    at, headers_found = _header(records, lines, wanted, dialect)
    below = [record for record in records[at + 1 :] if not _comment(record, lines)]
    cells = () if at < 0 else tuple(_uncommented(records[at], lines))
    unit_at = _unit_row(below, dialect) if at >= 0 else None
    data = below[0 if unit_at is None else unit_at + 1 :][:_SAMPLE]
    width = len(cells) or (len(data[0].cells) if data else 0)
    if lines.delimiter == SPACES and at >= 0 and data and width != len(data[0].cells):
        wide = _by_wide_spaces(records[at], lines)
        if len(wide) == len(data[0].cells):
            cells, width = wide, len(wide)
            headers_found = sum(bool(matches(name, [parse_header(cell) for cell in cells])) for name in wanted)
    units = below[unit_at].cells if unit_at is not None else []
    headers = tuple(
        parse_header(cell, units[index] if index < len(units) else "") for index, cell in enumerate(cells)
    ) or tuple(Header(str(number), str(number)) for number in range(1, width + 1))
    above = lines.first - 1 if at < 0 else records[at].last
    last_above = above if unit_at is None else below[unit_at].last
    structure = Structure(
        delimiter=lines.delimiter,
        headers=headers,
        header_line=records[at].first if at >= 0 else 0,
        unit_line=below[unit_at].first if unit_at is not None else 0,
        first_line=last_above + 1,
        width=width,
        banner=sum(not _comment(record, lines) for record in records[: max(at, 0)]),
        comments=lines.comments,
        sample=tuple(data),
    )
    columns = [index for column in asked if column.name != "remark" for index in matches(column.header, headers)]
    if at < 0:
        headers_found = sum(bool(matches(name, headers)) for name in wanted)
    fit = sum(_fits(record, width, columns) for record in data) / len(data) if data else 0.0
    return _Candidate(structure, headers_found, fit)


def _head(lines: Lines) -> list[Record]:
    """The first records, comments among them: a header may begin like one."""
    some = replace(lines, lines=lines.lines[:HEADERS_WITHIN], passed_over=[])
    return list(some.records(strict=False, keep_comments=True))


def _comment(record: Record, lines: Lines) -> bool:
    return lines.comment(lines.lines[record.first - lines.first])


def _uncommented(record: Record, lines: Lines) -> list[str]:
    """The cells of a record without the mark of a comment in the first."""
    first = record.cells[0].lstrip()
    for mark in lines.comments:
        if first.startswith(mark):
            rest = first[len(mark) :].lstrip()
            return [rest, *record.cells[1:]] if rest or lines.delimiter != SPACES else record.cells[1:]
    return record.cells


def _header(records: list[Record], lines: Lines, wanted: Sequence[str], dialect: Dialect) -> tuple[int, int]:
    """Index of the header among the records, -1 where there is none, and how many wanted headers stand in it."""
    if dialect.header_row == 0:
        return -1, 0
    counts = []
    numbers_in_a_row = 0
    for record in records[:_BANNER]:
        numbers_in_a_row = numbers_in_a_row + 1 if _only_numbers(record) else 0
        names = [] if numbers_in_a_row else [parse_header(cell) for cell in _uncommented(record, lines)]
        counts.append(sum(bool(matches(name, names)) for name in wanted))
        enough = counts[-1] == len(wanted) or numbers_in_a_row > _PAST_THE_HEADERS
        if enough and dialect.header_row is None:
            break
    if dialect.header_row is not None:
        fixed = next((index for index, record in enumerate(records) if record.first >= dialect.header_row), 0)
        return fixed, counts[fixed] if fixed < len(counts) else 0
    most = max(counts)
    numbers = next((index for index, record in enumerate(records) if _numbers(record)), None)
    if most and (2 * most >= len(wanted) or numbers is None or counts.index(most) < numbers):
        return counts.index(most), most
    plain = [index for index, record in enumerate(records) if not _comment(record, lines)]
    if numbers is None:
        return plain[0], 0
    above = [index for index in plain if index < numbers and len(records[index].cells) == len(records[numbers].cells)]
    if above:
        return above[0], 0
    return (-1, 0) if numbers == plain[0] else (plain[0], 0)


def _unit_row(below: list[Record], dialect: Dialect) -> int | None:
    """Index of the row of units among the records below the header."""
    if dialect.unit_row == 0 or not below:
        return None
    if dialect.unit_row is not None:
        return next((index for index, record in enumerate(below) if record.first >= dialect.unit_row), None)
    first = below[0].cells
    filled = [cell.strip() for cell in first if not _empty(cell)]
    if any(has_number_shape(cell) for cell in filled if cell != "1"):
        return None
    units = [cell for cell in filled if known_unit(cell) is not None]
    return 0 if set(units) - {"1"} and 2 * len(units) >= len(filled) else None


def _by_wide_spaces(record: Record, lines: Lines) -> tuple[str, ...]:
    """A header cut at two blanks or more, so that its names may hold single ones."""
    text = lines.lines[record.first - lines.first].strip().replace("\t", _WIDE_SPACES)
    cells = [cell.strip() for cell in text.split(_WIDE_SPACES) if cell.strip()]
    return tuple(_uncommented(Record(cells, record.first, record.last), lines)) if cells else ()


def _only_numbers(record: Record) -> bool:
    return all(_empty(cell) or has_number_shape(cell.strip()) for cell in record.cells)


def _numbers(record: Record) -> bool:
    """Whether a record looks like a row of readings."""
    filled = [cell.strip() for cell in record.cells if not _empty(cell)]
    shaped = sum(has_number_shape(cell) or kind_of_time(cell) is not None for cell in filled)
    return shaped > 0 and 2 * shaped >= len(filled)


def _fits(record: Record, width: int, columns: Sequence[int]) -> bool:
    if not fits_width(record, width):
        return False
    return all(
        _empty(record.cells[index])
        or has_number_shape(record.cells[index].strip())
        or kind_of_time(record.cells[index].strip()) is not None
        for index in columns
        if index < len(record.cells)
    )


def fits_width(record: Record, width: int) -> bool:
    """Whether a record has as many cells as there are columns; empty ones behind the last do not count."""
    return len(record.cells) >= width and not any(cell.strip() for cell in record.cells[width:])


def _empty(cell: str) -> bool:
    text = cell.strip()
    return text in EMPTY or text.casefold() in DROPPED_OUT


# The columns a job asks for, found among the headers of a file.


_MARKS = {".": "point", ",": "comma", " ": "space", "'": "apostrophe", "": None}


@dataclass(frozen=True)
class ColumnPositions:
    """Columns with their units, and the cell of a record in which each stands, from 0."""

    columns: tuple[Column, ...]
    positions: tuple[int, ...]

    @property
    def units(self) -> dict[str, str]:
        """The unit of each column of numbers."""
        return {column.name: column.unit for column in self.columns if column.unit}


def find_columns(
    source: FileSource, structure: Structure, header_place: Callable[[int], Place], shown: str, reader: Reader
) -> ColumnPositions | None:
    """Every column of the job in the file, or ``None`` with the problems kept in the reader's.

    Parameters
    ----------
    source, structure
        What the job says, and what was found in the file.
    header_place : callable
        Index of a header to its place in the file.
    shown, reader
        The file's name in messages; the reader of the job, for what is to be mended there.
    """
    columns, positions = [], []
    for column in source.columns:
        position = _position(column, structure, header_place, shown, reader)
        if position is None:
            continue
        sample = [record.cells[position] for record in structure.sample if position < len(record.cells)]
        heeded = source.dialect.header_units != IGNORE
        with_unit_known = with_unit(column, structure.headers[position], sample, heeded=heeded)
        if isinstance(with_unit_known, Trouble):
            what = f"{source.path}.columns.{column.name}: {with_unit_known.what}"
            reader.problems.add(reader.shown, column.place, what, with_unit_known.instead)
            continue
        columns.append(with_unit_known)
        positions.append(position)
    return ColumnPositions(tuple(columns), tuple(positions)) if len(columns) == len(source.columns) else None


def _position(
    column: Column, structure: Structure, header_place: Callable[[int], Place], shown: str, reader: Reader
) -> int | None:
    positions = matches(column.header, structure.headers)
    if len(positions) == 1:
        return positions[0]
    if positions:
        what = f"the header '{short(column.header)}' stands {len(positions)} times"
        reader.problems.add(shown, header_place(positions[1]), what, "give each column a header of its own")
        return None
    what = f"there is no column '{short(column.header)}' for '{column.name}'"
    names = [header.text for header in structure.headers if header.text]
    advice = nearest(column.header, names)
    if not structure.header_line:
        what += ", and the file has no headers"
    reader.problems.add(
        shown, (structure.header_line or 1, 1), what, f"{advice}, or name its header in the job with 'from:'"
    )
    return None


def marks_of(
    source: FileSource,
    structure: Structure,
    located: ColumnPositions,
    *,
    cell_place: Callable[[int, int], Place],
    shown: str,
    reader: Reader,
) -> SampleMarks:
    """The marks of the numbers in the columns asked for; a number that can be read in two ways is kept as a mistake.

    ``cell_place`` takes the index of a record of the sample and of its cell.
    """
    where = [
        (row, position, column)
        for row, record in enumerate(structure.sample)
        for column, position in zip(located.columns, located.positions, strict=True)
        if COLUMNS[column.name].dimensions and position < len(record.cells)
    ]
    texts = (structure.sample[row].cells[at] for row, at, _ in where)
    marks = find_marks(texts, source.dialect, commas_part=structure.delimiter == ",")
    if marks.either is not None:
        row, at, column = where[marks.either]
        text = structure.sample[row].cells[at].strip()
        mark, digits = ("comma" if "," in text else "point"), text.replace(",", ".")
        what = f"'{text}' in column '{column.name}' can be read as {digits} or as {digits.replace('.', '')}"
        instead = f"write 'decimal: {mark}' or 'thousands: {mark}' beside the file in the job"
        reader.problems.add(shown, cell_place(row, at), what, instead)
    return marks


def mark_name(mark: str) -> str | None:
    """A mark by its word."""
    return _MARKS[mark]
