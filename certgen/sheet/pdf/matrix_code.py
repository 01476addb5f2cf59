"""A matrix code (QR code, ISO/IEC 18004) as vector rectangles, its modules whole dots of a label printer."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import groupby, zip_longest
from typing import Any, NamedTuple

import numpy as np

from certgen.physics.domain import Index, Mask
from certgen.sheet.engine.setting import ChartMark, TooNarrow

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
    data = text.encode()
    version = next(version for version in range(1, 41) if len(data) <= _room(version))
    symbol = _symbol(version)
    bits = np.zeros(symbol.rows.size, dtype=bool)
    coded = np.unpackbits(np.array(_codewords(data, version), dtype=np.uint8)).astype(bool)
    bits[: coded.size] = coded
    masked = symbol.patterns.copy()
    masked[:, symbol.rows, symbol.columns] = bits ^ symbol.masks
    best = min(masked, key=penalty)
    return tuple(tuple(row) for row in best.tolist())


class _Symbol(NamedTuple):
    """What all symbols of a version share: the cells of the data in their order, and for each mask the finders, timing
    and format patterns, shape (8, n, n), and whether it inverts each cell, shape (8, cells)."""

    rows: Index
    columns: Index
    patterns: Mask
    masks: Mask


@lru_cache(maxsize=40)
def _symbol(version: int) -> _Symbol:
    from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel, QRUtil

    code = QRCode(version, QRErrorCorrectLevel.M)
    patterns = []
    for mask in range(_MASKS):
        code.dataCache = [0]
        code.makeImpl(False, mask)
        patterns.append(np.array(code.modules, dtype=bool))
    columns, rows = np.array(code.dataPosIterator(), dtype=np.intp).T
    masks = [
        [QRUtil.getMask(mask)(row, column) for row, column in zip(rows, columns, strict=True)] for mask in range(_MASKS)
    ]
    return _Symbol(rows, columns, np.array(patterns), np.array(masks, dtype=bool))


@lru_cache(maxsize=40)
def _blocks(version: int) -> tuple[tuple[int, int], ...]:
    """Data and check codewords of each block of a version at level M."""
    from reportlab.graphics.barcode.qrencoder import QRErrorCorrectLevel, QRRSBlock

    blocks = QRRSBlock.getRSBlocks(version, QRErrorCorrectLevel.M)
    return tuple((block.dataCount, block.totalCount - block.dataCount) for block in blocks)


def _count_bits(version: int) -> int:
    """Bits of the count of bytes. Source: ISO/IEC 18004:2015, table 3."""
    return 8 if version < 10 else 16


def _room(version: int) -> int:
    """Bytes that a version holds."""
    return (8 * sum(data for data, _ in _blocks(version)) - 4 - _count_bits(version)) // 8


def _codewords(data: bytes, version: int) -> list[int]:
    """Data and check codewords, blocks interleaved. Source: ISO/IEC 18004:2015, 7.4 to 7.6."""
    blocks = _blocks(version)
    whole, count = sum(own for own, _ in blocks), _count_bits(version)
    bits = 4 + count + 8 * len(data)
    stream = (0b0100 << (count + 8 * len(data))) | (len(data) << 8 * len(data)) | int.from_bytes(data, "big")
    ended = min(8 * whole, -(-min(8 * whole, bits + 4) // 8) * 8)
    words = (stream << (ended - bits)).to_bytes(ended // 8, "big")
    words += bytes([0xEC, 0x11] * whole)[: whole - len(words)]
    parts, checks, start = [], [], 0
    for own, check in blocks:
        parts.append(words[start : start + own])
        checks.append(_checks(parts[-1], check))
        start += own
    return [word for listed in (parts, checks) for row in zip_longest(*listed) for word in row if word is not None]


@lru_cache(maxsize=1)
def _powers() -> tuple[list[int], list[int]]:
    """Powers of 2 in GF(256) modulo 285, twice over, and logarithms. Source: ISO/IEC 18004:2015, 7.5.2."""
    powers, logarithms, value = [0] * 510, [0] * 256, 1
    for exponent in range(255):
        powers[exponent] = powers[exponent + 255] = value
        logarithms[value] = exponent
        value = (value << 1) ^ (285 if value & 128 else 0)
    return powers, logarithms


@lru_cache(maxsize=40)
def _generator(count: int) -> tuple[int, ...]:
    """Logarithms of the coefficients of the generator polynomial below its leading one."""
    powers, logarithms = _powers()
    found = [1]
    for root in range(count):
        shifted = [0, *(powers[logarithms[one] + root] if one else 0 for one in found)]
        found = [one ^ other for one, other in zip([*found, 0], shifted, strict=True)]
    return tuple(logarithms[one] for one in found[1:])


def _checks(data: bytes, count: int) -> list[int]:
    """The check codewords of a block: the rest of a division in GF(256)."""
    powers, logarithms = _powers()
    generator, rest = _generator(count), [0] * count
    for word in data:
        factor = word ^ rest[0]
        rest = [*rest[1:], 0]
        if factor:
            log = logarithms[factor]
            rest = [one ^ powers[log + own] for one, own in zip(rest, generator, strict=True)]
    return rest


def penalty(dark: Mask) -> int:
    """How hard a masked symbol is to read. Source: ISO/IEC 18004:2015, 7.8.3.1, table 11, from memory."""
    lines = np.concatenate((_padded(dark), _padded(dark.T)))
    same = dark[:-1, :-1]
    blocks = (same == dark[1:, :-1]) & (same == dark[:-1, 1:]) & (same == dark[1:, 1:])
    unbalanced = int(abs(20.0 * float(dark.mean()) - 10.0))
    return _runs(dark) + _runs(dark.T) + 3 * int(blocks.sum()) + 40 * _like_finders(lines) + 10 * unbalanced


def _padded(dark: Mask) -> Mask:
    """The rows with the quiet zone at both ends."""
    return np.pad(dark, ((0, 0), (QUIET, QUIET)))


def _runs(dark: Mask) -> int:
    """Three for every run of five modules of one colour in a row, and one for each module more."""
    equal = dark[:, 1:] == dark[:, :-1]
    five = equal[:, 3:] & equal[:, 2:-1] & equal[:, 1:-2] & equal[:, :-3]
    begun = five & ~np.pad(five, ((0, 0), (1, 0)))[:, :-1]
    return int(five.sum()) + 2 * int(begun.sum())


def _like_finders(lines: Mask) -> int:
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
    side, parts = module - 2 * _INSET, ["0 0 0 rg"]
    for down, row in enumerate(rows, start=QUIET + 1):
        across, y = QUIET, top - down * module + _INSET
        for dark, run in groupby(row):
            length = sum(1 for _ in run)
            if dark:
                x = left + across * module + _INSET
                parts.append(f"{x:.4f} {y:.4f} {length * module - 2 * _INSET:.4f} {side:.4f} re")
            across += length
    canvas._code.append(" ".join([*parts, "f"]))
