"""The points read off the load curve: rated current, rated power, service-factor load, rated speed."""

from __future__ import annotations

from certgen.sheet import content as words
from certgen.sheet.content import Content
from certgen.sheet.layout import Titled
from certgen.sheet.point_table import flag_notes, flagged, point_columns
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.table import LEFT, Column, Table, narrowed, set_table


def rated_points(content: Content, settings: Titled) -> Block:
    """One row for each point that exists, and one for the greatest uncertainty of each quantity."""
    named = words.rated_points(content.results)
    points = [item.point for item in named]
    names = tuple(flagged(item.name, item.point) for item in named)
    factors = words.coverage_factors(quantity for point in points for quantity in words.quantities(point).values())
    read_off_by = [item.read_off_by for item in named] if factors else []
    columns = (
        Column(("At",), (*names, f"± at most, {factors}") if factors else names, align=LEFT),
        *point_columns(points, content.units, content.results.points, read_off_by=read_off_by),
    )
    notes = flag_notes(points)

    def set_rated_points(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if not named:
            flow.text("None: reading one off takes a load curve and a rating on the plate.")
            return flow.done()
        table, left_out = narrowed(Table(columns), area.width / area.smallest)
        flow.place(set_table(table, area))
        for note in notes:
            flow.text(note, ink="muted")
        if left_out:
            flow.text(left_out_note(left_out), ink="muted")
        return flow.done()

    return Block(set_rated_points)


def left_out_note(left_out: tuple[Column, ...]) -> str:
    """Which columns are not printed."""
    return "Not printed for lack of width: " + ", ".join(column.name for column in reversed(left_out)) + "."
