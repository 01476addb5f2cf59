"""A matrix code (QR code, ISO/IEC 18004) as vector rectangles, its modules whole dots of a label printer."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import groupby
from typing import Any

from certgen.sheet.engine.setting import ChartMark, TooNarrow
from certgen.sheet.pdf.pdf_operators import BLACK

#: A dot of a printer of 203 an inch. [pt]
DOT = 72.0 / 203.0
#: Modules left empty on every side. Source: ISO/IEC 18004, quiet zone of a QR code symbol.
QUIET = 4
#: Fewest dots of a module. Common practice, no source.
LEAST_DOTS = 3
#: How far a rectangle stays within its modules, so that no rounding lets it touch the next dot. [pt]
_INSET = 0.02 * DOT


@lru_cache(maxsize=64)
def modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The modules of a text, row by row, dark ones true; error correction of level M."""
    from reportlab.graphics.barcode.qrencoder import QR8bitByte, QRCode, QRErrorCorrectLevel

    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(QR8bitByte(text))
    code.make()
    return tuple(tuple(map(bool, row)) for row in code.modules)


def code_mark(text: str, room: float, most_dots: int) -> ChartMark:
    """The code as large as the room allows, its quiet zone included. [pt]

    Raises
    ------
    TooNarrow
        Not even modules of three dots find room.
    """
    rows = modules(text)
    across = len(rows) + 2 * QUIET
    dots = min(most_dots, math.floor(room / (across * DOT) + 1e-9))
    if dots < LEAST_DOTS:
        raise TooNarrow(LEAST_DOTS * across * DOT - room)
    module = dots * DOT

    def paint(canvas: Any, x: float, y: float, width: float, height: float) -> None:
        _fill(canvas, rows, (x, y + height), module)

    return ChartMark(0.0, 0.0, across * module, across * module, paint)


def _fill(canvas: Any, rows: tuple[tuple[bool, ...], ...], corner: tuple[float, float], module: float) -> None:
    """The dark modules from the upper left corner of the quiet zone, each run of a row one rectangle, as one path.

    The corner goes to the nearest dot of the page: printers blacken every dot that a shape touches.
    """
    sheet_top = canvas._pagesize[1]
    left = round(corner[0] / DOT) * DOT
    top = sheet_top - round((sheet_top - corner[1]) / DOT) * DOT
    outline = canvas.beginPath()
    for down, row in enumerate(rows, start=QUIET + 1):
        across = QUIET
        for dark, run in groupby(row):
            length = sum(1 for _ in run)
            if dark:
                x, y = left + across * module + _INSET, top - down * module + _INSET
                outline.rect(x, y, length * module - 2 * _INSET, module - 2 * _INSET)
            across += length
    canvas.setFillColorRGB(*BLACK)
    canvas.drawPath(outline, stroke=0, fill=1)
