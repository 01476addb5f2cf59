"""The inks of the sheet."""

from __future__ import annotations

#: Inks by name: red, green, blue from 0 to 1. All but the hairlines between rows and the paper itself have a contrast
#: to white of at least 4.5 to 1 (WCAG 2.2, 1.4.3 and 1.4.11).
INKS = {
    "ink": (0.09, 0.11, 0.13),
    "accent": (0.13, 0.25, 0.36),
    "muted": (0.33, 0.37, 0.41),
    "rule": (0.36, 0.41, 0.45),
    "hair": (0.72, 0.75, 0.78),
    "paper": (1.0, 1.0, 1.0),
}
BLACK, PAPER = (0.0, 0.0, 0.0), INKS["paper"]
#: Brightness from which a colour is left to the paper where only black is printed.
_PALE = 0.85


def black_or_paper(red: float, green: float, blue: float) -> tuple[float, float, float]:
    """A colour where only black is printed: black, or nothing where it is nearly white."""
    return PAPER if (red + green + blue) / 3.0 > _PALE else BLACK
