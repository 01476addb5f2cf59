"""Two tests of one motor beside each other."""

from __future__ import annotations

from functools import partial

from certgen.assessment.results import Comparison
from certgen.quantity import Quantity
from certgen.sheet.content import Content
from certgen.sheet.figures import column, forms, kind_of, number
from certgen.sheet.fonts import BOLD
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting, side_by_side
from certgen.sheet.table import LEFT, RIGHT, Column, Table, set_table


def comparisons(content: Content, settings: Titled) -> Block | None:
    """One table a comparison, side by side; nothing where only one test was made."""
    found = content.results.comparisons
    if not found:
        return None

    def set_comparisons(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        parts = [(1.0, partial(_set_one, one, content.units)) for one in found]
        flow.place(side_by_side(area, parts, 2.0 * area.size))
        return flow.done()

    return Block(set_comparisons)


def _set_one(found: Comparison, units: str, area: Area) -> Setting:
    flow = Flow(area)
    flow.text(found.title, face=BOLD)
    if found.differences:
        flow.place(set_table(comparison_table(found, units), area))
    if found.note:
        flow.text(found.note, ink="muted")
    return flow.done()


def comparison_table(found: Comparison, units: str) -> Table:
    """Quantity, the two values, their difference, and the unit."""
    rows = [_row(one.title, one.unit, one.first, one.second, units) for one in found.differences]
    titles, first, second, change, signs = zip(*rows, strict=True)
    return Table(
        (
            Column(("Quantity",), titles, align=LEFT),
            Column((found.first,), first, align=RIGHT),
            Column((found.second,), second, align=RIGHT),
            Column(("Change",), change, align=RIGHT),
            Column(("Unit",), signs, align=LEFT),
        )
    )


def _row(title: str, unit: str, first: float, second: float, units: str) -> tuple[str, str, str, str, str]:
    kind = kind_of(unit, title.lower().replace(" ", "_"))
    form = forms(kind, units, max(abs(first), abs(second)))[0]
    before, after = column([Quantity(first, unit), Quantity(second, unit)], form)
    difference = form.value(second) - form.value(first)
    change = number(difference, form.places([form.value(first), form.value(second)]))
    return title, before, after, f"+{change}" if difference > 0 else change, form.sign
