"""How sure the rated figures are, what that rests on most, and what would help first."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.assessment.results import BudgetLine, Point, Results
from certgen.quantity import Quantity
from certgen.sheet.content import Content, coverage_factors
from certgen.sheet.figures import KINDS, single
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting

#: Figures told, each in place of the next where it is the one that defines the point.
_TOLD = (("shaft_power", "current"), ("efficiency",))
_MOST = 3


def budget(content: Content, settings: Titled) -> Block | None:
    """The uncertainty of power and efficiency at the rated point with its largest parts; nothing where none is known."""
    sentences = budget_sentences(content)
    if not sentences:
        return None

    def set_budget(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(" ".join(sentences))
        return flow.done()

    return Block(set_budget)


def budget_sentences(content: Content) -> tuple[str, ...]:
    """One sentence for each figure, and one on what to improve; empty where no budget is known."""
    results = content.results
    told = [(name, lines) for names in _TOLD for name, lines in _first_known(results, names)]
    if not told:
        return ()
    at = told[0][1][0].at
    sentences = [_sentence(name, lines, _point(results, at), content.units) for name, lines in told]
    largest = dict.fromkeys(lines[0].input for _, lines in told)
    return (f"{_place(at)}.", *sentences, f"To improve first: {'; then '.join(largest)}.")


def _first_known(results: Results, names: Sequence[str]) -> list[tuple[str, list[BudgetLine]]]:
    """The first of some quantities that has a budget, with its lines, the largest first."""
    for name in names:
        lines = [line for line in results.budget if line.quantity == name]
        if lines:
            return [(name, sorted(lines, key=lambda line: -line.share))]
    return []


def _place(at: str) -> str:
    if at.startswith("points["):
        return f"At load point {int(at[len('points[') : -1]) + 1}"
    return at.replace("_", " ").capitalize()


def _point(results: Results, at: str) -> Point:
    point: Point = results.points[int(at[len("points[") : -1])] if at.startswith("points[") else getattr(results, at)
    return point


def _sentence(name: str, lines: Sequence[BudgetLine], point: Point, units: str) -> str:
    item: Quantity | None = getattr(point, name)
    factor = coverage_factors([item] if item else [])
    words = name.replace("_", " ").capitalize()
    parts = "; ".join(f"{line.input} {_share(line.share)}" for line in lines[:_MOST])
    return f"{words} {single(item, KINDS[name], units)}{f', {factor}' if factor else ''}, its variance from: {parts}."


def _share(part: float) -> str:
    return f"{part:.0%}".replace("%", " %")
