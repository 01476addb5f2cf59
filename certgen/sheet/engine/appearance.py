"""How a sheet looks: its colours within the contrast that paper needs, its text sizes, how it writes figures."""

from __future__ import annotations

import re
from dataclasses import dataclass

import yaml

from certgen.document.build import Reader
from certgen.document.vocabulary import Choice, Custom, Whole, key
from certgen.sheet.pdf.pdf_operators import Ink

# Colours of a shop.


#: Least contrast of text to the paper: WCAG 2.2, 1.4.3. Rules keep to it too, as a photocopier loses what is paler.
TEXT_CONTRAST = 4.5
_COLOUR = re.compile(r"#([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})")
_SAYS_COLOUR = "a colour in quotes, '#' and two hexadecimal digits each for red, green and blue, for example '#1f3a5f'"


def contrast_to_paper(colour: Ink) -> float:
    """Contrast of a colour to white paper, from 1 to 21. Source: WCAG 2.2, contrast ratio and relative luminance."""
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in colour]
    luminance = sum(share * part for share, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
    return 1.05 / (luminance + 0.05)


def _colour(least: float) -> Custom:
    """A colour no paler than a contrast to the paper."""

    def read(node: yaml.Node, reader: Reader, path: str) -> Ink | None:
        text = reader.scalar(node, path, f"write {_SAYS_COLOUR}")
        if text is None:
            return None
        match = _COLOUR.fullmatch(text.strip())
        if match is None:
            reader.wrong(node, path, f"'{text[:40]}' is no colour", f"write {_SAYS_COLOUR}")
            return None
        red, green, blue = (int(part, 16) / 255.0 for part in match.groups())
        if (found := contrast_to_paper((red, green, blue))) < least:
            what = f"'{text}' is too pale for paper: its contrast to white is {found:.2f} to 1"
            reader.wrong(node, path, what, f"take a darker one, {least:g} to 1 or more")
            return None
        return red, green, blue

    return Custom(
        read, lambda: {"type": "string", "pattern": f"^{_COLOUR.pattern}$", "examples": ["#1f3a5f"]}, _SAYS_COLOUR
    )


# Text sizes, and figures.


_POINTS = re.compile(r"(\d{1,2}(?:\.\d{1,3})?)\s*pt")
_SAYS_POINTS = "a text size from 4 to 20 points, for example '8.2 pt'"
#: Decimal marks: ISO 80000-1:2022 allows both.
MARKS = {"point": ".", "comma": ","}


def _text_size() -> Custom:
    """A text size in typographic points; the unit belongs to sheets alone, not to the units of the bench."""

    def read(node: yaml.Node, reader: Reader, path: str) -> float | None:
        text = reader.scalar(node, path, f"write {_SAYS_POINTS}")
        if text is None:
            return None
        match = _POINTS.fullmatch(text.strip())
        if match is None or not 4.0 <= float(match[1]) <= 20.0:
            reader.wrong(node, path, f"'{text[:40]}' is not possible for a text size", f"write {_SAYS_POINTS}")
            return None
        return float(match[1])

    return Custom(read, lambda: {"type": "string", "pattern": "pt$", "examples": ["8.2 pt"]}, _SAYS_POINTS)


@dataclass(frozen=True)
class TextSizes:
    """Sizes of the body text. [pt]"""

    preferred: float = key(_text_size(), "Where room allows.", default=8.2)
    smallest: float = key(_text_size(), "Nothing on the page is smaller.", default=5.6)


@dataclass(frozen=True)
class Colours:
    """Colours of a shop, dark enough to be read on paper, printed in grey and after a photocopier."""

    titles: Ink | None = key(_colour(TEXT_CONTRAST), "Of the title of the sheet and of its parts.")
    rules: Ink | None = key(_colour(TEXT_CONTRAST), "Of the rules that part the sheet.")

    @property
    def inks(self) -> dict[str, Ink]:
        """The inks of the page that have a colour of their own."""
        given = {"title": self.titles, "accent": self.titles, "bar": self.rules}
        return {name: colour for name, colour in given.items() if colour is not None}


@dataclass(frozen=True)
class Numbers:
    """How figures are written."""

    decimal_mark: str | None = key(
        Choice(tuple(MARKS)), "Before the decimals; left out, as the language of the page has it."
    )
    uncertainty_digits: int = key(
        Whole(1, 2), "Significant digits of an uncertainty; the value has as many decimals.", default=2
    )
