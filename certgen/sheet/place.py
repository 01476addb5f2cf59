"""The engine: every block measured, then given its place, before anything is drawn.

When a page is short of room, in this order: the text shrinks step by step to the layout's smallest while stretchable
blocks go from their preferred to their minimum height, parts that the layout marks go in their order and the page says
so, and in the end the page is refused. Room left over goes to stretchable blocks, then between the rows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from certgen.assessment.results import Results
from certgen.errors import PageOverflow
from certgen.sheet.content import Content, Digest
from certgen.sheet.layout_model import MANY, Layout
from certgen.sheet.logo import Logo
from certgen.sheet.measure import Box, Sized, boxes, greatest_stretch, size_of, total_height
from certgen.sheet.overflow import too_long
from certgen.sheet.page import Draft, PlacedPage, Sheet, empty_sheet, units_of
from certgen.sheet.pages import paged
from certgen.sheet.setting import Area, Block, Flow, Setting, TooNarrow
from certgen.sheet.svg_logo import DrawnLogo
from certgen.sheet.tree import OMITTED, Node, dropping_order, titles_of, without

__all__ = ["OMITTED", "Box", "PlacedPage", "compose", "compose_content"]

#: Steps by which the body text shrinks. [pt]
_STEP = 0.1
#: By how much heights grow with the text, roughly: lines become higher and more of them; only guides a search.
_GROWTH = 1.7
#: Room between rows may grow to this many times what the layout asks for; beyond it the page ends early.
_WIDEST_GAP = 2.5


def compose(
    results: Results,
    layout: Layout,
    *,
    paper: str,
    units: str,
    logo: Logo | DrawnLogo | None = None,
    digest: Digest | None = None,
) -> PlacedPage:
    """A place for every block of the layout that shows the results of one test.

    Raises
    ------
    PageOverflow
        The content does not fit within the limits of the layout.
    """
    return compose_content(Content(results, units_of(layout, units), layout.words, logo, digest), layout, paper)


def compose_content(content: Any, layout: Layout, paper: str) -> PlacedPage:
    """A place for every block of the layout, whatever it is about.

    Raises
    ------
    PageOverflow
        The content does not fit within the limits of the layout.
    WrongPaper
        The layout is not made for such a paper.
    """
    sheet = empty_sheet(content, layout, paper)
    if layout.pages == MANY:
        return paged(sheet)
    numbers = dropping_order(sheet.rows)
    for count in range(len(numbers) + 1):
        gone = tuple(titles_of(sheet.rows, number) for number in numbers[:count])
        draft = Draft(without(sheet.rows, numbers[:count]), gone)
        page = _fit(sheet, draft)
        if page is not None:
            return page
    raise PageOverflow(too_long(sheet, draft, sized_rows(sheet, draft, layout.text.smallest)))


def _omission(sheet: Sheet, titles: Sequence[str]) -> Node:
    """The line that names what was left out."""
    said = sheet.words("page.left_out", blocks=", ".join(titles))

    def set_omission(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(said, ink="muted")
        return flow.done()

    return Node(OMITTED, Block(set_omission))


def _fit(sheet: Sheet, draft: Draft) -> PlacedPage | None:
    """The page with these rows in the largest text that fits, or ``None``."""
    text = sheet.layout.text
    steps = round((text.preferred - text.smallest) / _STEP)
    sizes = [round(text.preferred - index * _STEP, 3) for index in range(steps)]
    sizes.append(text.smallest)
    found, at = None, len(sizes)  # the largest size that is known to fit
    low, tried = 0, 2 * len(sizes) // 3
    while low < at:
        sized, spare = _fitting(sheet, draft, sizes[tried])
        if spare >= 0.0:
            found, at = sized, tried
        else:
            low = tried + 1
        tried = _next_guess(sizes, tried, spare / sheet.room, (low, at))
    return None if found is None else _placed(sheet, found, sizes[at], draft.left_out)


def _next_guess(sizes: Sequence[float], tried: int, spare: float, between: tuple[int, int]) -> int:
    """Where to look next between the bounds: heights grow a little faster than the text, spare room tells how far."""
    low, high = between
    size = sizes[tried] * (1.0 + spare / _GROWTH) if math.isfinite(spare) else sizes[-1]
    wanted = next((index for index, one in enumerate(sizes) if one <= size), len(sizes) - 1)
    return min(max(wanted, low), high - 1)


def _fitting(sheet: Sheet, draft: Draft, size: float) -> tuple[list[Sized] | None, float]:
    """The rows at a text size, and the height they leave on the page: below zero where they do not fit. [pt]"""
    sized = sized_rows(sheet, draft, size)
    if sized is None:
        return None, -math.inf
    return sized, sheet.room - total_height(sized, _least_stretch(sheet, size), sheet.gap)


def _least_stretch(sheet: Sheet, size: float) -> float:
    """How far charts must reach towards their preferred height at a text size: text and charts shrink together."""
    text = sheet.layout.text
    return (size - text.smallest) / (text.preferred - text.smallest) if text.preferred > text.smallest else 0.0


def sized_rows(sheet: Sheet, draft: Draft, size: float) -> list[Sized] | None:
    """Every row measured at a text size; ``None`` where a block is too wide for it."""
    area = sheet.area(size)
    try:
        sized = [size_of(row, area, sheet.spacing) for row in draft.rows]
    except TooNarrow:
        return None
    if draft.left_out:
        sized.insert(max(0, len(sized) - 1), size_of(_omission(sheet, draft.left_out), area, sheet.spacing))
    return sized


def _placed(sheet: Sheet, rows: list[Sized], size: float, left_out: tuple[str, ...]) -> PlacedPage:
    """Boxes for rows that fit, stretched as far as the room goes; a strip ends with its content."""
    stretch = greatest_stretch(rows, sheet.room, sheet.gap, 2.0 if sheet.height else 1.0)
    taken = total_height(rows, stretch, sheet.gap)
    height = sheet.height or taken + 2 * sheet.margin
    spare = height - 2 * sheet.margin - taken
    gap = min(sheet.gap + spare / max(1, len(rows) - 1), _WIDEST_GAP * sheet.gap)
    placed: list[Box] = []
    y = sheet.margin
    for row in rows:
        own = row.height(stretch)
        placed.extend(boxes(row, sheet.margin, y, own, stretch))
        y += own + gap
    return PlacedPage(
        sheet.width,
        height,
        sheet.margin,
        size,
        tuple(placed),
        left_out,
        language=sheet.layout.language,
        black=sheet.black,
    )
