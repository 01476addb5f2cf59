"""The figures that lead a certificate: what the motor does at one point, each beside its plate's value and uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from certgen.messages.format import KINDS, MISSING, Form, decimals_of, forms, spread_text, with_sign
from certgen.quantity import Quantity
from certgen.results.model import EXTRAPOLATED, Point
from certgen.results.rated_efficiency import by_segregation
from certgen.sheet.content import Content, NamedPoint, headline_point
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import HAIRLINE, Area, Block, Flow, RuleMark, Setting, TextMark, TooNarrow
from certgen.sheet.pdf.fonts import BASELINE, BOLD, LEADING, REGULAR, fitting_size, width
from certgen.sheet.pdf.structure import ITEM, ITEM_BODY, LIST, Tag

#: The quantities shown; the last two only where they are known.
_SHOWN = ("shaft_power", "torque", "speed", "current", "efficiency", "power_factor")
_WHERE_KNOWN = _SHOWN[-2:]
#: The key of the plate for a quantity, where a plate declares it.
_PLATE = {
    "shaft_power": "power",
    "speed": "speed",
    "current": "current",
    "efficiency": "efficiency",
    "power_factor": "power_factor",
}
#: Most digits of a headline.
_DIGITS = 4
#: Text size of the figures in parts of the body text, the least, and the space beside the rule between them.
_LARGE, _LEAST, _PAD = 2.2, 1.3, 0.55
#: Between a figure and its unit, in parts of the text size.
_GAP = 0.25


@dataclass(frozen=True)
class Figure:
    """One large figure: its label, number and unit, and the lines below it."""

    label: str
    text: str
    sign: str = ""
    below: tuple[str, ...] = ()


def figures_of(content: Content) -> tuple[Figure, ...]:
    """The figures of the point that leads the page."""
    named = headline_point(content.results, content.words)
    point = named.point if named else Point()
    known = [name for name in _SHOWN if name not in _WHERE_KNOWN or getattr(point, name) is not None]
    return figures_at(content, known, point, plate=True)


def figures_at(content: Content, names: Sequence[str], point: Point, *, plate: bool) -> tuple[Figure, ...]:
    """Quantities of a point as large figures, beside the plate's values where asked."""
    named = headline_point(content.results, content.words)
    return tuple(_figure(content, name, point, named, plate=plate) for name in names)


def _figure(content: Content, name: str, point: Point, named: NamedPoint | None, *, plate: bool) -> Figure:
    """One figure; what defines the point is set, and has no uncertainty."""
    words, item = content.words, getattr(point, name)
    by_losses = by_segregation(content.results.losses) if name == "efficiency" else None
    if named is None or named.field != "at_rated_power":
        by_losses = None
    item = by_losses or item
    label = words(f"headline.{name}")
    if item is None:
        return Figure(label, MISSING, below=(words("headline.not_measured"),))
    shown = forms(KINDS[name], content.units, item.value)
    declared = getattr(content.results.nameplate, _PLATE[name]) if plate and name in _PLATE else None
    if named is not None and name == named.read_off_by:
        texts = [form.plain(form.value(item.value)) for form in shown]
        return Figure(label, texts[0], shown[0].sign, (words("headline.set"), *_second(texts, shown)))
    texts = [four_digits(item, form) for form in shown]
    spread = spread_text(item, shown[0], _decimals(item, shown[0])) if item.expanded_uncertainty else ""
    below = [words("headline.assumed", spread=spread) if item.assumed else f"± {spread}"] if spread else []
    if declared is not None:
        below.append(words("headline.plate", value=shown[0].plain(shown[0].value(declared))))
    if by_losses is not None:
        said = words("headline.by_losses")
        below[:1] = [f"{below[0]} {said}"] if spread and not item.assumed else [*below[:1], said]
    return Figure(label, texts[0], shown[0].sign, (*below, *_second(texts, shown)))


