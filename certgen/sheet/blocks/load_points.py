"""The points tested, in one panel or, when there are many, in two side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from certgen.assessment.results import Point
from certgen.sheet.blocks.rated_points import first_cells
from certgen.sheet.content import Content, quantities, rated_points
from certgen.sheet.layout import PointTable
from certgen.sheet.point_table import flag_notes, flagged, left_out_note, point_columns
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.table import LEFT, Column, Table, divided, narrowed, set_table

_PANEL_GAP = 2.5
#: Text of a table in two panels, in parts of the body text.
_PANEL_TEXT = 0.92


def load_points(content: Content, settings: PointTable) -> Block:
    """One row for each point tested, numbered in the order of the test."""
    points, words = content.results.points, content.words
    numbers = tuple(flagged(str(index), point) for index, point in enumerate(points, start=1))
    rated = rated_points(content.results, words)
    first = Column((words("load_points.number"),), numbers)
    if len(points) <= settings.rows_in_one_panel and rated:
        # one grid with the table of rated points
        first = Column((words("load_points.number"),), numbers, align=LEFT, among=(*numbers, *first_cells(content)))
    same = bool(rated) and _measured(points) == _measured([item.point for item in rated])
    columns = (first, *point_columns(points, content.units, [item.point for item in rated], words=words))
    remarks = "; ".join(f"{index}: {point.remark}" for index, point in enumerate(points, start=1) if point.remark)
    notes = [*flag_notes(points, words), *([words("load_points.remarks", remarks=remarks)] if remarks else [])]
    headed = not (settings.headings == "above" and len(points) <= settings.rows_in_one_panel and same)

    def part(start: int, end: int) -> Block:
        """Some of the points; the notes stand under the last of them."""
        table = Table(columns).part(start, end)
        title = f"{settings.title} {words('page.continued')}" if start and settings.title else settings.title

        def set_part(area: Area) -> Setting:
            flow = Flow(area)
            flow.title(title)
            left_out = _set_panels(flow, table, settings.rows_in_one_panel, headed=headed or start > 0)
            missing = [left_out_note(left_out, words)] if left_out else []
            for note in [*notes, *missing] if end == len(points) else []:
                flow.text(note, ink="muted")
            return flow.done()

        def inner(first: int, last: int) -> Block:
            return part(start + first, start + last)

        return Block(set_part, divide=lambda area, room: divided(inner, end - start, area, room))

    return part(0, len(points)) if len(columns) > 1 else _nothing(settings.title, words("load_points.none"))


def _nothing(title: str, said: str) -> Block:
    def set_nothing(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(title)
        flow.text(said)
        return flow.done()

    return Block(set_nothing)


def _measured(points: Sequence[Point]) -> set[str]:
    """The quantities that at least one of the points has."""
    return {name for point in points for name in quantities(point)}


def _set_panels(flow: Flow, table: Table, most_rows: int, *, headed: bool) -> tuple[Column, ...]:
    """Set the table in one or two panels, under headings or not; returns the columns that had to go."""
    area = flow.area
    count = 1 if table.rows <= most_rows else 2
    gap = _PANEL_GAP * area.size
    room = (area.width - gap * (count - 1)) / count
    table, left_out = narrowed(table, room / area.smallest)
    size = area.size if count == 1 else area.scaled(_PANEL_TEXT)
    lowest = 0.0
    for index, panel in enumerate(table.panels(count)):
        setting = set_table(panel, replace(area, width=room, size=size), headed=headed)
        flow.place(setting, index * (room + gap), advance=False)
        lowest = max(lowest, setting.height)
    flow.y += lowest
    return left_out
