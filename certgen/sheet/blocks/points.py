"""The points tested, in one panel or, when there are many, in two side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from certgen.messages.format import KINDS, MISSING, Form, column, decimals_of, forms, spread_text
from certgen.quantity import Quantity
from certgen.results.model import Point
from certgen.sheet.content import FLAG_MEANINGS, FLAG_SIGNS, Content, coverage_factors, quantities, rated_points
from certgen.sheet.content import rated_points as read_off
from certgen.sheet.engine.layout import PointTable, Titled
from certgen.sheet.engine.setting import Area, Block, Flow, Setting
from certgen.sheet.engine.table import LEFT, Column, Table, divided, narrowed, set_table
from certgen.sheet.words import Words

# Load points as the columns of a table: only what was measured in at least one of them.


#: The quantities shown, each with how soon it goes when the table is too wide: 0 never, else the highest first.
_LEAVE = {
    "speed": 0,
    "slip": 2,
    "torque": 0,
    "shaft_power": 0,
    "input_power": 0,
    "apparent_power": 6,
    "current": 0,
    "voltage": 1,
    "power_factor": 0,
    "efficiency": 0,
    "losses": 4,
    "temperature": 3,
    "current_unbalance": 7,
    "voltage_unbalance": 8,
    "frequency": 9,
    "time": 10,
}
_ENGLISH = Words()
#: A column that says in the other system what its neighbour says already goes before all others.
_SECOND_SYSTEM = 20


def point_columns(
    points: Sequence[Point],
    units: str,
    among: Sequence[Point] = (),
    *,
    read_off_by: Sequence[str] = (),
    words: Words = _ENGLISH,
) -> tuple[Column, ...]:
    """The columns of some load points, in the order of the results.

    Digits and widths are those of the points ``among`` which these stand, so that two tables of the page agree.
    With ``read_off_by``, the quantity that defines each point, a last row holds each column's greatest expanded
    uncertainty.
    """
    everything = [*points, *among]
    columns: list[Column] = []
    for name, at_once in _LEAVE.items():
        items = [getattr(point, name) for point in everything]
        if all(item is None for item in items[: len(points)]):
            continue
        largest = max(abs(item.value) for item in items if item is not None)
        for index, form in enumerate(forms(KINDS[name], units, largest)):
            leave = _SECOND_SYSTEM + at_once if index else at_once
            called = words(f"name.{name}")
            called = words("name.in_unit", name=called, unit=form.sign) if index else called
            cells = column(items, form, spreads=False)
            own = cells[: len(points)]
            if read_off_by:
                doubtful = [item for item, by in zip(items, read_off_by, strict=False) if by != name]
                own += (_greatest_spread(doubtful, form, decimals_of(items, form, each=False)),)
            heading = heading_of(words, name)
            columns.append(Column(heading, own, form.sign, leave=leave, name=called, among=(*cells, *own)))
    return tuple(columns)


def heading_of(words: Words, name: str) -> tuple[str, ...]:
    """The heading of a column, a word a line."""
    return tuple(words(f"column.{name}").split())


def _greatest_spread(items: Sequence[Quantity | None], form: Form, decimals: int) -> str:
    """The greatest expanded uncertainty of a column; a dash where that of a figure in it is not known.

    Nothing where no figure is in doubt.
    """
    known = [item for item in items if item is not None]
    if not known:
        return ""
    if any(item.expanded_uncertainty is None for item in known):
        return MISSING
    return spread_text(max(known, key=lambda item: item.expanded_uncertainty or 0.0), form, decimals)


def flagged(name: str, point: Point) -> str:
    """The name of a point with the signs of its flags."""
    return name + "".join(sign for flag, sign in FLAG_SIGNS.items() if flag in point.flags)


def flag_notes(points: Sequence[Point], words: Words = _ENGLISH) -> tuple[str, ...]:
    """The meaning of every sign that stands at one of the points."""
    return tuple(
        words(meaning, sign=FLAG_SIGNS[flag])
        for flag, meaning in FLAG_MEANINGS.items()
        if any(flag in point.flags for point in points)
    )


def left_out_note(left_out: Sequence[Column], words: Words = _ENGLISH) -> str:
    """Which columns are not printed."""
    return words("page.columns_left_out", columns=", ".join(column.name for column in reversed(left_out)))


# The points read off the load curve: rated current, rated power, service-factor load, rated speed.


def first_cells(content: Content) -> tuple[str, ...]:
    """The first cell of each row: the names of the points, and what the last row holds."""
    words, factors = content.words, _factors(content)
    names = tuple(flagged(item.name, item.point) for item in read_off(content.results, words))
    return (*names, words("rated_points.at_most", factors=factors)) if factors else names


def _factors(content: Content) -> str:
    points = [item.point for item in read_off(content.results, content.words)]
    known = (quantity for point in points for quantity in quantities(point).values())
    return coverage_factors(known, content.units, content.words)


def rated_points_block(content: Content, settings: Titled) -> Block:
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
            flow.text(note)
        if left_out:
            flow.text(left_out_note(left_out, words))
        return flow.done()

    return Block(set_rated_points)


# The points tested, in one panel or, when there are many, in two side by side.


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
                flow.text(note)
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
