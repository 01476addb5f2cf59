"""How many cells a sheet spans, from its XML: one cell in a far corner makes a table of billions.

Names and attributes are taken as they are spelt, as the library that reads the cells takes them, and in every part,
as any part may be named as a sheet.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import reduce
from typing import Any
from xml.parsers import expat

from certgen.readings.zipped import BadArchive

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
    except (expat.ExpatError, ValueError) as cause:
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
