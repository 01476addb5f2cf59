"""The outcome in words to be read at arm's length, its reasons, and the headline figures."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.quantity import Quantity
from certgen.sheet.content import Content, headline_point
from certgen.sheet.figures import KINDS, column, forms, with_sign
from certgen.sheet.fonts import BASELINE, BOLD, LEADING, REGULAR, fitting_size, width
from certgen.sheet.layout import Titled
from certgen.sheet.setting import HAIRLINE, Area, Block, Flow, RuleMark, Setting, TextMark, side_by_side

_LARGE = 2.9
_HEADLINES = (("shaft_power", "Power"), ("torque", "Torque"), ("speed", "Speed"), ("current", "Current"))


@dataclass(frozen=True)
class Headline:
    """One large figure: its label, number and unit; below it its uncertainty and the same in the other system."""

    label: str
    text: str
    sign: str
    below: tuple[str, ...] = ()


def headlines(content: Content) -> tuple[Headline, ...]:
    """The headline figures of the point that leads the page."""
    named = headline_point(content.results)
    return tuple(
        _headline(label, getattr(named.point, name) if named else None, KINDS[name], content.units)
        for name, label in _HEADLINES
    )


def _headline(label: str, item: Quantity | None, kind: str, units: str) -> Headline:
    shown = forms(kind, units, item.value if item else 0.0)
    texts = [column([item], form)[0] for form in shown]
    if item is None:
        return Headline(label, texts[0], "")
    large, _, spread = texts[0].partition(" ± ")
    below = [f"± {with_sign(spread, shown[0])}"] if spread else []
    below += [with_sign(text, form) for text, form in zip(texts[1:], shown[1:], strict=True)]
    return Headline(label, large, shown[0].sign, tuple(below))


def verdict(content: Content, settings: Titled) -> Block:
    """Outcome and reasons on the left, headline figures on the right."""
    results = content.results
    named = headline_point(results)
    figures = headlines(content)
    outcome = results.verdict.outcome
    given = results.conditions
    rule = f"Criteria: {given.criteria}. Decision rule: {given.decision_rule}".rstrip(".") + "."

    def judged(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.text(settings.title, ink="muted")
        word = outcome[:1].upper() + outcome[1:]
        flow.text(word, face=BOLD, size=max(area.smallest, fitting_size(word, BOLD, area.scaled(_LARGE), area.width)))
        for reason in results.verdict.reasons:
            flow.text(reason)
        return flow.done()

    def measured(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(f"Measured {named.how}" if named else "No usable load point", ink="muted")
        flow.place(_set_headlines(figures, area))
        return flow.done()

    def set_verdict(area: Area) -> Setting:
        flow = Flow(area)
        flow.place(side_by_side(area, ((1.0, judged), (1.35, measured)), 3.0 * area.size))
        flow.space(0.25)
        flow.text(rule, ink="muted")
        return flow.done()

    return Block(set_verdict)


def _set_headlines(figures: tuple[Headline, ...], area: Area) -> Setting:
    """Figures side by side in one size, so that none outweighs another, hairlines between them."""
    flow, gap = Flow(area), 1.6 * area.size
    room = (area.width - gap * (len(figures) - 1)) / len(figures)
    large = min(_figure_size(figure, area, room) for figure in figures)
    small, top = area.size, area.size * 0.35
    for index, figure in enumerate(figures):
        x = index * (room + gap)
        base = top + BASELINE * small
        flow.marks.append(TextMark(x, base, figure.label, BOLD, small, "accent"))
        base = top + LEADING * small + BASELINE * large
        flow.marks.append(TextMark(x, base, figure.text, BOLD, large))
        if figure.sign:
            unit_x = x + width(figure.text, BOLD, large) + 0.3 * small
            flow.marks.append(TextMark(unit_x, base, figure.sign, REGULAR, small))
        for number, line in enumerate(figure.below):
            y = top + LEADING * (small + large + number * small) + BASELINE * small
            flow.marks.append(TextMark(x, y, line, REGULAR, small))
        if index:
            between, foot = x - gap / 2, top + LEADING * (small + large)
            flow.marks.append(RuleMark(between, top, between, foot, HAIRLINE))
    below = max(len(figure.below) for figure in figures)
    flow.y = top + LEADING * (small + large + below * small)
    return flow.done()


def _figure_size(figure: Headline, area: Area, room: float) -> float:
    """The size at which a figure fits its room beside its unit."""
    unit = width(figure.sign, REGULAR, area.size) + 0.3 * area.size if figure.sign else 0.0
    return fitting_size(figure.text, BOLD, area.scaled(_LARGE), max(1.0, room - unit))
