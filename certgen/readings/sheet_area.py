"""How many cells a sheet spans, from its XML: one cell in a far corner makes a table of billions."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from xml.etree import ElementTree

from certgen.readings.zipped import BadArchive

MOST_CELLS = 20_000_000

_CELL = re.compile(rb'\br="([A-Z]{0,4})([0-9]{1,9})"')
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"


def check_area(parts: Mapping[str, bytes]) -> None:
    """Refuse a workbook with a sheet that spans too many cells.

    Raises
    ------
    BadArchive
        A sheet spans more than ``MOST_CELLS``, or its XML is broken.
    """
    for name, data in parts.items():
        if name.startswith("xl/worksheets/"):
            _check(*_span(data))
        elif name == "content.xml":
            _check_open_document(data)


def _check(rows: int, columns: int) -> None:
    if rows * columns > MOST_CELLS:
        raise BadArchive(f"a sheet spans {rows} rows by {columns} columns")


def _span(data: bytes) -> tuple[int, int]:
    """Last row and last column of a sheet of an .xlsx file."""
    rows = columns = 0
    in_row = widest = 0
    for match in _CELL.finditer(data):
        letters, row = match[1], int(match[2])
        rows = max(rows, row)
        if letters:
            number = 0
            for letter in letters:
                number = 26 * number + letter - 64
            columns = max(columns, number)
    if not columns:  # cells without addresses stand one after the other
        for piece in data.split(b"<row"):
            in_row = piece.count(b"<c>") + piece.count(b"<c ")
            widest = max(widest, in_row)
        rows, columns = max(rows, data.count(b"<row")), widest
    return rows, columns


def _check_open_document(data: bytes) -> None:
    """The spans of the sheets of an .ods file, with what is repeated counted as often as it stands."""
    rows = columns = pending = 0
    column = blank = 0
    try:
        for event, element in ElementTree.iterparse(io.BytesIO(data), events=("start", "end")):
            if event == "start":
                if element.tag == f"{_TABLE}table":
                    rows = columns = pending = 0
                elif element.tag == f"{_TABLE}table-row":
                    column = blank = 0
                continue
            if element.tag == f"{_TABLE}table-cell":
                times = _repeated(element, "columns")
                if f"{_OFFICE}value-type" in element.attrib or len(element):
                    column, blank = column + blank + times, 0
                else:
                    blank += times
            elif element.tag == f"{_TABLE}table-row":
                times = _repeated(element, "rows")
                if column:
                    rows, pending = rows + pending + times, 0
                    columns = max(columns, column)
                    _check(rows, columns)
                else:
                    pending += times
                element.clear()
    except ElementTree.ParseError as cause:
        raise BadArchive("the file is broken: its content is no XML") from cause


def _repeated(element: ElementTree.Element, what: str) -> int:
    text = element.get(f"{_TABLE}number-{what}-repeated", "1")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else MOST_CELLS + 1
