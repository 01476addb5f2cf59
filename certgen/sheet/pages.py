"""A sheet of several pages: rows set in the preferred text, broken between parts and within tables, heads repeated."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from certgen.errors import PageOverflow
from certgen.sheet.measure import Box, Sized, boxes, size_of, total_height
from certgen.sheet.overflow import too_high_for_a_page, too_long
from certgen.sheet.page import Draft, PlacedPage, Sheet
from certgen.sheet.setting import Area, TooNarrow
from certgen.sheet.tree import Node

#: What a page number is measured with: no sheet has more pages.
_MOST_PAGES = 999
_STRETCH = 1.0


def paged(sheet: Sheet) -> PlacedPage:
    """As many pages as the rows take.

    Raises
    ------
    PageOverflow
        A part is too wide for its column or too high for a page.
    """
    head, body, foot = _split(sheet.rows)
    area = replace(sheet.area(sheet.layout.text.preferred), page=(_MOST_PAGES, _MOST_PAGES))
    try:
        fixed = [size_of(node, area, sheet.spacing) for node in (*head, *foot)]
        room = sheet.room - sum(part.height(_STRETCH) + sheet.gap for part in fixed)
        stacks = _broken(sheet, list(body), area, room)
    except TooNarrow:
        draft = Draft(sheet.rows)
        raise PageOverflow(too_long(sheet, draft, None)) from None
    count = len(stacks)
    pages = [_page(sheet, (head, stack, foot), (index, count)) for index, stack in enumerate(stacks, start=1)]
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
        cut = _cut(group, area, left - (sheet.gap if stacks[-1] else 0.0))
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


def _page(sheet: Sheet, parts: tuple[list[Node], list[Node], list[Node]], number: tuple[int, int]) -> PlacedPage:
    """One page: its head and rows from the top down, its foot at the bottom."""
    size = sheet.layout.text.preferred
    area = replace(sheet.area(size), page=number)
    head, body, foot = ([size_of(node, area, sheet.spacing) for node in nodes] for nodes in parts)
    placed: list[Box] = []
    bottom = _down(placed, [*head, *body], sheet.margin, sheet) if head or body else sheet.margin
    if foot:
        own = total_height(foot, _STRETCH, sheet.gap)
        top = sheet.height - sheet.margin - own if sheet.height else bottom + sheet.gap
        bottom = _down(placed, foot, top, sheet)
    height = sheet.height or bottom + sheet.margin
    language, black = sheet.layout.language, sheet.black
    return PlacedPage(sheet.width, height, sheet.margin, size, tuple(placed), (), language=language, black=black)


def _down(placed: list[Box], rows: Sequence[Sized], top: float, sheet: Sheet) -> float:
    """Place rows one below the other; returns their lower edge."""
    y = top
    for row in rows:
        own = row.height(_STRETCH)
        placed.extend(boxes(row, sheet.margin, y, own, _STRETCH))
        y += own + sheet.gap
    return y - sheet.gap
