"""The typeface of the sheet: widths, fallback and line breaking. Each font file is parsed once a process."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from certgen.sheet.pdf.shop_fonts import ShopFont

REGULAR = "regular"
BOLD = "bold"

#: Printed where no font has the character: a hollow square.
MISSING = "\u25a1"

#: Distances of a line of text in parts of the text size: baseline below the top of the line, and the whole line;
#: large text stands closer.
BASELINE = 0.95
LEADING = 1.25
LARGE_LEADING = 1.16

#: Sums of widths differ in the last digits; a text this much wider than its room still fits. [pt]
_ROUNDING = 1e-6

_OWN = {REGULAR: "RobotoCondensed-Regular.ttf", BOLD: "RobotoCondensed-Bold.ttf"}
_FALLBACK = {REGULAR: "DejaVuSans.ttf", BOLD: "DejaVuSans-Bold.ttf"}
#: A figure at the end of a line would be parted from these.
_FIGURE = re.compile(r"[(≥≤±×+−-]*\d[\d.,]*")
_UNITS = frozenset(
    {
        *("%", "A", "V", "W", "kW", "kVA", "VA", "hp", "kVA/hp", "N", "N·m", "mN·m", "kN·m", "lbf·ft", "ozf·in", "rpm"),
        *("min⁻¹", "tr/min", "U/min", "Hz", "s", "min", "h", "K", "°C", "°F", "Ω", "mΩ", "kΩ", "MΩ", "GΩ", "kg", "lb"),
        *("m", "mm", "ft", "in", "m/s²", "ft/s²", "pt"),
    }
)
#: Blanks at which no line breaks; all are set as wide as a blank.
_NO_BREAK = "\u00a0\u202f"
_HELD = "\u00a0"
_VARIATION_SELECTORS = "\ufe0e\ufe0f"


class Run(NamedTuple):
    """A stretch of text in one font, by the name under which reportlab knows it."""

    font: str
    text: str


class Span(NamedTuple):
    """A stretch of text in one face and ink."""

    text: str
    face: str = REGULAR
    ink: str = "ink"


class Piece(NamedTuple):
    """A part of a set line: a span and its distance from the left edge in points."""

    x: float
    span: Span


#: Set lines, each the pieces of it.
Lines = tuple[tuple[Piece, ...], ...]


@lru_cache(maxsize=8)
def _font(face: str, fallback: bool) -> Any:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    file = Path(__file__).parent.parent / "fonts" / (_FALLBACK if fallback else _OWN)[face]
    font = TTFont(f"sheet-{face}{'-fallback' if fallback else ''}", str(file))
    pdfmetrics.registerFont(font)
    return font


def font_name(face: str) -> str:
    """The name of a face's own font, registered with reportlab."""
    return str(_font(face, False).fontName)


#: Fonts of the shop whose job is being drawn, in the order in which its file names them.
_OF_THE_SHOP: list[ShopFont] = []
#: Holds something where they come before the page's own typeface.
_FIRST: list[int] = []


@contextmanager
def shown_with(fonts: Sequence[ShopFont], *, first: bool = False) -> Iterator[None]:
    """Let what is measured and drawn within use these fonts: for characters that the page's own typeface does not have, or
    ``first``, for every character they have in the face that is asked for."""
    before, came_first = tuple(_OF_THE_SHOP), bool(_FIRST)
    _use(fonts, first=first)
    try:
        yield
    finally:
        _use(before, first=came_first)


def _use(fonts: Sequence[ShopFont], *, first: bool) -> None:
    if list(fonts) == _OF_THE_SHOP and first == bool(_FIRST):
        return
    _OF_THE_SHOP[:] = fonts
    _FIRST[:] = (1,) * first
    for cached in (runs, _advances, _width_at_1, _measured):
        cached.cache_clear()


