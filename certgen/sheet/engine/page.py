"""A page: empty, with what is to stand on it; and placed, ready to be drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from certgen.errors import WrongPaper
from certgen.messages.format import Units
from certgen.sheet.engine.appearance import MARKS
from certgen.sheet.engine.layout import BLACK, OWN, Layout, Paper
from certgen.sheet.engine.measure import Box, Spacing
from certgen.sheet.engine.setting import MM, Area
from certgen.sheet.engine.tree import Node, grown
from certgen.sheet.pdf.pdf_operators import Ink


@dataclass(frozen=True)
class PlacedPage:
    """A page ready to be drawn, with those that follow it. [pt]"""

    width: float
    height: float
    margin: float
    text_size: float
    boxes: tuple[Box, ...]
    left_out: tuple[str, ...]
    following: tuple[PlacedPage, ...] = ()
    language: str = "en"
    black: bool = False  # every ink but the paper's is black
    colours: Mapping[str, Ink] = field(default_factory=dict)  # of inks that the layout gives a colour of its own

    @property
    def pages(self) -> tuple[PlacedPage, ...]:
        """This page and those that follow."""
        return (self, *self.following)


@dataclass(frozen=True)
class Sheet:
    """The empty page and what is to stand on it. [pt]"""

    layout: Layout
    rows: tuple[Node, ...]
    paper: str
    width: float
    height: float | None
    most: float
    margin: float
    spacing: Spacing
    words: Any
    before: int = 0  # pages of the same document that stand before this sheet's, and after
    after: int = 0

    @property
    def room(self) -> float:
        """Height between the margins; of a strip, the most there may be."""
        return (self.height or self.most) - 2 * self.margin

    @property
    def black(self) -> bool:
        """Whether everything is printed in black."""
        return self.layout.inks == BLACK

    @property
    def breadth(self) -> float:
        """Width between the margins."""
        return self.width - 2 * self.margin

    @property
    def gap(self) -> float:
        """Least space between rows."""
        return self.spacing.gap

    def area(self, size: float) -> Area:
        """The room of a row at a text size."""
        return Area(self.breadth, size, self.layout.text.smallest, page=self.number_of(1, 1))

    def number_of(self, index: int, count: int) -> tuple[int, int]:
        """The number of one of the sheet's pages in the document, and how many that has."""
        return self.before + index, self.before + count + self.after


@dataclass(frozen=True)
class Draft:
    """The rows that are to fit, and the titles of those left out."""

    rows: tuple[Node, ...]
    left_out: tuple[str, ...] = ()


def units_of(layout: Layout, system: str) -> Units:
    """The reader's units, written as the layout writes figures."""
    mark = layout.numbers.decimal_mark
    return Units(system, MARKS[mark] if mark else "", layout.numbers.uncertainty_digits, language=layout.spoken)


def chosen_paper(layout: Layout, asked: str) -> tuple[str, Paper]:
    """The paper asked for, or the usual one of a layout that is made for papers of its own.

    Raises
    ------
    WrongPaper
        The layout is made for several of the usual papers, and not for this one.
    """
    papers = layout.papers
    if asked in papers:
        return asked, papers[asked]
    first = next(iter(papers))
    if first == OWN or not {"a4", "letter"} & set(papers):
        return first, papers[first]
    raise WrongPaper(f"the layout is not made for the paper {asked}; choose one of: {', '.join(papers)}.")


def empty_sheet(content: Any, layout: Layout, asked: str) -> Sheet:
    """The page for a content, its rows grown, nothing measured yet."""
    name, paper = chosen_paper(layout, asked)
    margin, gap, column_gap = (
        length * 1000.0 * MM for length in (layout.page.margin, layout.page.gap, layout.page.column_gap)
    )
    return Sheet(
        layout,
        grown(layout, content, paper.width * MM - 2 * margin),
        name,
        paper.width * MM,
        None if paper.height is None else paper.height * MM,
        paper.most * MM,
        margin,
        Spacing(gap, column_gap),
        content.words,
    )
