"""A TrueType font of the shop's own, for characters that the page's typeface does not have: checked before it is embedded.

A subset of it is embedded in the page, where its own embedding rights allow; the file itself never travels. Layout of the
file, its tables and its rights: OpenType specification 1.9.1 (ISO/IEC 14496-22), chapters 'Organization of an OpenType
font', 'cmap', 'head', 'maxp' and 'OS/2'.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any

from certgen.document.source import digest

#: A font with every character of Chinese, Japanese and Korean has some twenty megabytes.
MOST_BYTES = 40_000_000
_MOST_TABLES = 64
_NEEDED = ("OS/2", "cmap", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "name", "post")
#: Beginnings of files that are no single font with TrueType outlines.
_OTHER_KINDS = {
    b"OTTO": ("has PostScript outlines, which are not embedded here", "take the family's TrueType file (.ttf)"),
    b"ttcf": ("holds several fonts", "name a file with one font (.ttf)"),
    b"wOFF": ("is a web font", "take the family's TrueType file (.ttf)"),
    b"wOF2": ("is a web font", "take the family's TrueType file (.ttf)"),
}
_TRUETYPE = (b"\x00\x01\x00\x00", b"true")
#: Bits of fsType: no embedding; embedding for reading and printing, for editing; no subset; bitmaps only.
_RESTRICTED, _FOR_READING, _FOR_EDITING, _WHOLE_ONLY, _BITMAPS = 0x0002, 0x0004, 0x0008, 0x0100, 0x0200
_BOLD_OF_OS2, _BOLD_OF_HEAD = 0x0020, 0x0001
_LAST_CHARACTER = 0x10FFFF
_OTHER_FONT = "name a font whose licence lets a part of it be embedded in documents"


class FontRefused(ValueError):
    """The file cannot be used as a font of the page: what is wrong, and what to do instead."""

    def __init__(self, what: str, instead: str = "name a sound TrueType file (.ttf)") -> None:
        self.what, self.instead = what, instead
        super().__init__(f"{what}; {instead}")


@dataclass(frozen=True)
class ShopFont:
    """A font that was found sound and may be embedded.

    Attributes
    ----------
    sha256 : str
        Of its file, in hexadecimal digits.
    bold : bool
        Whether it is a bold face.
    data : bytes
        The file.
    """

    sha256: str
    bold: bool
    data: bytes = field(repr=False, compare=False)

    @cached_property
    def font(self) -> Any:
        """The font, registered with reportlab under a name of its own."""
        import io

        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFont

        font = TTFont(f"shop-{self.sha256[:16]}", io.BytesIO(self.data))
        pdfmetrics.registerFont(font)
        return font


def read_font(data: bytes) -> ShopFont:
    """A font from the bytes of its file.

    Raises
    ------
    FontRefused
        It is no TrueType font, is damaged, or its own embedding rights forbid a subset in a document.
    """
    return _read(data, digest(data))


@lru_cache(maxsize=8)
def _read(data: bytes, sha256: str) -> ShopFont:
    tables = _tables(data)
    _require_rights(tables["OS/2"])
    for subtable in _subtables(tables["cmap"]):
        _require_ascending(subtable)
    if _at(tables["maxp"], 4) == 0:
        raise FontRefused("has no glyphs")
    bold = bool(_at(tables["OS/2"], 62) & _BOLD_OF_OS2 or _at(tables["head"], 44) & _BOLD_OF_HEAD)
    found = ShopFont(sha256, bold, data)
    try:
        glyphs = found.font.face.charToGlyph
    except Exception as cause:  # whatever a damaged table makes of the library that reads it
        raise FontRefused(f"cannot be read as a TrueType font ({type(cause).__name__})") from cause
    if not glyphs:
        raise FontRefused("has no table of characters that is understood")
    return found


def _tables(data: bytes) -> Mapping[str, bytes]:
    """The tables of the file by their names."""
    begin = data[:4]
    if begin in _OTHER_KINDS:
        raise FontRefused(*_OTHER_KINDS[begin])
    if begin not in _TRUETYPE:
        raise FontRefused("is no TrueType font")
    count = _at(data, 4)
    if not 0 < count <= _MOST_TABLES or len(data) < 12 + 16 * count:
        raise FontRefused("is cut short or damaged")
    found = {}
    for index in range(count):
        name, _, offset, length = struct.unpack_from(">4sLLL", data, 12 + 16 * index)
        if offset + length > len(data):
            raise FontRefused("is cut short or damaged")
        found[name.decode("latin-1")] = data[offset : offset + length]
    missing = [name for name in _NEEDED if name not in found]
    if missing:
        raise FontRefused(f"lacks the table '{missing[0]}'")
    return found


def _at(table: bytes, offset: int, form: str = ">H") -> int:
    """A number of a table; one beyond its end means a damaged file."""
    if offset < 0 or offset + struct.calcsize(form) > len(table):
        raise FontRefused("is cut short or damaged")
    return int(struct.unpack_from(form, table, offset)[0])


def _require_rights(os2: bytes) -> None:
    """Keep to fonts of which a part may stand in a document that is read and printed (OS/2, fsType)."""
    rights = _at(os2, 8)
    if rights & _RESTRICTED and not rights & (_FOR_READING | _FOR_EDITING):
        raise FontRefused("may not be embedded, by its own statement (fsType)", _OTHER_FONT)
    if rights & _WHOLE_ONLY:
        raise FontRefused("may only be embedded whole, by its own statement (fsType)", _OTHER_FONT)
    if rights & _BITMAPS:
        raise FontRefused("may only be embedded as bitmaps, by its own statement (fsType)", _OTHER_FONT)


def _subtables(cmap: bytes) -> Iterator[bytes]:
    """The tables of characters, each from its own beginning."""
    for index in range(_at(cmap, 2)):
        yield cmap[_at(cmap, 4 + 8 * index + 4, ">L") :]


def _require_ascending(subtable: bytes) -> None:
    """Keep to segments of characters in ascending order: each character is then listed once, and the table is bounded."""
    ends: list[tuple[int, int]] = []
    if _at(subtable, 0) == 4:
        count = _at(subtable, 6) // 2
        ends = [(_at(subtable, 16 + 2 * (count + at)), _at(subtable, 14 + 2 * at)) for at in range(count)]
    elif _at(subtable, 0) in (12, 13):
        count = _at(subtable, 12, ">L")
        if count > len(subtable) // 12:
            raise FontRefused("is cut short or damaged")
        ends = [(_at(subtable, 16 + 12 * at, ">L"), _at(subtable, 20 + 12 * at, ">L")) for at in range(count)]
    before = -1
    for first, last in ends:
        if not before < first <= last <= _LAST_CHARACTER:
            raise FontRefused("has a damaged table of characters")
        before = last
