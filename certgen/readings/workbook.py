"""A sheet of a workbook (.xlsx, .ods) as a table in SI; formulas count as the values saved with them."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import reduce
from typing import Any
from xml.parsers import expat

from certgen.document.build import Reader
from certgen.document.source import Place
from certgen.document.wording import nearest
from certgen.job.dialect import DECIMALS, THOUSANDS, FileSource
from certgen.readings.cells import Notation, tabulate
from certgen.readings.delimited import LoadedFile
from certgen.readings.marks import NumberMarks
from certgen.readings.model import FileRead
from certgen.readings.records import Record
from certgen.readings.structure import find_columns, find_structure

# A zip archive of XML looked at before anything in it is unpacked, and unpacked within bounds.


#: A workbook of 200,000 rows by six columns unpacks to about 60 MB of XML, some 10 to 20 times its size.
MOST_PARTS = 2000
MOST_UNPACKED = 200_000_000
MOST_RATIO = 200
#: Below this size nothing is a bomb: a short sheet of equal cells packs well.
_HARMLESS = 2_000_000

_PIECE = 1 << 20
_NEEDED = (".xml", ".rels", "mimetype")
#: Parts that no reading needs: programs, and links to other files.
_LEFT_OUT = re.compile(r"vbaProject|externalLink|/embeddings/|/media/|Basic/|Scripts/|Object ", re.IGNORECASE)
_ENTITY = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)


class BadArchive(ValueError):
    """The archive is refused; the message says why, in words for the user."""


def unpacked(data: bytes) -> dict[str, bytes]:
    """The XML parts of an archive by name.

    Raises
    ------
    BadArchive
        Broken, encrypted, too large when unpacked (by its directory or in fact), or with XML that declares entities.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
            _check_directory(infos)
            return _parts(archive, infos)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError, RuntimeError, ValueError) as cause:
        if isinstance(cause, BadArchive):
            raise
        raise BadArchive("the file is broken and cannot be unpacked") from cause


def _check_directory(infos: list[zipfile.ZipInfo]) -> None:
    if len(infos) > MOST_PARTS:
        raise BadArchive(f"the file holds {len(infos)} parts, more than a workbook has")
    if any(info.flag_bits & 0x1 for info in infos):
        raise BadArchive("the file is locked with a password")
    _check_size(sum(info.file_size for info in infos), sum(info.compress_size for info in infos))


def _check_size(unpacked_size: int, packed: int) -> None:
    if unpacked_size > MOST_UNPACKED:
        raise BadArchive(f"the file unpacks to more than {MOST_UNPACKED // 1_000_000} MB")
    if unpacked_size > _HARMLESS and unpacked_size > MOST_RATIO * max(packed, 1):
        raise BadArchive(f"the file unpacks to more than {MOST_RATIO} times its size")


def _parts(archive: zipfile.ZipFile, infos: list[zipfile.ZipInfo]) -> dict[str, bytes]:
    """Every needed part; what really comes out counts, not what the directory says."""
    parts: dict[str, bytes] = {}
    total = packed = 0
    for info in infos:
        if not info.filename.endswith(_NEEDED) or _LEFT_OUT.search(info.filename):
            continue
        if info.filename in parts:
            raise BadArchive(f"the part '{info.filename[:60]}' stands twice in the file")
        packed += info.compress_size
        pieces = []
        with archive.open(info) as part:
            while piece := part.read(_PIECE):
                total += len(piece)
                _check_size(total, packed)
                pieces.append(piece)
        parts[info.filename] = b"".join(pieces)
        if _ENTITY.search(parts[info.filename][:4096]):
            raise BadArchive(f"the part '{info.filename[:60]}' declares entities, which no workbook needs")
    return parts


