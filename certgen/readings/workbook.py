"""A sheet of a workbook (.xlsx, .ods) as a table in SI; formulas count as the values saved with them."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from certgen.document.build import Reader
from certgen.document.source import Place
from certgen.document.wording import nearest
from certgen.job.dialect import DECIMALS, THOUSANDS, FileSource
from certgen.readings.cells import Notation, tabulate
from certgen.readings.found_columns import find_columns
from certgen.readings.marks import NumberMarks
from certgen.readings.model import FileRead
from certgen.readings.records import Record
from certgen.readings.sheet_area import check_area
from certgen.readings.structure import find_structure
from certgen.readings.text_table import LoadedFile
from certgen.readings.zipped import BadArchive, packed_again, unpacked

MOST_BYTES = 32_000_000

_OLD_OR_LOCKED = b"\xd0\xcf\x11\xe0"
_RANGE = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6}):([A-Z]{1,3})([1-9][0-9]{0,6})")
_BETWEEN = "\x1f"
_BREAKS = re.compile('[\x1f\r\n"]')
_WHOLE = 1e15
_SAVE = "save it again as .xlsx without a password, or as delimited text"


@dataclass(frozen=True)
class _Grid:
    """The cells of a range as texts, and the row and column of its first, from 1."""

    rows: list[list[str]]
    row: int
    column: int

    def place(self, row: int, cell: int) -> Place:
        """Row and column of a cell in its sheet; ``row`` is counted there."""
        return row, self.column + cell


def read_workbook(source: FileSource, data: bytes, shown: str, reader: Reader) -> LoadedFile | None:
    """The declared columns of a sheet, or ``None`` with the problems kept."""
    marks = NumberMarks(DECIMALS[source.dialect.decimal or "point"], THOUSANDS[source.dialect.thousands or "none"])
    try:
        sheet = _sheet(source, data, shown, reader)
        grid = None if sheet is None else _grid(source, sheet, marks.decimal, reader)
    except BadArchive as cause:
        reader.problems.add(shown, (0, 0), str(cause), _SAVE)
        return None
    if sheet is None or grid is None:
        return None
    lines = [_BETWEEN.join(_BREAKS.sub(" ", cell) for cell in row) + "\n" for row in grid.rows]
    structure = find_structure(lines, source.columns, source.dialect, delimiter=_BETWEEN, first=grid.row)
    if structure is None:
        reader.problems.add(shown, (grid.row, grid.column), f"the sheet '{sheet.name}' is empty", "name another sheet")
        return None
    found = find_columns(source, structure, lambda cell: grid.place(structure.header_line, cell), shown, reader)
    if found is None:
        return None
    records = [Record(cells, number, number) for number, cells in enumerate(grid.rows, start=grid.row)]
    below = [one for one in records if one.first >= structure.first_line and not one.empty]
    rows = [one for one in below if not one.cells[0].startswith(structure.comments) or any(one.cells[1:])]
    if not rows:
        what = "the table is empty"
        reader.problems.add(shown, (structure.first_line, grid.column), what, "write at least one row below the header")
        return None
    notation = Notation.of(found.columns, marks, log=source.log)
    table = tabulate(
        found.columns,
        [[one.cells[at] for at in found.positions] for one in rows],
        lambda row, cell: grid.place(rows[row].first, found.positions[cell]),
        shown,
        reader.problems,
        notation=notation,
    )
    told = FileRead(
        table=source.path,
        file=source.file.name,
        sheet=sheet.name,
        cells=source.dialect.range,
        header_row=structure.header_line or None,
        unit_row=structure.unit_line or None,
        units=found.units,
        rows=table.rows,
        skipped=structure.banner + len(below) - len(rows),
    )
    zoned = notation.time.zoned if notation.time else None
    return LoadedFile(table, found.units.get("time", ""), zoned, told)


def _sheet(source: FileSource, data: bytes, shown: str, reader: Reader) -> Any:
    """The sheet asked for, out of an archive in which everything was looked at; ``None`` with the problem kept."""
    if data.startswith(_OLD_OR_LOCKED):
        raise BadArchive("the workbook is locked with a password, or of an older kind that is not read here")
    parts = unpacked(data)
    if b"encryption-data" in parts.get("META-INF/manifest.xml", b""):
        raise BadArchive("the workbook is locked with a password")
    check_area(parts)
    import python_calamine

    try:
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(packed_again(parts)))
        names = list(book.sheet_names)
        wanted = source.dialect.sheet
        if wanted is None and len(names) == 1:
            return book.get_sheet_by_index(0)
        if wanted in names:
            return book.get_sheet_by_name(wanted)
    except BaseException as cause:  # a panic of the parser is no Exception
        if isinstance(cause, (KeyboardInterrupt, SystemExit, MemoryError)):
            raise
        raise BadArchive("the workbook is broken and cannot be read") from cause
    if wanted is None:
        what, instead = f"the workbook has {len(names)} sheets", f"name one beside the file, 'sheet: {names[0][:40]}'"
        reader.problems.add(shown, (0, 0), what, instead)
    else:
        reader.wrong_at(f"{source.path}.sheet", f"there is no sheet '{wanted}' in {shown}", nearest(wanted, names))
    return None


def _grid(source: FileSource, sheet: Any, decimal: str, reader: Reader) -> _Grid | None:
    """The cells of the range asked for, else of the whole sheet."""
    try:
        values: list[list[Any]] = sheet.to_python(skip_empty_area=False)
    except BaseException as cause:
        if isinstance(cause, (KeyboardInterrupt, SystemExit, MemoryError)):
            raise
        raise BadArchive("the sheet is broken and cannot be read") from cause
    asked = source.dialect.range
    if asked is None:
        return _Grid([[_text(value, decimal) for value in row] for row in values], 1, 1)
    match = _RANGE.fullmatch(asked.replace("$", "").upper())
    corners = None if match is None else (_number(match[1]), int(match[2]), _number(match[3]), int(match[4]))
    if corners is None or corners[0] > corners[2] or corners[1] > corners[3]:
        reader.wrong_at(f"{source.path}.range", f"'{asked}' is no range of cells", "write it as B4:H20")
        return None
    left, top, right, bottom = corners
    rows = [row[left - 1 : right] for row in values[top - 1 : bottom]]
    return _Grid([[_text(value, decimal) for value in row] for row in rows], top, left)


def _number(letters: str) -> int:
    """The number of a column by its letters, A is 1."""
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number


def _text(value: Any, decimal: str) -> str:
    """A cell as text, as the readings room reads it everywhere."""
    match value:
        case bool():
            return str(value)
        case float():
            plain = str(int(value)) if value.is_integer() and abs(value) < _WHOLE else repr(value)
            return plain.replace(".", decimal)
        case datetime():
            return value.isoformat(sep=" ")
        case date() | time():
            return value.isoformat()
        case timedelta():
            seconds, part = value.days * 86400 + value.seconds, value.microseconds
            text = f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
            return f"{text}.{part:06}" if part else text
        case _:
            return str(value)