def _second(texts: list[str], shown: tuple[Form, ...]) -> list[str]:
    """The same in the second system."""
    return [with_sign(text, form) for text, form in zip(texts[1:], shown[1:], strict=True)]


def _decimals(item: Quantity, form: Form) -> int:
    """As many decimals as the uncertainty supports, so that no more than four digits stand."""
    value = float(f"{abs(form.value(item.value)):.{_DIGITS}g}")  # 0.99999 is printed as 1.000
    whole = math.floor(math.log10(value)) + 1 if value >= 1.0 else 0 if value >= 0.1 else 1
    return min(decimals_of([item], form), max(0, _DIGITS - whole))


def four_digits(item: Quantity, form: Form) -> str:
    """A figure with no more than four digits that count."""
    value = form.value(item.value)
    if abs(value) >= 10.0**_DIGITS:
        step = 10.0 ** (math.floor(math.log10(abs(value))) + 1 - _DIGITS)
        value = round(value / step) * step
    return form.number(value, _decimals(item, form))


def title_of(content: Content) -> str:
    """At which point the figures were measured."""
    words, named = content.words, headline_point(content.results, content.words)
    if named is None:
        return words("verdict.no_point")
    if named.field not in ("at_rated_power", "at_rated_current"):
        text = words("headline.assessed") if named.field == "assessed_rating" else named.how
        return text[:1].upper() + text[1:]
    key = "headline.beyond" if EXTRAPOLATED in named.point.flags else "headline.between"
    return words(key, point=named.name)


def gives(content: Content) -> str:
    """What the shaft gives at the plate's current, and the greatest torque seen, in a sentence or two."""
    results, words = content.results, content.words
    sentences = []
    point, current = results.at_rated_current, results.nameplate.current
    if point is not None and point.shaft_power is not None and current is not None:
        form = forms("current", content.units, current)[0]
        amps = with_sign(form.plain(current), form)
        power = _with_spread(point.shaft_power, content)
        key = "headline.gives_beyond" if EXTRAPOLATED in point.flags else "headline.gives"
        sentences.append(words(key, current=amps, power=power))
    found = results.characteristic
    if found.breakdown_torque is not None and found.breakdown_speed is not None:
        torque, speed = (
            _with_spread(found.breakdown_torque, content, "torque"),
            _plain_speed(found.breakdown_speed, content),
        )
        sentences.append(words("headline.breakdown", torque=torque, speed=speed))
    elif (most := _greatest_torque(content)) is not None:
        greatest, at = _with_spread(most[0], content, "torque"), _plain_speed(most[1], content)
        # A load beyond what scale or sensor shows was greater than any that could be read.
        beyond = any(caution.id == "scale_full_span" for caution in results.cautions)
        sentences.append(words("headline.most_above" if beyond else "headline.most", torque=greatest, speed=at))
    return " ".join(sentences)


def _greatest_torque(content: Content) -> tuple[Quantity, Quantity] | None:
    """The greatest torque of any point tested, and its speed."""
    tested = [(one.torque, one.speed) for one in content.results.points if one.torque and one.speed and not one.flags]
    return max(tested, key=lambda pair: pair[0].value, default=None) if len(tested) > 1 else None


def _with_spread(item: Quantity, content: Content, kind: str = "shaft_power") -> str:
    """A quantity of at most four digits with its uncertainty and unit, in the first system of the page."""
    form = forms(kind, content.units, item.value)[0]
    text = four_digits(item, form)
    if item.expanded_uncertainty:
        text += f" ± {spread_text(item, form, _decimals(item, form))}"
    return with_sign(text, form)


def _plain_speed(item: Quantity, content: Content) -> str:
    form = forms("speed", content.units, item.value)[0]
    return with_sign(form.number(form.value(item.value), form.places([form.value(item.value)])), form)


