"""How sure the rated figures are, what that rests on most, and what would help first."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.assessment.results import BudgetLine, Point, Results
from certgen.quantity import Quantity
from certgen.sheet.content import Content, coverage_factors, in_sentence
from certgen.sheet.figures import KINDS, single
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.words import Words

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
    results, words = content.results, content.words
    told = [(name, lines) for names in _TOLD for name, lines in _first_known(results, names)]
    if not told:
        return ()
    at = told[0][1][0].at
    sentences = [_sentence(name, lines, _point(results, at), content) for name, lines in told]
    largest = dict.fromkeys(words.phrase(lines[0].input) for _, lines in told)
    improve = words("budget.improve", inputs=words("budget.then").join(largest))
    return (words("budget.at", point=_place(at, words)), *sentences, improve)


def _first_known(results: Results, names: Sequence[str]) -> list[tuple[str, list[BudgetLine]]]:
    """The first of some quantities that has a budget, with its lines, the largest first."""
    for name in names:
        lines = [line for line in results.budget if line.quantity == name]
        if lines:
            return [(name, sorted(lines, key=lambda line: -line.share))]
    return []


def _place(at: str, words: Words) -> str:
    if at.startswith("points["):
        return in_sentence(words("point.load_point", number=int(at[len("points[") : -1]) + 1))
    return in_sentence(words(f"point.{at.removeprefix('at_')}"))


def _point(results: Results, at: str) -> Point:
    point: Point = results.points[int(at[len("points[") : -1])] if at.startswith("points[") else getattr(results, at)
    return point


def _sentence(name: str, lines: Sequence[BudgetLine], point: Point, content: Content) -> str:
    item: Quantity | None = getattr(point, name)
    words = content.words
    factor = coverage_factors([item] if item else [], content.units, words)
    called = words(f"name.{name}")
    parts = "; ".join(f"{words.phrase(line.input)} {_share(line.share, words)}" for line in lines[:_MOST])
    given = {"quantity": called[:1].upper() + called[1:], "value": single(item, KINDS[name], content.units)}
    return words("budget.figure" if factor else "budget.plain_figure", **given, factor=factor, parts=parts)


def _share(part: float, words: Words) -> str:
    """A share in whole per cent; nothing that has a part is said to be all or nothing."""
    if 0.995 <= part < 1.0:
        return words("budget.nearly_all")
    if 0.0 < part < 0.005:
        return words("budget.hardly_any")
    return f"{part:.0%}".replace("%", " %")
