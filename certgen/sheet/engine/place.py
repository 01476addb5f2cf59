"""The engine: every block measured, then given its place, before anything is drawn.

When a page is short of room, in this order: the text shrinks step by step to the layout's smallest while stretchable
blocks go from their preferred to their minimum height, parts that the layout marks go in their order and the page says
so, and in the end the page is refused. Room left over goes to stretchable blocks, then between the rows.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from certgen.errors import PageOverflow
from certgen.job.pictures import Picture
from certgen.results.model import Results
from certgen.sheet.blocks.registry import blocks_for
from certgen.sheet.content import Content, Digest
from certgen.sheet.engine.layout import CERTIFICATE, MANY, Layout
from certgen.sheet.engine.measure import (
    Box,
    Sized,
    boxes,
    column_widths,
    greatest_stretch,
    leaves,
    size_of,
    total_height,
)
from certgen.sheet.engine.page import Draft, PlacedPage, Sheet, empty_sheet, units_of
from certgen.sheet.engine.setting import MM, Area, Block, Flow, Setting, TooNarrow
from certgen.sheet.engine.tree import OMITTED, Node, dropping_order, titles_of, without
from certgen.sheet.pdf.logo import DrawnLogo, Logo

# Why a sheet does not fit: which block, by how much, and what can be changed.


def too_long(sheet: Sheet, draft: Draft, sized: Sequence[Sized] | None) -> str:
    """What does not fit, by how much, and what can be changed."""
    smallest = sheet.layout.text.smallest
    narrow = _too_narrow(sheet, draft.rows)
    if narrow is not None:
        name, excess = narrow
        return (
            f"the block '{name}' is {excess / MM:.1f} mm too wide for its column, even in the smallest text "
            f"({smallest:g} pt); give its column a larger share in the layout, or {advice(name)}."
        )
    excess = total_height(sized or [], 0.0, sheet.gap) - sheet.room
    tallest = max(_blocks(sized or []), key=lambda block: block.height(0.0))
    return (
        f"the sheet does not fit on one page ({sheet.paper}) by {excess / MM:.1f} mm, even in the smallest text "
        f"({smallest:g} pt); the block '{tallest.node.name}' takes most, {tallest.height(0.0) / MM:.1f} mm: "
        f"{advice(tallest.node.name)}, or change text.smallest or the rows of the layout."
    )


def too_high_for_a_page(sheet: Sheet, sized: Sized, excess: float) -> str:
    """A part that no page is high enough for."""
    tallest = max(_blocks([sized]), key=lambda block: block.height(1.0))
    return (
        f"the block '{tallest.node.name}' is {excess / MM:.1f} mm too high for a page ({sheet.paper}); "
        f"{advice(tallest.node.name)}, or change text.preferred or the rows of the layout."
    )


def advice(name: str) -> str:
    """What shortens a block."""
    kind = blocks_for(name).get(name)
    return "shorten the texts of the layout" if kind is None else kind.advice


def _blocks(sized: Sequence[Sized]) -> list[Sized]:
    return [leaf for leaf in leaves(sized) if leaf.node.name != OMITTED]


def _too_narrow(sheet: Sheet, rows: Sequence[Node]) -> tuple[str, float] | None:
    """The first block that cannot be set in its column, with its excess."""
    smallest = sheet.layout.text.smallest
    for leaf, width in _leaf_widths(rows, sheet.breadth, sheet.spacing.column_gap):
        try:
            size_of(leaf, Area(width, smallest, smallest), sheet.spacing)
        except TooNarrow as cause:
            return leaf.name, cause.excess
    return None


def _leaf_widths(nodes: Sequence[Node], width: float, gap: float) -> Iterator[tuple[Node, float]]:
    for node in nodes:
        if node.block is not None:
            yield node, width
        else:
            for column, own in zip(node.columns, column_widths(node, width, gap), strict=True):
                yield from _leaf_widths(column, own, gap)


# A sheet of several pages: rows set in the preferred text, broken between parts and within tables, heads repeated.


#: A table lower than this part of a page goes over to the next page whole rather than in two pieces.
_WHOLE = 0.22
#: What a page number is measured with: no sheet has more pages.
_MOST_PAGES = 999
_STRETCH = 1.0


def paged(sheet: Sheet) -> PlacedPage:
    """As many pages as the rows take, in the preferred text, or in the largest below it that is not too wide.

    Raises
    ------
    PageOverflow
        A part is too wide for its column or too high for a page.
    """
    text = sheet.layout.text
    for step in range(round((text.preferred - text.smallest) / _STEP) + 1):
        try:
            return _paged(sheet, max(text.smallest, text.preferred - step * _STEP))
        except TooNarrow:
            continue
    raise PageOverflow(too_long(sheet, Draft(sheet.rows), None))


def _paged(sheet: Sheet, size: float) -> PlacedPage:
    """The pages in text of a size [pt]; raises ``TooNarrow`` where a part is too wide for its column."""
    head, body, foot = _split(sheet.rows)
    area = replace(sheet.area(size), page=(_MOST_PAGES, _MOST_PAGES))
    fixed = [size_of(node, area, sheet.spacing) for node in (*head, *foot)]
    room = sheet.room - sum(part.height(_STRETCH) + sheet.gap for part in fixed)
    stacks = _broken(sheet, list(body), area, room)
    count = len(stacks)
    pages = [
        _page(sheet, (head, stack, foot), sheet.number_of(index, count), size, again=index > 1)
        for index, stack in enumerate(stacks, start=1)
    ]
    return replace(pages[0], following=tuple(pages[1:]))


def _split(rows: Sequence[Node]) -> tuple[list[Node], list[Node], list[Node]]:
    """The rows repeated at the head of every page, those in between, and those repeated at the foot."""
    first = next((index for index, row in enumerate(rows) if not row.every_page), len(rows))
    last = next((index for index, row in enumerate(reversed(rows)) if not row.every_page), len(rows))
    end = max(first, len(rows) - last)
    return list(rows[:first]), list(rows[first:end]), list(rows[end:])


def _broken(sheet: Sheet, waiting: list[Node], area: Area, room: float) -> list[list[Node]]:
    """The rows of each page: as many as fit, a table cut where the page ends."""
    stacks: list[list[Node]] = [[]]
    left = room
    while waiting:
        group = _together(waiting)
        sized = [size_of(node, area, sheet.spacing) for node in group]
        needed = total_height(sized, _STRETCH, sheet.gap) + (sheet.gap if stacks[-1] else 0.0)
        if needed <= left + 1e-6:
            stacks[-1].extend(group)
            left -= needed
            del waiting[: len(group)]
            continue
        short = bool(stacks[-1]) and needed < _WHOLE * room
        cut = None if short else _cut(group, area, left - (sheet.gap if stacks[-1] else 0.0))
        if cut is not None:
            stacks[-1].append(cut[0])
            waiting[0] = cut[1]
        elif not stacks[-1]:
            worst = max(sized, key=lambda part: part.height(_STRETCH))
            raise PageOverflow(too_high_for_a_page(sheet, worst, needed - room))
        stacks.append([])
        left = room
    return stacks


def _together(waiting: Sequence[Node]) -> list[Node]:
    """The next row, and those it may not be parted from."""
    group = [waiting[0]]
    for before, node in pairwise(waiting):
        if not before.keep_with_next:
            break
        group.append(node)
    return group


def _cut(group: Sequence[Node], area: Area, room: float) -> tuple[Node, Node] | None:
    """A block alone in its row cut in two, the first part no higher than the room; ``None`` where it cannot be."""
    node = group[0]
    if len(group) > 1 or node.block is None or node.block.divide is None or node.caption:
        return None
    scaled = replace(area, size=area.scaled(node.scale))
    parts = node.block.divide(scaled, room)
    return None if parts is None else (replace(node, block=parts[0]), replace(node, block=parts[1]))


def _page(
    sheet: Sheet,
    parts: tuple[list[Node], list[Node], list[Node]],
    number: tuple[int, int],
    size: float,
    *,
    again: bool,
) -> PlacedPage:
    """One page: its head and rows from the top down, its foot at the bottom; head and foot may have stood before."""
    area = replace(sheet.area(size), page=number)
    head, body, foot = ([size_of(node, area, sheet.spacing) for node in nodes] for nodes in parts)
    placed: list[Box] = []
    bottom = _down(placed, [*head, *body], sheet.margin, sheet) if head or body else sheet.margin
    names = {leaf.node.name for leaf in leaves([*head, *foot])} if again else set()
    if foot:
        own = total_height(foot, _STRETCH, sheet.gap)
        top = sheet.height - sheet.margin - own if sheet.height else bottom + sheet.gap
        bottom = _down(placed, foot, top, sheet)
    height = sheet.height or bottom + sheet.margin
    language, black = sheet.layout.tag, sheet.black
    marked = tuple(replace(box, repeated=True) if box.name in names else box for box in placed)
    return PlacedPage(
        sheet.width, height, sheet.margin, size, marked, (), (), language, black, sheet.layout.colours.inks
    )


def _down(placed: list[Box], rows: Sequence[Sized], top: float, sheet: Sheet) -> float:
    """Place rows one below the other; returns their lower edge."""
    y = top
    for row in rows:
        own = row.height(_STRETCH)
        placed.extend(boxes(row, sheet.margin, y, own, _STRETCH))
        y += own + sheet.gap
    return y - sheet.gap


# The engine: every block measured, then given its place, before anything is drawn.
#
# When a page is short of room, in this order: the text shrinks step by step to the layout's smallest while
# stretchable blocks go from their preferred to their minimum height, parts that the layout marks go in their order
# and the page says so, and in the end the page is refused. Room left over goes to stretchable blocks, then between
# the rows.


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
    record: Layout | None = None,
    pictures: tuple[Picture, ...] = (),
) -> PlacedPage:
    """A place for every block of the layout that shows the results of one test; its record follows where asked.

    Raises
    ------
    PageOverflow
        The content does not fit within the limits of the layout.
    """
    content = Content(results, units_of(layout, units), layout.words, logo, digest, pictures)
    if record is None:
        return compose_content(content, layout, paper)
    evidence = Content(results, units_of(record, units), record.words, logo, pictures=pictures)
    following = compose_content(evidence, record, paper, before=1)
    page = compose_content(content, layout, paper, after=len(following.pages))
    return replace(page, following=(*page.following, *following.pages))


def compose_content(content: Any, layout: Layout, paper: str, *, before: int = 0, after: int = 0) -> PlacedPage:
    """A place for every block of the layout, whatever it is about; so many pages stand before and after it.

    Raises
    ------
    PageOverflow
        The content does not fit within the limits of the layout.
    WrongPaper
        The layout is not made for such a paper.
    """
    sheet = replace(empty_sheet(content, layout, paper), before=before, after=after)
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
    key = "page.on_record" if sheet.layout.purpose == CERTIFICATE else "page.left_out"
    said = sheet.words(key, blocks=", ".join(titles))

    def set_omission(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(said)
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
    """Where to look next between the bounds: heights grow a little faster than the text, spare room says how far."""
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
        language=sheet.layout.tag,
        black=sheet.black,
        colours=sheet.layout.colours.inks,
    )