def _shown(character: str, face: str) -> tuple[str, Any]:
    """A character as it can be shown, and the font that has it."""
    own, code = _font(face, False), ord(character)
    if _FIRST:
        for one in _OF_THE_SHOP:
            if one.bold == (face == BOLD) and code in one.font.face.charToGlyph:
                return character, one.font
    if code in own.face.charToGlyph:
        return character, own
    fallback = _font(face, True)
    if code in fallback.face.charToGlyph:
        return character, fallback
    having = [one for one in _OF_THE_SHOP if code in one.font.face.charToGlyph]
    if not having:
        return MISSING, fallback
    return character, next((one for one in having if one.bold == (face == BOLD)), having[0]).font


@lru_cache(maxsize=512)
def printable(text: str) -> str:
    """A text on one line: every blank a space, but those that hold a line together, characters without a shape left out."""
    if text.isascii() and text.isprintable():
        return text
    blanks = {sign: _HELD if sign in _NO_BREAK else " " for sign in set(text) if sign.isspace()}
    return "".join(blanks.get(sign, sign) for sign in text if sign in blanks or not _without_shape(sign))


#: Directions of writing that the page does not shape: from right to left. Unicode Standard Annex 9, table 4.
_FROM_RIGHT = ("R", "AL", "AN")
#: Blocks whose letters change or move with their neighbours: scripts of South and South-East Asia, Tibetan, Mongolian, Thai
#: and Lao. Unicode Standard 15.0, chapters 12 to 16.
_SHAPED = (range(0x0900, 0x1000), range(0x1000, 0x10A0), range(0x1700, 0x18B0), range(0x1900, 0x1AB0))
_SHAPED_FURTHER = (range(0x1B00, 0x1C80), range(0xA800, 0xAC00), range(0x11000, 0x12000))


def unshowable(text: str) -> str:
    """The characters of a text that no font of the page or the shop can show, each once."""
    if text.isascii():
        return ""
    faces = [_font(REGULAR, False).face, _font(REGULAR, True).face, *(one.font.face for one in _OF_THE_SHOP)]

    def shown(sign: str) -> bool:
        return sign.isspace() or _without_shape(sign) or any(ord(sign) in face.charToGlyph for face in faces)

    return "".join(sign for sign in _signs(text) if not takes_shaping(sign) and not shown(sign))


def unshaped(text: str) -> str:
    """The characters of a text that are written from right to left, or joined or moved by their neighbours, each once.

    The page sets one character after the other: these would be printed wrong, whatever font has them.
    """
    return "" if text.isascii() else "".join(filter(takes_shaping, _signs(text)))


@lru_cache(maxsize=4096)
def takes_shaping(sign: str) -> bool:
    """Whether a character stands right only beside its neighbours, or from right to left."""
    if unicodedata.bidirectional(sign) in _FROM_RIGHT:
        return True
    return any(ord(sign) in block for block in (*_SHAPED, *_SHAPED_FURTHER))


def _signs(text: str) -> Iterable[str]:
    return dict.fromkeys(unicodedata.normalize("NFC", text))


def _without_shape(sign: str) -> bool:
    """Joiners, soft hyphens, direction marks and the like."""
    return sign in _VARIATION_SELECTORS or (not sign.isspace() and unicodedata.category(sign) in ("Cf", "Cc"))


@lru_cache(maxsize=512)
def runs(text: str, face: str) -> tuple[Run, ...]:
    """A text split where the font must change."""
    found: list[tuple[str, list[str]]] = []
    for character in printable(text):
        sign, font = _shown(character, face)
        if not found or found[-1][0] != font.fontName:
            found.append((font.fontName, []))
        found[-1][1].append(sign)
    return tuple(Run(name, "".join(signs)) for name, signs in found)


class _Advances(dict[str, float]):
    """How far each character of a face moves on at text size 1, looked up once."""

    def __init__(self, face: str) -> None:
        super().__init__()
        self._face = face

    def __missing__(self, character: str) -> float:
        sign, font = _shown(character, self._face)
        self[character] = float(font.face.charWidths.get(ord(sign), font.face.defaultWidth)) / 1000.0
        return self[character]


@lru_cache(maxsize=8)
def _advances(face: str) -> _Advances:
    return _Advances(face)


@lru_cache(maxsize=2048)
def _width_at_1(text: str, face: str) -> float:
    return sum(map(_advances(face).__getitem__, printable(text)))


