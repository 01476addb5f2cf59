"""A matrix code (QR code, ISO/IEC 18004) as vector rectangles, its modules whole dots of a label printer."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray

from certgen.sheet.engine.setting import ChartMark, TooNarrow
from certgen.sheet.pdf.pdf_operators import BLACK

#: A dot of a printer of 203 an inch. [pt]
DOT = 72.0 / 203.0
#: Modules left empty on every side. Source: ISO/IEC 18004, quiet zone of a QR code symbol.
QUIET = 4
#: Fewest dots of a module. Common practice, no source.
LEAST_DOTS = 3
#: Ways in which the standard masks a symbol.
_MASKS = 8
#: How far a rectangle stays within its modules, so that no rounding lets it touch the next dot. [pt]
_INSET = 0.02 * DOT


@lru_cache(maxsize=64)
def modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The modules of a text, row by row, dark ones true; error correction of level M, the mask of least penalty."""
    from reportlab.graphics.barcode.qrencoder import QR8bitByte, QRCode, QRErrorCorrectLevel

    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(QR8bitByte(text))
    code.version = code.calculate_version()
    masked = []
    for mask in range(_MASKS):
        code.makeImpl(False, mask)
        masked.append(np.array(code.modules, dtype=bool))
    best = min(masked, key=penalty)
    return tuple(tuple(row) for row in best.tolist())


def penalty(dark: NDArray[np.bool_]) -> int:
    """How hard a masked symbol is to read. Source: ISO/IEC 18004:2015, 7.8.3.1, table 11, from memory."""
    lines = np.concatenate((_padded(dark), _padded(dark.T)))
    same = dark[:-1, :-1]
    blocks = (same == dark[1:, :-1]) & (same == dark[:-1, 1:]) & (same == dark[1:, 1:])
    unbalanced = int(abs(20.0 * float(dark.mean()) - 10.0))
    return _runs(dark) + _runs(dark.T) + 3 * int(blocks.sum()) + 40 * _like_finders(lines) + 10 * unbalanced


def _padded(dark: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The rows with the quiet zone at both ends."""
    return np.pad(dark, ((0, 0), (QUIET, QUIET)))


def _runs(dark: NDArray[np.bool_]) -> int:
    """Three for every run of five modules of one colour in a row, and one for each module more."""
    equal = dark[:, 1:] == dark[:, :-1]
    five = equal[:, 3:] & equal[:, 2:-1] & equal[:, 1:-2] & equal[:, :-3]
    begun = five & ~np.pad(five, ((0, 0), (1, 0)))[:, :-1]
    return int(five.sum()) + 2 * int(begun.sum())


def _like_finders(lines: NDArray[np.bool_]) -> int:
    """How often 1:1:3:1:1 stands in a row with four light modules before or after it."""
    found = 0
    for pattern in ("00001011101", "10111010000"):
        wanted = np.array([sign == "1" for sign in pattern])
        windows = np.lib.stride_tricks.sliding_window_view(lines, wanted.size, axis=1)
        found += int((windows == wanted).all(axis=2).sum())
    return found


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
