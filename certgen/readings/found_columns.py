"""The columns a job asks for, found among the headers of a file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from certgen.document.build import Reader
from certgen.document.source import Place
from certgen.document.wording import nearest, short
from certgen.job.columns import COLUMNS
from certgen.job.dialect import IGNORE, FileSource
from certgen.job.table_columns import Column
from certgen.readings.headers import Trouble, matches, with_unit
from certgen.readings.marks import Found, find_marks
from certgen.readings.structure import Structure

_MARKS = {".": "point", ",": "comma", " ": "space", "'": "apostrophe", "": None}


@dataclass(frozen=True)
class FoundColumns:
    """Columns with their units, and the cell of a record in which each stands, from 0."""

    columns: tuple[Column, ...]
    positions: tuple[int, ...]

    @property
    def units(self) -> dict[str, str]:
        """The unit of each column of numbers."""
        return {column.name: column.unit for column in self.columns if column.unit}


def find_columns(
    source: FileSource, structure: Structure, header_place: Callable[[int], Place], shown: str, reader: Reader
) -> FoundColumns | None:
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
        sample = [one.cells[position] for one in structure.sample if position < len(one.cells)]
        heeded = source.dialect.header_units != IGNORE
        found = with_unit(column, structure.headers[position], sample, heeded=heeded)
        if isinstance(found, Trouble):
            what = f"{source.path}.columns.{column.name}: {found.what}"
            reader.problems.add(reader.shown, column.place, what, found.instead)
            continue
        columns.append(found)
        positions.append(position)
    return FoundColumns(tuple(columns), tuple(positions)) if len(columns) == len(source.columns) else None


def _position(
    column: Column, structure: Structure, header_place: Callable[[int], Place], shown: str, reader: Reader
) -> int | None:
    found = matches(column.header, structure.headers)
    if len(found) == 1:
        return found[0]
    if found:
        what = f"the header '{short(column.header)}' stands {len(found)} times"
        reader.problems.add(shown, header_place(found[1]), what, "give each column a header of its own")
        return None
    what = f"there is no column '{short(column.header)}' for '{column.name}'"
    names = [one.text for one in structure.headers if one.text]
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
    found: FoundColumns,
    *,
    cell_place: Callable[[int, int], Place],
    shown: str,
    reader: Reader,
) -> Found:
    """The marks of the numbers in the columns asked for; a number that can be read in two ways is kept as a mistake.

    ``cell_place`` takes the index of a record of the sample and of its cell.
    """
    where = [
        (row, position, column)
        for row, record in enumerate(structure.sample)
        for column, position in zip(found.columns, found.positions, strict=True)
        if COLUMNS[column.name].dimensions and position < len(record.cells)
    ]
    marks = find_marks((structure.sample[row].cells[at] for row, at, _ in where), source.dialect)
    if marks.either is not None:
        row, at, column = where[marks.either]
        text = structure.sample[row].cells[at].strip()
        what = (
            f"'{text}' in column '{column.name}' can be read as {text.replace(',', '.')} or as {text.replace(',', '')}"
        )
        instead = "write 'decimal: comma' or 'thousands: comma' beside the file in the job"
        reader.problems.add(shown, cell_place(row, at), what, instead)
    return marks


def told_mark(sign: str) -> str | None:
    """A mark by its word."""
    return _MARKS[sign]
