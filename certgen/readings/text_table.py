"""A delimited text file as a table in SI, with all that was found in it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from certgen.document.build import Reader
from certgen.document.source import Place
from certgen.job.dialect import DELIMITERS, FileSource
from certgen.readings.cells import Notation
from certgen.readings.delimited import RowReader
from certgen.readings.found_columns import find_columns, marks_of, told_mark
from certgen.readings.model import FileRead, Table
from certgen.readings.records import Lines, Record, lines_of
from certgen.readings.structure import HEADERS_WITHIN, Structure, find_structure
from certgen.readings.text_file import Piece, TextFile, decoded

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
    told: FileRead


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
    structure = find_structure(lines, source.columns, source.dialect)
    if structure is None or not structure.headers or not any(one.text for one in structure.headers):
        problems.add(shown, (1, 1), *_EMPTY)
        return None
    cut = Lines(lines, structure.delimiter, structure.comments)

    def header_place(index: int) -> Place:
        line = structure.header_line
        return cut.place(Record([], line, line), index) if line else (1, 1)

    before = len(problems.found)
    found = find_columns(source, structure, header_place, shown, reader)
    if found is None:
        if not _any_row(lines, structure):
            _no_rows(structure, file, reader, before)
        return None
    sampled = replace(structure, sample=_sample(lines, structure))
    marks = marks_of(
        source,
        sampled,
        found,
        cell_place=lambda row, cell: cut.place(sampled.sample[row], cell),
        shown=shown,
        reader=reader,
    )
    if marks.either is not None:
        return None
    rows = RowReader(
        file,
        structure,
        found.columns,
        found.positions,
        Notation.of(found.columns, marks.marks, log=source.log),
        problems,
        fixed_encoding=source.dialect.encoding is not None,
    )
    skip = len("".join(lines[: structure.first_line - 1]).encode(file.codec))
    table = rows.read(skip)
    if not table.rows:
        _no_rows(structure, file, reader, before)
        return None
    time = rows.notation.time
    told = FileRead(
        table=source.path,
        file=source.file.name,
        encoding=file.encoding,
        delimiter=next((word for word, sign in DELIMITERS.items() if sign == structure.delimiter), None),
        decimal=told_mark(marks.marks.decimal),
        thousands=told_mark(marks.marks.thousands),
        header_row=structure.header_line or None,
        unit_row=structure.unit_line or None,
        units=found.units,
        rows=table.rows,
        skipped=_above(lines, structure) + rows.comments,
    )
    return LoadedFile(table, found.units.get("time", ""), time.zoned if time else None, told)


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
