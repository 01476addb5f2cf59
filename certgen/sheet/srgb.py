"""The colour profile of the page: sRGB as an ICC profile, made from the published numbers, the same bytes every time.

Sources: IEC 61966-2-1:1999 (primaries, white point, transfer curve); ICC.1:2004-10 (version 4.2: header 7.2, tag types
10, the linear Bradford adaptation of Annex E, the D50 white of the connection space).
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from functools import lru_cache

NAME = "sRGB IEC61966-2.1"

#: Chromaticities x, y of red, green and blue, and of the white. Source: IEC 61966-2-1:1999, table 1.
_PRIMARIES = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
_WHITE = (0.3127, 0.3290)

#: Transfer curve as ICC function type 3: ((x + 0.055) / 1.055)^2.4 from 0.04045 up, x / 12.92 below.
_CURVE = (2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045)

#: White of the profile connection space. Source: ICC.1:2004-10, 7.2.16.
_D50 = (0.9642, 1.0, 0.8249)

#: Cone response of the linear Bradford adaptation. Source: ICC.1:2004-10, Annex E.
_BRADFORD = ((0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296))

_MADE_ON = (1999, 10, 18, 0, 0, 0)  # a fixed date: the bytes must not tell the time
_HEADER = 128

Vector = tuple[float, float, float]
Matrix = tuple[Vector, Vector, Vector]


@lru_cache(maxsize=1)
def profile() -> bytes:
    """The profile's bytes: a display profile of three primaries and one curve."""
    adaptation = _adaptation(_xyz(_WHITE))
    primaries = _colorants()
    curve = b"para" + struct.pack(">4xHH", 3, 0) + b"".join(map(_fixed, _CURVE))
    tags: list[tuple[bytes, bytes]] = [
        (b"desc", _text(NAME)),
        (b"cprt", _text("Made from published numbers; no rights reserved.")),
        (b"wtpt", _xyz_tag(_D50)),
        (b"chad", b"sf32" + bytes(4) + b"".join(_fixed(number) for row in adaptation for number in row)),
        *zip((b"rXYZ", b"gXYZ", b"bXYZ"), (_xyz_tag(_times(adaptation, one)) for one in primaries), strict=True),
        *((name, curve) for name in (b"rTRC", b"gTRC", b"bTRC")),
    ]
    return _assembled(tags)


def _assembled(tags: Sequence[tuple[bytes, bytes]]) -> bytes:
    """Header, tag table and tag data; equal data stands once."""
    start = _HEADER + 4 + 12 * len(tags)
    places: dict[bytes, int] = {}
    body = b""
    for _, data in tags:
        if data not in places:
            places[data] = start + len(body)
            body += data + bytes(-len(data) % 4)
    table = struct.pack(">I", len(tags))
    table += b"".join(name + struct.pack(">II", places[data], len(data)) for name, data in tags)
    header = struct.pack(
        ">I4s4s4s4s4s6H4s4sI4s4sQI",
        start + len(body),
        bytes(4),
        b"\x04\x20\x00\x00",  # version 4.2.0
        b"mntr",
        b"RGB ",
        b"XYZ ",
        *_MADE_ON,
        b"acsp",
        bytes(4),
        0,
        bytes(4),
        bytes(4),
        0,
        0,  # perceptual
    )
    header += b"".join(map(_fixed, _D50))
    return header + bytes(_HEADER - len(header)) + table + body


def _fixed(number: float) -> bytes:
    """A number as s15Fixed16: sixteenths of four hexadecimal digits after the point."""
    return struct.pack(">i", round(number * 65536.0))


def _xyz_tag(color: Vector) -> bytes:
    return b"XYZ " + bytes(4) + b"".join(map(_fixed, color))


def _text(text: str) -> bytes:
    """A text in one language, English."""
    encoded = text.encode("utf-16-be")
    return b"mluc" + struct.pack(">4xII4sII", 1, 12, b"enUS", len(encoded), 28) + encoded


def _xyz(chromaticity: tuple[float, float]) -> Vector:
    """XYZ of a chromaticity at Y = 1."""
    x, y = chromaticity
    return x / y, 1.0, (1.0 - x - y) / y


def _colorants() -> tuple[Vector, ...]:
    """XYZ of red, green and blue, scaled so that together they are the white."""
    columns = [_xyz(primary) for primary in _PRIMARIES]
    amounts = _times(_inverse(_transposed(columns)), _xyz(_WHITE))
    return tuple((amount * x, amount * y, amount * z) for amount, (x, y, z) in zip(amounts, columns, strict=True))


def _adaptation(white: Vector) -> Matrix:
    """The matrix that carries a colour seen under a white to the white of the connection space."""
    gains = [to / of for to, of in zip(_times(_BRADFORD, _D50), _times(_BRADFORD, white), strict=True)]
    scaled = [_scaled(row, gain) for row, gain in zip(_BRADFORD, gains, strict=True)]
    back = _inverse(_BRADFORD)
    return _transposed([_times(back, column) for column in _transposed(scaled)])


def _scaled(row: Vector, by: float) -> Vector:
    return row[0] * by, row[1] * by, row[2] * by


def _times(matrix: Matrix, vector: Vector) -> Vector:
    first, second, third = (sum(a * b for a, b in zip(row, vector, strict=True)) for row in matrix)
    return first, second, third


def _transposed(rows: Sequence[Vector]) -> Matrix:
    first, second, third = rows
    return tuple(zip(first, second, third, strict=True))  # type: ignore[return-value]


def _inverse(matrix: Matrix) -> Matrix:
    """By cofactors: column i is the cross product of the other two rows over the determinant."""
    a, b, c = matrix
    crossed = [_cross(b, c), _cross(c, a), _cross(a, b)]
    determinant = sum(one * other for one, other in zip(a, crossed[0], strict=True))
    return _transposed([_scaled(column, 1.0 / determinant) for column in crossed])


def _cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]
