"""The whole uncertainty budget of the rated figures as a laboratory checks it, a line for each input."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.messages.format import KINDS, as_units, single
from certgen.results.model import BudgetLine
from certgen.sheet.blocks.losses import budget_lines, figure_at
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, Flow, Setting
from certgen.sheet.engine.table import LEFT, RIGHT, Column, Table, set_table
from certgen.sheet.pdf.fonts import BOLD
from certgen.sheet.words import Words

#: A line that makes less of the variance than this is left to the data embedded. [1]
_LEAST_SHARE = 5e-5
#: Between these a number is written without powers of ten.
_PLAIN = (1e-5, 1e6)


def budget_table(content: Content, settings: Titled) -> Block | None:
    """For each rated figure every input with estimate, half-width, distribution, divisor and what it contributes.

    References
    ----------
    JCGM 100:2008, 7.2.7; EA-4/02 M:2022, section 6: what a report of uncertainty lists.
    """
    budget = budget_lines(content.results, every=True)
    if not budget:
        return None

    def set_tables(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        for lines in budget:
            flow.text(_caption(lines[0], content), face=BOLD)
            flow.place(set_table(_table(lines, content), area))
            flow.space(0.3)
        return flow.done()

    return Block(set_tables)


def _caption(line: BudgetLine, content: Content) -> str:
    words = content.words
    item, at = figure_at(line, content)
    called = words(f"name.{line.quantity}")
    value = single(item, KINDS[line.quantity], content.units)
    return words("budget.full", quantity=called[:1].upper() + called[1:], value=value, point=at)


def _table(lines: Sequence[BudgetLine], content: Content) -> Table:
    """The lines as columns, each figure with its unit."""
    shown, words = [line for line in lines if line.share >= _LEAST_SHARE], content.words
    unit, page = {"shaft_power": "W", "current": "A"}.get(lines[0].quantity, ""), as_units(content.units)

    def column(name: str, cells: Sequence[str], align: str = RIGHT) -> Column:
        written = tuple(page.written(cell) for cell in cells)
        return Column(tuple(words(f"budget.column.{name}").split()), written, align=align)

    inputs = Column(
        (words("budget.column.input"),), tuple(_input(line, content) for line in shown), align=LEFT, share=1.0
    )
    return Table(
        (
            inputs,
            column("estimate", [_with_unit(line.estimate or 0.0, 5, line.unit) for line in shown]),
            column("half_width", [_half_width(line, words) for line in shown]),
            column("divisor", [_divisor(line, words) for line in shown]),
            column("standard", [_with_unit(line.standard_uncertainty, 3, line.unit) for line in shown]),
            column("freedom", [_freedom(line, words) for line in shown]),
            column("sensitivity", [_figure(line.sensitivity, 3) for line in shown]),
            column("contribution", [_with_unit(line.contribution, 3, unit) for line in shown]),
        )
    )


def _input(line: BudgetLine, content: Content) -> str:
    named = content.says(line.input)
    if line.full_scale is None:
        return named
    on = _with_unit(line.full_scale, 4, line.unit)
    return f"{named}, {content.words('budget.column.range', range=on)}"


def _half_width(line: BudgetLine, words: Words) -> str:
    return words("budget.scatter") if line.half_width is None else _with_unit(line.half_width, 3, line.unit)


def _divisor(line: BudgetLine, words: Words) -> str:
    return f"{line.divisor:.3g} {words(f'distribution.{line.distribution}')}"


def _freedom(line: BudgetLine, words: Words) -> str:
    return words("budget.infinite") if line.degrees_of_freedom is None else f"{line.degrees_of_freedom:.3g}"


def _with_unit(value: float, digits: int, unit: str) -> str:
    text = _figure(value, digits)
    return text if unit in ("", "1") else f"{text} {unit.replace('*', '·').replace('^2', '²')}"


def _figure(value: float, digits: int) -> str:
    """A number with so many digits that count, by powers of ten only where it is very small or very large."""
    text = f"{value:.{digits}g}"
    if "e" not in text or not _PLAIN[0] <= abs(value) < _PLAIN[1]:
        return text
    return f"{float(text):.{digits + 5}f}".rstrip("0").rstrip(".")
