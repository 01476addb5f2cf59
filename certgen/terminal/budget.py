"""The uncertainty budget in the terminal, as ``certgen check --budget`` prints it."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.messages.catalogue import Message, text_of
from certgen.messages.format import SI, Units, as_units
from certgen.quantity import Quantity
from certgen.results.model import BudgetLine, Results

#: Figures whose budgets are printed, by their name in the results.
_BUDGETS = ("shaft_power", "torque", "efficiency")
_HEADINGS = (
    "input", "estimate", "range", "half_width", "distribution", "divisor", "standard", "freedom", "sensitivity",
    "contribution", "share",
)  # fmt: skip


def budget_text(results: Results, units: str = SI) -> str:
    """Every line of the budgets of power, torque and efficiency, in SI; what stands in the way where there is none.

    ``units`` gives the language alone, where it has one.
    """
    page = as_units(units)
    in_si = Units(SI, page.mark, page.digits, page.writing, page.language)
    return "\n".join(_lines(results, in_si))


def _lines(results: Results, page: Units) -> Iterator[str]:
    known = {name: [line for line in results.budget if line.quantity == name] for name in _BUDGETS}
    if not any(known.values()):
        yield text_of(Message("terminal.budget.none"), units=page)
        return
    for name, lines in known.items():
        if lines:
            yield from _budget(name, lines, results, page)


def _budget(name: str, lines: list[BudgetLine], results: Results, page: Units) -> Iterator[str]:
    item = _figure(name, lines[0].at, results)
    yield text_of(_heading(Message(f"name.{name}"), _place(lines[0].at), item, page), units=page)
    headings = tuple(text_of(Message(f"terminal.budget.column.{column}"), units=page) for column in _HEADINGS)
    rows = [headings, *(_row(line, "" if item is None else item.unit, page) for line in lines)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEADINGS))]
    for row in rows:
        yield "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def _figure(name: str, at: str, results: Results) -> Quantity | None:
    point = results.points[int(at[7:-1])] if at.startswith("points[") else getattr(results, at)
    figure: Quantity | None = None if point is None else getattr(point, name)
    return figure


def _place(at: str) -> Message:
    if at.startswith("points["):
        return Message("terminal.place.load_point", number=int(at[7:-1]) + 1)
    return Message(f"terminal.budget.{at}")


def _heading(name: Message, place: Message, item: Quantity | None, page: Units) -> Message:
    """The figure with its expanded uncertainty, as far as it is known."""
    if item is None:
        return Message("terminal.budget.of", name=name, place=place)
    figure = _with_unit(page.written(f"{item.value:.6g}"), item.unit)
    if item.expanded_uncertainty is None or item.coverage_factor is None:
        return Message("terminal.budget.of_figure", name=name, place=place, figure=figure)
    return Message(
        "terminal.budget.of_uncertain_figure",
        name=name,
        place=place,
        figure=figure,
        standard=item.expanded_uncertainty / item.coverage_factor,
        expanded=item.expanded_uncertainty,
        factor=item.coverage_factor,
    )


def _row(line: BudgetLine, unit: str, page: Units) -> tuple[str, ...]:
    freedom = line.degrees_of_freedom
    infinite = text_of(Message("terminal.budget.infinite"), units=page)
    return (
        text_of(line.input, units=page),
        "" if line.estimate is None else _with_unit(page.written(f"{line.estimate:.5g}"), line.unit),
        "" if line.full_scale is None else _with_unit(page.written(f"{line.full_scale:.5g}"), line.unit),
        "" if line.half_width is None else _with_unit(page.written(f"{line.half_width:.3g}"), line.unit),
        text_of(Message(f"distribution.{line.distribution}"), units=page),
        page.written(f"{line.divisor:.3g}"),
        _with_unit(page.written(f"{line.standard_uncertainty:.3g}"), line.unit),
        infinite if freedom is None else page.written(f"{freedom:.3g}"),
        page.written(f"{line.sensitivity:.4g}"),
        _with_unit(page.written(f"{line.contribution:.3g}"), unit),
        page.written(f"{100.0 * line.share:.1f}") + " %",
    )


def _with_unit(text: str, unit: str) -> str:
    return text if unit in ("", "1") else f"{text} {unit.replace('*', '·').replace('^2', '²').replace('ohm', 'Ω')}"