def headline(content: Content, settings: Titled) -> Block:
    """The figures side by side under the point they hold at, and below them what the motor gives."""
    figures, title, sentence = figures_of(content), title_of(content), gives(content)

    def set_headline(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(title, face=BOLD, size=area.scaled(1.1))
        flow.space(0.1)
        set_side_by_side(figures, flow)
        flow.space(0.2)
        if sentence:
            flow.text(sentence)
        return flow.done()

    return Block(set_headline)


@dataclass(frozen=True)
class _Arranged:
    """How the figures stand: body text, large text [pt], and how many a line."""

    small: float
    large: float
    count: int


def _arranged(figures: tuple[Figure, ...], area: Area, most: int) -> _Arranged:
    """All in one size and on one line where they fit, else in the smallest text, else on more lines.

    Raises
    ------
    TooNarrow
        Not even one fits a line in the smallest text.
    """
    counts = dict.fromkeys((len(figures), -(-len(figures) // 2), -(-len(figures) // 3), 1))
    for count in [count for count in counts if count <= most]:
        for small in dict.fromkeys((area.size, area.smallest)):
            room = area.width / count - 2 * _PAD * small
            large = min(_size(figure, small, room) for figure in figures)
            if large >= _LEAST * small:
                return _Arranged(small, min(large, _LARGE * small), count)
    small = area.smallest
    widest = max(_widest(figure, small, _LEAST * small) for figure in figures)
    raise TooNarrow(max(0.1, widest + 2 * _PAD * small - area.width))


def set_side_by_side(figures: tuple[Figure, ...], flow: Flow, most: int = len(_SHOWN)) -> None:
    """The figures side by side, so many a line at most, hairlines between them."""
    how = _arranged(figures, flow.area, most)
    for start in range(0, len(figures), how.count):
        _set_line(figures[start : start + how.count], how, flow)


def _set_line(figures: tuple[Figure, ...], how: _Arranged, flow: Flow) -> None:
    small, large, top, within = how.small, how.large, flow.y, Tag(LIST)
    pad, room = _PAD * small, flow.area.width / how.count
    below = max(len(figure.below) for figure in figures)
    height = LEADING * small * (1 + below) + 1.02 * large
    for index, figure in enumerate(figures):
        x, tag = index * room + (pad if index else 0.0), Tag(ITEM_BODY, Tag(ITEM, within))
        flow.marks.append(TextMark(x, top + BASELINE * small, figure.label, REGULAR, small, "ink", tag))
        base = top + LEADING * small + 0.84 * large
        flow.marks.append(TextMark(x, base, figure.text, BOLD, large, "ink", tag))
        if figure.sign:
            after = x + width(figure.text, BOLD, large) + _GAP * small
            flow.marks.append(TextMark(after, base, figure.sign, REGULAR, small, "ink", tag))
        for number, line in enumerate(figure.below):
            y = top + LEADING * small * (1 + number) + 1.02 * large + BASELINE * small
            flow.marks.append(TextMark(x, y, line, REGULAR, small, "ink", tag))
        if index:
            flow.marks.append(RuleMark(index * room, top + 0.1 * small, index * room, top + height, HAIRLINE, "ink"))
    flow.y = top + height


def _size(figure: Figure, small: float, room: float) -> float:
    """The size at which a figure fits its room beside its unit; none where its lines do not fit."""
    lines = [width(text, REGULAR, small) for text in (figure.label, *figure.below)]
    if max(lines) > room + 1e-6:
        return 0.0
    return fitting_size(figure.text, BOLD, _LARGE * small, max(1.0, room - _unit(figure, small)))


def _unit(figure: Figure, small: float) -> float:
    return width(figure.sign, REGULAR, small) + _GAP * small if figure.sign else 0.0


def _widest(figure: Figure, small: float, large: float) -> float:
    """The width of a figure with its unit, or of the widest of its lines."""
    lines = [width(text, REGULAR, small) for text in (figure.label, *figure.below)]
    return max(*lines, width(figure.text, BOLD, large) + _unit(figure, small))