def packed_again(parts: dict[str, bytes]) -> bytes:
    """An archive of the parts given and no others, so that whoever reads it meets only what was looked at."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:
        for name, data in parts.items():
            archive.writestr(zipfile.ZipInfo(name), data)
    return target.getvalue()


# How many cells a sheet spans, from its XML: one cell in a far corner makes a table of billions.
#
# Names and attributes are taken as they are spelt, as the library that reads the cells takes them, and in every part,
# as any part may be named as a sheet.


MOST_CELLS = 20_000_000
MOST_ATTRIBUTES = 200
_FEW = 16

_DIGITS, _LONGEST = "0123456789", 8  # of a row's number
_LETTERS = re.compile("[A-Z]{0,3}")
_CELLS = ("table:table-cell", "table:covered-table-cell")


def check_area(parts: Mapping[str, bytes]) -> None:
    """Refuse a workbook with a sheet that spans too many cells.

    Raises
    ------
    BadArchive
        A sheet spans more than ``MOST_CELLS``, has a cell outside any sheet, or a part is no plain XML.
    """
    for name, data in parts.items():
        if name == "mimetype":
            continue
        span: _Addresses | _Repeats = _Repeats() if name == "content.xml" else _Addresses()
        _parse(data, span)
        span.check()


def _parse(data: bytes, span: _Addresses | _Repeats) -> None:
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = span.begin
    parser.EndElementHandler = span.end
    parser.StartDoctypeDeclHandler = _refuse_declarations
    try:
        parser.Parse(data, True)
    except (expat.ExpatError, ValueError, LookupError) as cause:  # of an encoding nobody knows
        if isinstance(cause, BadArchive):
            raise
        raise BadArchive("the workbook is broken and cannot be read") from cause


def _refuse_declarations(*_: Any) -> None:
    raise BadArchive("a part of the file declares entities, which no workbook needs")


def _require_room(rows: int, columns: int) -> None:
    if rows * columns > MOST_CELLS:
        raise BadArchive(f"a sheet spans {rows} rows by {columns} columns")


def _require_few(attributes: Mapping[str, str]) -> None:
    if len(attributes) > MOST_ATTRIBUTES:
        raise BadArchive("a part of the file has hundreds of attributes in one element")


def _require_true_counts(attributes: Mapping[str, str]) -> None:
    """Room is made for as many texts as a workbook says it has."""
    for name in ("count", "uniqueCount"):
        text = attributes.get(name, "0")
        if not text.isascii() or not text.isdigit() or len(text) > 9 or int(text) > MOST_CELLS:
            raise BadArchive(f"the workbook says that it has {text[:20]} texts")


class _Addresses:
    """The last row and column of an .xlsx sheet; cells without an address stand one after the other."""

    def __init__(self) -> None:
        self.rows = self.columns = self._row = self._column = 0
        self._known: dict[str, int] = {}

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        """Take the address of a row or a cell."""
        if len(attributes) > _FEW:
            _require_few(attributes)
        kind = name.rpartition(":")[2]
        if kind == "sst":
            _require_true_counts(attributes)
        if kind == "c":
            self._column += 1
        elif kind == "row":
            self._row, self._column = self._row + 1, 0
        else:
            return
        address = attributes.get("r")
        if address is not None:
            self._go_to(address)
        self.rows = max(self.rows, self._row)
        self.columns = max(self.columns, self._column)

    def end(self, name: str) -> None:
        """Nothing follows from an end."""

    def _go_to(self, address: str) -> None:
        letters = address.rstrip(_DIGITS)
        digits = address[len(letters) :]
        if letters not in self._known:
            if _LETTERS.fullmatch(letters) is None:
                raise BadArchive(f"a cell of a sheet has the address '{address[:20]}'")
            self._known[letters] = reduce(lambda number, letter: 26 * number + ord(letter) - 64, letters, 0)
        if not 0 < len(digits) < _LONGEST or digits[0] == "0":
            raise BadArchive(f"a cell of a sheet has the address '{address[:20]}'")
        self._row = int(digits)
        if letters:
            self._column = self._known[letters]

    def check(self) -> None:
        """Refuse a span too large."""
        _require_room(self.rows, self.columns)


class _Repeats:
    """The span of each sheet of an .ods file, with what is repeated counted as often as it stands."""

    def __init__(self) -> None:
        self._rows = self._columns = self._blank_rows = 0
        self._column = self._blank = self._times = 0

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        """Count a cell, a row; begin a sheet anew."""
        if len(attributes) > _FEW:
            _require_few(attributes)
        if name in _CELLS:
            times = _repeated(attributes, "columns")
            if len(attributes) > ("table:number-columns-repeated" in attributes):  # a value, a formula, perhaps a style
                self._column, self._blank = self._column + self._blank + times, 0
            else:
                self._blank += times
            _require_room(1, self._column)
        elif name == "table:table-row":
            self._column = self._blank = 0
            self._times = _repeated(attributes, "rows")
        elif name == "table:table":
            self._rows = self._columns = self._blank_rows = 0

    def end(self, name: str) -> None:
        """Count the row that ends."""
        if name != "table:table-row":
            return
        if self._column:
            self._rows, self._blank_rows = self._rows + self._blank_rows + self._times, 0
            self._columns = max(self._columns, self._column)
            _require_room(self._rows, self._columns)
        else:
            self._blank_rows += self._times

    def check(self) -> None:
        """Every sheet was held against the bound as it was read."""


def _repeated(attributes: Mapping[str, str], what: str) -> int:
    text = attributes.get(f"table:number-{what}-repeated", "1")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else MOST_CELLS + 1


# A sheet of a workbook (.xlsx, .ods) as a table in SI; formulas count as the values saved with them.


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
    columns_found = find_columns(source, structure, lambda cell: grid.place(structure.header_line, cell), shown, reader)
    if columns_found is None:
        return None
    records = [Record(cells, number, number) for number, cells in enumerate(grid.rows, start=grid.row)]
    below = [record for record in records if record.first >= structure.first_line and not record.empty]
    rows = [record for record in below if not record.cells[0].startswith(structure.comments) or any(record.cells[1:])]
    if not rows:
        what = "the table is empty"
        reader.problems.add(shown, (structure.first_line, grid.column), what, "write at least one row below the header")
        return None
    notation = Notation.of(columns_found.columns, marks, log=source.log, dialect=source.dialect)
    table = tabulate(
        columns_found.columns,
        [[record.cells[at] for at in columns_found.positions] for record in rows],
        lambda row, cell: grid.place(rows[row].first, columns_found.positions[cell]),
        shown,
        reader.problems,
        notation=notation,
    )
    file_read = FileRead(
        table=source.path,
        file=source.file.name,
        sheet=sheet.name,
        cells=source.dialect.range,
        header_row=structure.header_line or None,
        unit_row=structure.unit_line or None,
        units=columns_found.units,
        rows=table.rows,
        skipped=structure.banner + len(below) - len(rows),
    )
    zoned = notation.time.zoned if notation.time else None
    return LoadedFile(table, columns_found.units.get("time", ""), zoned, file_read)


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
