"""Two tests of one motor beside each other."""

from __future__ import annotations

from functools import partial

from certgen.assessment.results import Comparison, Difference
from certgen.quantity import Quantity
from certgen.sheet.content import Content
from certgen.sheet.figures import column, forms, kind_of
from certgen.sheet.fonts import BOLD
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting, side_by_side
from certgen.sheet.table import LEFT, RIGHT, Column, Table, natural_width, set_table

#: Rows from which a table stands in two panels, and the gap between them in parts of the text size.
_LONG, _PANEL_GAP = 6, 3.0


def comparisons(content: Content, settings: Titled) -> Block | None:
    """One table a comparison, side by side; nothing where only one test was made."""
    found = content.results.comparisons
    if not found:
        return None

    def set_comparisons(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        parts = [(1.0, partial(_set_one, one, content)) for one in found]
        flow.place(side_by_side(area, parts, 2.0 * area.size))
        return flow.done()

    return Block(set_comparisons)


def _set_one(found: Comparison, content: Content, area: Area) -> Setting:
    flow = Flow(area)
    flow.text(content.says(found.title), face=BOLD)
    if found.differences:
        flow.place(_set_panels(comparison_table(found, content), area))
    if found.note:
        flow.text(content.says(found.note), ink="muted")
    return flow.done()


def _set_panels(table: Table, area: Area) -> Setting:
    """A long table in two panels side by side, where the area is wide enough for both."""
    gap = _PANEL_GAP * area.size
    room = (area.width - gap) / 2
    if table.rows < _LONG or natural_width(table) * area.size > room:
        return set_table(table, area)
    half = -(-table.rows // 2)
    panels = (table.part(0, half), table.part(half, table.rows))
    return side_by_side(area, [(1.0, partial(set_table, panel)) for panel in panels], gap)


def comparison_table(found: Comparison, content: Content) -> Table:
    """Quantity, the two values, their difference, and the unit."""
    rows = [_row(one, content) for one in found.differences]
    words = content.words
    titles, first, second, change, signs = zip(*rows, strict=True)
    return Table(
        (
            Column((words("column.quantity"),), titles, align=LEFT),
            Column((content.says(found.first),), first, align=RIGHT),
            Column((content.says(found.second),), second, align=RIGHT),
            Column((words("column.change"),), change, align=RIGHT),
            Column((words("column.unit"),), signs, align=LEFT),
        )
    )


def _row(one: Difference, content: Content) -> tuple[str, str, str, str, str]:
    unit, first, second = one.unit, one.first, one.second
    kind = kind_of(unit, one.title.lower().replace(" ", "_"))
    form = forms(kind, content.units, max(abs(first), abs(second)))[0]
    before, after = column([Quantity(first, unit), Quantity(second, unit)], form)
    difference = form.value(second) - form.value(first)
    change = form.number(difference, form.places([form.value(first), form.value(second)]))
    return content.says(one.title), before, after, f"+{change}" if difference > 0 else change, form.sign
