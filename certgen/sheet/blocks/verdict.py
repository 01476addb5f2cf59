"""The outcome in words to be read at arm's length, its reasons, and the headline figures."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.messages.format import KINDS, column, forms, single, with_sign
from certgen.quantity import Quantity
from certgen.results.model import AssessedRating
from certgen.sheet.content import Content, headline_point
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import (
    HAIRLINE,
    MM,
    Area,
    Block,
    Flow,
    RuleMark,
    Setting,
    TextMark,
    TooNarrow,
    side_by_side,
)
from certgen.sheet.engine.table import set_pairs
from certgen.sheet.pdf.fonts import BASELINE, BOLD, LEADING, REGULAR, Span, fitting_size, width

#: Text sizes in parts of the body text: of the outcome and the figures, and the least before figures share a line.
_LARGE = 2.9
_STILL_LARGE = 1.7
#: Width below which the figures stand under the outcome, in parts of the body text.
_SIDE_BY_SIDE = 38.0
_HEADLINES = (("shaft_power", "power"), ("torque", "torque"), ("speed", "speed"), ("current", "current"))


@dataclass(frozen=True)
class Headline:
    """One large figure: its label, number and unit; below it its uncertainty and the same in the other system."""

    label: str
    text: str
    sign: str
    below: tuple[str, ...] = ()


def headlines(content: Content) -> tuple[Headline, ...]:
    """The headline figures of the point that leads the page."""
    named = headline_point(content.results, content.words)
    items = {name: getattr(named.point, name) if named else None for name, _ in _HEADLINES}
    return tuple(
        headline_of(content.words(f"verdict.{label}"), items[name], KINDS[name], content.units)
        for name, label in _HEADLINES
    )


def headline_of(label: str, item: Quantity | None, kind: str, units: str) -> Headline:
    """One figure with its label, in the units of the page."""
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
    named, words = headline_point(results, content.words), content.words
    figures = headlines(content)
    outcome = content.outcome(results.verdict.outcome)
    criteria, decision = results.conditions.criteria, results.conditions.decision_rule
    rule = words("verdict.rule", criteria=content.says(criteria), rule=content.says(decision).rstrip("."))

    def judged(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.text(settings.title, ink="muted")
        flow.large(outcome[:1].upper() + outcome[1:], _LARGE)
        for reason in results.verdict.reasons:
            flow.text(content.says(reason))
        return flow.done()

    def measured(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(words("verdict.measured", how=named.how) if named else words("verdict.no_point"), ink="muted")
        flow.place(set_headlines(figures, area))
        return flow.done()

    def set_verdict(area: Area) -> Setting:
        flow = Flow(area)
        if area.width < _SIDE_BY_SIDE * area.size:
            flow.place(judged(area))
            flow.place(measured(area))
        else:
            flow.place(side_by_side(area, ((1.0, judged), (1.35, measured)), 3.0 * area.size))
        flow.space(0.25)
        flow.text(rule, ink="muted")
        return flow.done()

    return Block(set_verdict)


def set_headlines(figures: tuple[Headline, ...], area: Area) -> Setting:
    """Figures in one size, so that none outweighs another: side by side where they stay large, else in more lines."""
    flow = Flow(area)
    counts = [count for count in (4, 3, 2, 1) if _even(len(figures), count)]
    sizes = {count: min(_figure_size(one, area, _room(area, count)) for one in figures) for count in counts}
    count = next((count for count in counts if sizes[count] >= _STILL_LARGE * area.size), counts[-1])
    if sizes[count] < area.smallest - 1e-6:
        raise TooNarrow(max(MM, _widest(figures, area) - area.width))
    for start in range(0, len(figures), count):
        _set_line(figures[start : start + count], flow, _room(area, count), sizes[count])
    return flow.done()


def _even(figures: int, count: int) -> bool:
    """Whether figures may stand so many a line: every line full, or of an odd number all but the last."""
    return count <= figures and (figures % count == 0 or (figures > 4 and count in (2, 3)))


def _gap(area: Area) -> float:
    return 1.6 * area.size


def _room(area: Area, count: int) -> float:
    """Width of one figure of several side by side."""
    return (area.width - _gap(area) * (count - 1)) / count


def _widest(figures: tuple[Headline, ...], area: Area) -> float:
    """The least width for a figure a line, in the smallest text."""
    texts = [text for one in figures for text in (f"{one.text} {one.sign}", one.label, *one.below)]
    return max(width(text, BOLD, area.smallest) for text in texts) + area.smallest


def _set_line(figures: tuple[Headline, ...], flow: Flow, room: float, large: float) -> None:
    """Figures side by side, hairlines between them."""
    small, top = flow.area.size, flow.y + flow.area.size * 0.35
    for index, figure in enumerate(figures):
        x = index * (room + _gap(flow.area))
        flow.marks.append(TextMark(x, top + BASELINE * small, figure.label, BOLD, small, "accent"))
        base = top + LEADING * small + BASELINE * large
        flow.marks.append(TextMark(x, base, figure.text, BOLD, large))
        if figure.sign:
            unit_x = x + width(figure.text, BOLD, large) + 0.3 * small
            flow.marks.append(TextMark(unit_x, base, figure.sign, REGULAR, small))
        for number, line in enumerate(figure.below):
            y = top + LEADING * (small + large + number * small) + BASELINE * small
            flow.marks.append(TextMark(x, y, line, REGULAR, small))
        if index:
            between = x - _gap(flow.area) / 2
            flow.marks.append(RuleMark(between, top, between, top + LEADING * (small + large), HAIRLINE))
    below = max(len(figure.below) for figure in figures)
    flow.y = top + LEADING * (small + large + below * small)


def _figure_size(figure: Headline, area: Area, room: float) -> float:
    """The size at which a figure fits its room beside its unit, and its label and what stands below it fit too."""
    unit = width(figure.sign, REGULAR, area.size) + 0.3 * area.size if figure.sign else 0.0
    around = [width(figure.label, BOLD, area.size), *(width(line, REGULAR, area.size) for line in figure.below)]
    if max(around) > room + 1e-6:
        return 0.0
    return fitting_size(figure.text, BOLD, area.scaled(_LARGE), max(1.0, room - unit))


# The rating this bench assessed, for a motor whose plate declares none.


_QUANTITIES = (
    ("power", "shaft_power"),
    ("torque", "torque"),
    ("speed", "speed"),
    ("current", "current"),
    ("service_factor", "service_factor"),
)


def rating(content: Content, settings: Titled) -> Block | None:
    """The words a buyer must read, the figures, and what they rest on; nothing where the plate declares a rating."""
    found = content.results.assessed_rating
    if found is None:
        return None
    pairs = rating_pairs(found, content)

    def set_rating(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if found.power_label:
            flow.text(content.says(found.power_label), face=BOLD, size=area.scaled(1.6))
        flow.text(content.says(found.words), face=BOLD)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_rating)


def rating_pairs(found: AssessedRating, content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts: figures, basis, what held it down, or what is still to be measured."""
    words, says = content.words, content.says
    figures = [
        f"{words(f'rating.{name}')} {single(getattr(found, name), kind, content.units)}"
        for name, kind in _QUANTITIES
        if getattr(found, name) is not None
    ]
    pairs = (
        ("figures", ", ".join(figures)),
        ("held_down", says(found.limited_by) if found.limited_by else ""),
        ("basis", " ".join(says(text) for text in found.basis)),
        ("to_measure", "; ".join(says(text) for text in found.to_measure)),
    )
    return tuple((words(f"rating.{key}"), text) for key, text in pairs if text)


# Warnings for whoever handles the motor or trusts the figures.


def cautions(content: Content, settings: Titled) -> Block:
    """Each caution with what in this test raised it."""
    listed = content.results.cautions

    def set_cautions(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if not listed:
            flow.text(content.words("cautions.none"))
        for index, caution in enumerate(listed):
            if index:
                flow.space(0.25)
            because = content.words("page.because", because=content.says(caution.because).rstrip("."))
            flow.spans([Span(content.says(caution.text), BOLD), Span(because, ink="muted")])
        return flow.done()

    return Block(set_cautions)
