"""The few operators a page is made of, written straight into its content (ISO 32000-1, 8.4 to 9.4).

A page has some thousands of numbers; reportlab's own drawing calls format each with a logarithm. It still keeps the
fonts, their subsets and the document.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Any

from certgen.sheet.pdf.fonts import runs, width

# The inks of the sheet.


#: Inks by name: red, green, blue from 0 to 1. All but hairlines, pale fields, which always have a black outline, and the
#: paper itself have a contrast to white of at least 4.5 to 1 (WCAG 2.2, 1.4.3 and 1.4.11).
INKS = {
    "ink": (0.0, 0.0, 0.0),
    "title": (0.0, 0.0, 0.0),  # of the sheet and its parts
    "bar": (0.0, 0.0, 0.0),  # rules that part a sheet
    "accent": (0.13, 0.25, 0.36),
    "muted": (0.33, 0.37, 0.41),
    "rule": (0.36, 0.41, 0.45),
    "hair": (0.72, 0.75, 0.78),
    "pale": (0.88, 0.88, 0.88),
    "paper": (1.0, 1.0, 1.0),
}
BLACK, PAPER = (0.0, 0.0, 0.0), INKS["paper"]
#: Brightness from which a colour is left to the paper where only black is printed.
_PALE = 0.85


#: Red, green and blue from 0 to 1.
Ink = tuple[float, float, float]


def black_or_paper(red: float, green: float, blue: float) -> tuple[float, float, float]:
    """A colour where only black is printed: black, or nothing where it is nearly white."""
    return PAPER if (red + green + blue) / 3.0 > _PALE else BLACK


# The few operators a page is made of, written straight into its content (ISO 32000-1, 8.4 to 9.4).
#
# A page has some thousands of numbers; reportlab's own drawing calls format each with a logarithm. It still keeps the
# fonts, their subsets and the document.


Spot = tuple[float, float]

#: Stands for a character of another subset; no coded text holds it.
_ELSEWHERE = "\0"

#: Distance of the handles of the Bézier curve that comes nearest to a quarter of a circle, in parts of its radius:
#: 4/3 (sqrt(2) - 1).
_QUARTER = 0.5522847498


def text(canvas: Any, at: Spot, words: str, face: str, size: float) -> None:
    """A text on one line from its left end on the baseline, changing font where it must."""
    x, y = at
    write = canvas._code.append
    for run in runs(words, face):
        coded = _codes(canvas, run.font).coded(run.text)
        set_in = " ".join(f"{name} {size:.2f} Tf ({text_of}) Tj" for name, text_of in coded)
        # The line ends where the text does: readers that ask no more than that still part neighbouring texts.
        write(f"BT 1 0 0 1 {x:.2f} {y:.2f} Tm {size:.2f} TL {set_in} T* ET")
        x += width(run.text, face, size)


class _Codes(dict[int, str]):
    """How the first subset of a font codes each character in a document, asked of the font once."""

    def __init__(self, canvas: Any, name: str) -> None:
        from reportlab.pdfbase.pdfmetrics import getFont

        super().__init__()
        self.font, self.document, self.escape = getFont(name), canvas._doc, canvas._escape
        self.subset = self.font.getSubsetInternalName(0, self.document)

    def __missing__(self, code: int) -> str:
        ((subset, coded),) = self.font.splitString(chr(code), self.document)
        self[code] = self.escape(coded) if subset == 0 else _ELSEWHERE
        return self[code]

    def coded(self, text: str) -> list[tuple[str, str]]:
        """A text in the document's subsets of the font: the name of each and the text as it codes it."""
        first = text.translate(self)
        if _ELSEWHERE not in first:
            return [(self.subset, first)]
        return [
            (self.font.getSubsetInternalName(subset, self.document), self.escape(coded))
            for subset, coded in self.font.splitString(text, self.document)
        ]


def _codes(canvas: Any, font: str) -> _Codes:
    """Those of a font, kept with the canvas."""
    known: dict[str, _Codes] = canvas.__dict__.setdefault("_certgen_codes", {})
    if font not in known:
        known[font] = _Codes(canvas, font)
    return known[font]


def only_black(canvas: Any) -> None:
    """Let a canvas draw every ink but the paper's in black."""
    canvas.only_black = True


def draw_in(canvas: Any, colours: Mapping[str, Ink]) -> None:
    """Let a canvas draw these inks in colours of their own from here on, every other as it is."""
    canvas.own_inks = colours


@lru_cache(maxsize=64)
def _colour(parts: Ink, operator: str, black: bool) -> str:
    shown = black_or_paper(*parts) if black else parts
    return f"{' '.join(f'{part:g}' for part in shown)} {operator}"


def _operator(canvas: Any, ink: str, operator: str) -> str:
    parts = getattr(canvas, "own_inks", {}).get(ink) or INKS[ink]
    return _colour(parts, operator, getattr(canvas, "only_black", False))


def fill_with(canvas: Any, ink: str) -> None:
    """The ink of texts and faces from here on."""
    canvas._code.append(_operator(canvas, ink, "rg"))


def stroke_with(canvas: Any, ink: str, weight: float, dashes: Sequence[float] = ()) -> None:
    """Ink, weight [pt] and dashes [pt] of lines from here on."""
    pattern = " ".join(f"{dash:.2f}" for dash in dashes)
    canvas._code.append(f"{_operator(canvas, ink, 'RG')} {weight:.2f} w [{pattern}] 0 d")


def outline(canvas: Any, spots: Sequence[Spot], painted: str) -> None:
    """A line through spots, painted by an operator: S, s, f, b."""
    first, *rest = spots
    through = " ".join(f"{x:.2f} {y:.2f} l" for x, y in rest)
    canvas._code.append(f"{first[0]:.2f} {first[1]:.2f} m {through} {painted}")


def circle(canvas: Any, middle: Spot, radius: float, painted: str) -> None:
    """A circle, painted by an operator."""
    x, y = middle
    turns = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0))
    parts = [f"{x + radius:.2f} {y:.2f} m"]
    for (from_x, from_y), (to_x, to_y) in pairwise(turns):
        handles = (
            (from_x + _QUARTER * to_x, from_y + _QUARTER * to_y),
            (to_x + _QUARTER * from_x, to_y + _QUARTER * from_y),
            (to_x, to_y),
        )
        parts.append(" ".join(f"{x + radius * across:.2f} {y + radius * up:.2f}" for across, up in handles) + " c")
    canvas._code.append(f"{' '.join(parts)} {painted}")
