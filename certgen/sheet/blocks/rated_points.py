"""The points read off the load curve: rated current, rated power, service-factor load, rated speed."""

from __future__ import annotations

from certgen.sheet.content import Content, coverage_factors, quantities
from certgen.sheet.content import rated_points as read_off
from certgen.sheet.layout import Titled
from certgen.sheet.point_table import flag_notes, flagged, left_out_note, point_columns
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.table import LEFT, Column, Table, narrowed, set_table


def first_cells(content: Content) -> tuple[str, ...]:
    """The first cell of each row: the names of the points, and what the last row holds."""
    words, factors = content.words, _factors(content)
    names = tuple(flagged(item.name, item.point) for item in read_off(content.results, words))
    return (*names, words("rated_points.at_most", factors=factors)) if factors else names


def _factors(content: Content) -> str:
    points = [item.point for item in read_off(content.results, content.words)]
    known = (quantity for point in points for quantity in quantities(point).values())
    return coverage_factors(known, content.units, content.words)


def rated_points(content: Content, settings: Titled) -> Block:
    """One row for each point that exists, and one for the greatest uncertainty of each quantity."""
    words = content.words
    named = read_off(content.results, words)
    points = [item.point for item in named]
    factors = _factors(content)
    read_off_by = [item.read_off_by for item in named] if factors else []
    columns = (
        Column((words("rated_points.at"),), first_cells(content), align=LEFT),
        *point_columns(points, content.units, content.results.points, read_off_by=read_off_by, words=words),
    )
    whole, notes = Table(columns), flag_notes(points, words)

    def set_rated_points(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if not named:
            flow.text(words("rated_points.none"))
            return flow.done()
        table, left_out = narrowed(whole, area.width / area.smallest)
        flow.place(set_table(table, area))
        for note in notes:
            flow.text(note, ink="muted")
        if left_out:
            flow.text(left_out_note(left_out, words), ink="muted")
        return flow.done()

    return Block(set_rated_points)
