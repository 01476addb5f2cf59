"""The uncertainty budget told in the terminal, as ``certgen check --budget`` prints it."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.quantity import Quantity
from certgen.results.model import BudgetLine, Results

#: Figures whose budgets are told, by their name in the results.
_TOLD = ("shaft_power", "torque", "efficiency")
_HEADINGS = ("input", "estimate", "standard", "distribution", "freedom", "sensitivity", "contribution", "share")


def budget_told(results: Results) -> str:
    """Every line of the budgets of power, torque and efficiency, in SI; what stands in the way where there is none."""
    return "\n".join(_lines(results))


def _lines(results: Results) -> Iterator[str]:
    known = {name: [line for line in results.budget if line.quantity == name] for name in _TOLD}
    if not any(known.values()):
        yield "uncertainty budget: none, as too little is stated; see 'not computed' above"
        return
    for name, lines in known.items():
        if lines:
            yield from _budget(name, lines, results)


def _budget(name: str, lines: list[BudgetLine], results: Results) -> Iterator[str]:
    item = _figure(name, lines[0].at, results)
    yield f"uncertainty budget of {name.replace('_', ' ')}, {_place(lines[0].at)}, in SI{_outcome(item)}:"
    rows = [_HEADINGS, *(_row(line, "" if item is None else item.unit) for line in lines)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEADINGS))]
    for row in rows:
        yield "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def _figure(name: str, at: str, results: Results) -> Quantity | None:
    point = results.points[int(at[7:-1])] if at.startswith("points[") else getattr(results, at)
    found: Quantity | None = None if point is None else getattr(point, name)
    return found


def _place(at: str) -> str:
    return f"load point {int(at[7:-1]) + 1}" if at.startswith("points[") else at.replace("_", " ")


def _outcome(item: Quantity | None) -> str:
    """The figure with its expanded uncertainty, as far as it is known."""
    if item is None:
        return ""
    shown = f": {_with_unit(f'{item.value:.6g}', item.unit)}"
    if item.expanded_uncertainty is None or item.coverage_factor is None:
        return shown
    factor = item.coverage_factor
    standard = item.expanded_uncertainty / factor
    return f"{shown}, standard uncertainty {standard:.3g}, expanded {item.expanded_uncertainty:.3g} (k = {factor:.2f})"


def _row(line: BudgetLine, unit: str) -> tuple[str, ...]:
    return (
        line.input,
        "" if line.estimate is None else _with_unit(f"{line.estimate:.5g}", line.unit),
        _with_unit(f"{line.standard_uncertainty:.3g}", line.unit),
        line.distribution,
        "infinite" if line.degrees_of_freedom is None else f"{line.degrees_of_freedom:.3g}",
        f"{line.sensitivity:.4g}",
        _with_unit(f"{line.contribution:.3g}", unit),
        f"{line.share:.1%}".replace("%", " %"),
    )


def _with_unit(text: str, unit: str) -> str:
    return text if unit in ("", "1") else f"{text} {unit}"