def width(text: str, face: str, size: float) -> float:
    """Width of a text on one line. [pt]"""
    return _width_at_1(text, face) * size


def fitting_size(text: str, face: str, wanted: float, room: float) -> float:
    """The wanted text size, or the smaller one at which the text just fits the room. [pt]"""
    natural = _width_at_1(text, face)
    return wanted if natural * wanted <= room else room / natural


def wrap(spans: Iterable[Span], room: float, size: float) -> Lines:
    """Spans set as lines no wider than the room; a word too long for a line is broken."""
    spans = tuple(spans)
    limit = (room + _ROUNDING) / size
    if len(spans) == 1:
        (paragraph, *more), (face, ink) = _measured(spans[0].text, spans[0].face), spans[0][1:]
        if not more and paragraph.width <= limit:
            return ((Piece(0.0, Span(paragraph.text, face, ink)),),) if paragraph.text else ((),)
    return tuple(_set_line(line, size) for line in _broken(spans, limit))


class _Paragraph(NamedTuple):
    """A paragraph with single spaces, its width, and its words each with its own, at text size 1."""

    text: str
    width: float
    words: tuple[tuple[str, float], ...]


@lru_cache(maxsize=512)
def _measured(text: str, face: str) -> tuple[_Paragraph, ...]:
    """The paragraphs of a text; there is at least one."""
    found = []
    for paragraph in text.split("\n"):
        words = tuple((word, _width_at_1(word, face)) for word in _words(printable(paragraph)))
        line = " ".join(word for word, _ in words)
        found.append(_Paragraph(line, _width_at_1(line, face), words))
    return tuple(found)


def _broken(spans: Sequence[Span], limit: float) -> list[list[tuple[Span, str]]]:
    """The words of each line no wider than the limit, which is given at text size 1."""
    lines: list[list[tuple[Span, str]]] = [[]]
    used = 0.0
    for span in spans:
        space = _width_at_1(" ", span.face)
        for number, paragraph in enumerate(_measured(span.text, span.face)):
            if number:
                lines.append([])
                used = 0.0
            for word, whole in paragraph.words:
                for part, needed in ((word, whole),) if whole <= limit else _parts(word, span.face, limit):
                    if not lines[-1]:
                        used = needed
                    elif used + space + needed > limit:
                        lines.append([])
                        used = needed
                    else:
                        used += space + needed
                    lines[-1].append((span, part))
    return lines


def _words(paragraph: str) -> Iterator[str]:
    """The words of a paragraph; a figure and the unit behind it are one."""
    figure = ""
    for word in paragraph.split(" "):
        if not word:
            continue
        if figure and word.strip("().,;:") in _UNITS:
            figure += f" {word}"
            continue
        if figure:
            yield figure
        figure = word if _FIGURE.fullmatch(word) else ""
        if not figure:
            yield word
    if figure:
        yield figure


def _parts(word: str, face: str, limit: float) -> list[tuple[str, float]]:
    """A word wider than a whole line, cut into parts, each with its width at text size 1."""
    parts: list[tuple[str, float]] = []
    current, used = "", 0.0
    for sign in word:
        step = _width_at_1(sign, face)
        if current and used + step > limit:
            parts.append((current, used))
            current, used = "", 0.0
        current += sign
        used += step
    return [*parts, (current, used)]


def _set_line(words: list[tuple[Span, str]], size: float) -> tuple[Piece, ...]:
    """Words of a line joined into one piece for each span, a space between pieces."""
    joined: list[tuple[Span, list[str]]] = []
    for span, word in words:
        if joined and (joined[-1][0].face, joined[-1][0].ink) == (span.face, span.ink):
            joined[-1][1].append(word)
        else:
            joined.append((span, [word]))
    pieces: list[Piece] = []
    x = 0.0
    for span, parts in joined:
        x += width(" ", span.face, size) if pieces else 0.0
        text = " ".join(parts)
        pieces.append(Piece(x, Span(text, span.face, span.ink)))
        x += width(text, span.face, size)
    return tuple(pieces)
