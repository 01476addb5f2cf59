"""What a layout holds: which parts stand where, how large, in which words, and what may go when room is short."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

import yaml

from certgen.document.build import Reader
from certgen.document.vocabulary import Choice, Custom, Each, Group, Whole, key
from certgen.sheet.block_settings import Blocks, length
from certgen.sheet.papers import PAPERS, USUAL, Paper
from certgen.sheet.parts import ROW, Part
from certgen.sheet.subjects import SUBJECTS, TEST
from certgen.sheet.words import PHRASES, TEXTS, Words

ONE, MANY = "one", "many"
#: Decimal marks: ISO 80000-1:2022 allows both.
MARKS = {"point": ".", "comma": ","}
CERTIFICATE, TAG = "certificate", "tag"
COLOUR, BLACK = "colour", "black"
#: The name of a paper whose size the layout gives itself.
OWN = "own"

_POINTS = re.compile(r"(\d{1,2}(?:\.\d{1,3})?)\s*pt")
_SAYS_POINTS = "a text size from 4 to 20 points, for example '8.2 pt'"
_LANGUAGE = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}")
_SAYS_LANGUAGE = "a language tag, for example 'en', 'de' or 'pt-BR'"


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


def _language() -> Custom:
    """A language tag. Source: BCP 47 (RFC 5646), its usual forms."""

    def read(node: yaml.Node, reader: Reader, path: str) -> str | None:
        text = reader.scalar(node, path, f"write {_SAYS_LANGUAGE}")
        if text is None or _LANGUAGE.fullmatch(text):
            return text
        reader.wrong(node, path, f"'{text[:40]}' is no language tag", f"write {_SAYS_LANGUAGE}")
        return None

    return Custom(read, lambda: {"type": "string", "pattern": f"^{_LANGUAGE.pattern}$"}, _SAYS_LANGUAGE)


@dataclass(frozen=True)
class Page:
    """The page around the blocks. [m]"""

    margin: float = key(length("12 mm", 0.04, 0.001), "Margin on every side.", default=0.012)
    gap: float = key(length("3 mm", 0.02), "Least space between rows.", default=0.003)
    column_gap: float = key(length("6 mm", 0.03), "Space between columns.", default=0.006)
    grid: int | None = key(Whole(2, 24), "Columns of the page's grid, for rows with 'spans'.")
    papers: tuple[str, ...] = key(
        Each(Choice(tuple(PAPERS)), 6), "Papers the layout is made for, the usual one first.", default=USUAL
    )
    width: float | None = key(length("90 mm", 1.0, 0.03), "Width of a paper of its own, in place of 'papers'.")
    height: float | None = key(
        length("55 mm", 2.0, 0.02), "Height of a paper of its own; left out, the page ends with its content."
    )


@dataclass(frozen=True)
class TextSizes:
    """Sizes of the body text. [pt]"""

    preferred: float = key(_text_size(), "Where room allows.", default=8.2)
    smallest: float = key(_text_size(), "Nothing on the page is smaller.", default=5.6)


@dataclass(frozen=True)
class Numbers:
    """How figures are written."""

    decimal_mark: str = key(Choice(tuple(MARKS)), "Before the decimals, in figures set by the page.", default="point")
    uncertainty_digits: int = key(
        Whole(1, 2), "Significant digits of an uncertainty; the value has as many decimals.", default=2
    )


@dataclass(frozen=True)
class Layout:
    """One sheet."""

    rows: tuple[Part, ...] = key(Each(ROW, 40), "Parts from top to bottom.", required=True, default=())
    subject: str = key(Choice(tuple(SUBJECTS)), "What the sheet is about.", default=TEST)
    purpose: str = key(
        Choice((CERTIFICATE, TAG)),
        "A tag is a label beside the certificate: it takes the certificate's number and is kept in no archive.",
        default=CERTIFICATE,
    )
    inks: str = key(
        Choice((COLOUR, BLACK)), "'black' prints everything in full black, as thermal printers need.", default=COLOUR
    )
    pages: str = key(Choice((ONE, MANY)), "One page, or as many as it takes in the preferred text size.", default=ONE)
    language: str = key(_language(), "Language of the page, for screen readers and search.", default="en")
    page: Page = key(Group(Page), "Margin, gaps and paper.", default=Page())
    text: TextSizes = key(Group(TextSizes), "Text sizes.", default=TextSizes())
    numbers: Numbers = key(Group(Numbers), "How figures are written.", default=Numbers())
    blocks: Blocks = key(Group(Blocks), "Titles and heights, block by block.", default=Blocks())
    texts: Mapping[str, str] | None = key(TEXTS, "Fixed words of the page in other words, by key.")
    phrases: Mapping[str, str] | None = key(PHRASES, "Sentences and names out of the results in other words.")

    @property
    def words(self) -> Words:
        """The words of the page."""
        return Words(self.texts or {}, self.phrases or {})

    @property
    def papers(self) -> dict[str, Paper]:
        """The papers the layout can be printed on, by name, the usual one first."""
        if self.page.width is not None:
            height = None if self.page.height is None else self.page.height * 1000.0
            return {OWN: Paper(self.page.width * 1000.0, height)}
        return {name: PAPERS[name] for name in self.page.papers}
