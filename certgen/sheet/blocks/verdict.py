"""The verdict in a frame known by its shape, with its scope; large figures; the rating a bench assessed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from certgen.messages.format import PlateFigures, single
from certgen.results.model import FAILED, MET, NOT_DECLARED, NOT_TESTED, AssessedRating, ScopeItem
from certgen.sheet.content import Content, reasons_to_print
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import (
    THIN,
    Area,
    Block,
    FaceMark,
    Flow,
    Mark,
    RuleMark,
    Setting,
    SignMark,
)
from certgen.sheet.engine.table import set_pairs
from certgen.sheet.pdf.fonts import BOLD, REGULAR, width

# The verdict in its frame: heavy for a pass, double for a conditional one, a black field for a fail, dashed for none.


PASS, CONDITIONAL_PASS, CONDITIONAL_FAIL, FAIL = "pass", "conditional pass", "conditional fail", "fail"
#: Text size of the outcome in parts of the body text, and the room within the frame.
_OUTCOME, _PAD = 2.6, 0.8
#: Weights of frames [pt], the gap within a double one, dashes of one that states nothing.
_HEAVY_FRAME, _FRAME, _DOUBLE, _DASHES = 2.6, 1.0, 2.6, (5.0, 3.0)
#: Spacing and slant of the hatched strip of a conditional fail, and its height in parts of the body text. [pt]
_HATCH, _STRIP = 4.0, 0.55
#: Reasons printed beside a scope, and where there is none.
_REASONS, _MORE_REASONS = 1, 2
_SIGNS = {MET: ("o", "ink"), FAILED: ("x", "")}


def verdict(content: Content, settings: Titled) -> Block:
    """The outcome large, its first reasons, and what it covers, in a frame whose shape shows the outcome."""
    outcome = content.results.verdict.outcome

    def set_verdict(area: Area) -> Setting:
        pad = _PAD * area.size
        inner = Flow(replace(area, width=area.width - 2 * pad), y=pad)
        _set_outcome(content, settings.title, inner)
        field = inner.y
        _set_reasons(content, inner)
        _set_scope(content, inner)
        inner.y += pad
        height = inner.y
        flow = Flow(area)
        flow.marks += shape_of(outcome, area.width, height, field)
        flow.place(Setting(height, tuple(inner.marks)), pad)
        return flow.done()

    return Block(set_verdict)


def headline_text(content: Content) -> str:
    """What is printed large: the headline of the verdict, else its outcome."""
    found = content.results.verdict
    if found.headline is not None:
        return content.says(found.headline)
    outcome = content.outcome(found.outcome)
    return outcome[:1].upper() + outcome[1:]


def _set_outcome(content: Content, title: str, flow: Flow) -> None:
    """The headline, white where it stands on a black field."""
    ink = "paper" if content.results.verdict.outcome == FAIL else "ink"
    if title:
        flow.text(title, ink=ink)
    flow.large(headline_text(content), _OUTCOME, ink=ink)
    flow.space(0.15)


def shape_of(outcome: str, wide: float, high: float, field: float) -> Iterator[Mark]:
    """The frame of an outcome about a block of this size; ``field`` is how far down the headline reaches. [pt]"""
    if outcome == PASS:
        yield from frame(wide, high, _HEAVY_FRAME)
    elif outcome in (CONDITIONAL_PASS, CONDITIONAL_FAIL):
        yield from frame(wide, high, _FRAME)
        yield from frame(wide, high, _FRAME, inset=_DOUBLE)
        if outcome == CONDITIONAL_FAIL:
            yield from _hatched(_DOUBLE + _FRAME, field, wide - _DOUBLE - _FRAME)
    elif outcome == FAIL:
        yield FaceMark(0.0, 0.0, wide, field, "ink")
        yield from frame(wide, high, _HEAVY_FRAME)
    else:
        yield from frame(wide, high, _FRAME, dashes=_DASHES)


def frame(
    wide: float, high: float, weight: float, *, inset: float = 0.0, dashes: tuple[float, ...] = ()
) -> Iterator[RuleMark]:
    """Four rules about a block, wholly within it. [pt]"""
    half = inset + weight / 2
    left, top, right, low = half, half, wide - half, high - half
    end = weight / 2
    for x, y, to_x, to_y in (
        (left - end, top, right + end, top),
        (left - end, low, right + end, low),
        (left, top, left, low),
        (right, top, right, low),
    ):
        yield RuleMark(x, y, to_x, to_y, weight, "ink", dashes)


def _hatched(left: float, top: float, right: float) -> Iterator[RuleMark]:
    """Slanting lines between two edges below the headline."""
    high = _HATCH
    yield RuleMark(left, top, right, top, THIN, "ink")
    yield RuleMark(left, top + high, right, top + high, THIN, "ink")
    for step in range(int((right - left - high) / _HATCH)):
        x = left + step * _HATCH
        yield RuleMark(x, top + high, x + high, top, 1.0, "ink")


def _set_reasons(content: Content, flow: Flow) -> None:
    """The first reasons, and how many more there are."""
    found = content.results.verdict
    flow.space(0.3 if found.outcome != CONDITIONAL_FAIL else 0.75)
    most = _REASONS if found.scope else _MORE_REASONS
    reasons = reasons_to_print(found)
    for reason in reasons[:most]:
        flow.text(content.says(reason))
    more = len(reasons) - most
    if more > 0:
        flow.text(content.words("verdict.more_reasons", count=more))


def _set_scope(content: Content, flow: Flow) -> None:
    """What the verdict covers: a line each, filled where met, crossed where failed, else hollow."""
    items = content.results.verdict.scope
    if items:
        flow.space(0.2)
        flow.rule(THIN, "ink")
        flow.space(0.2)
    for item in items:
        _set_scope_line(item, content, flow)


def _set_scope_line(item: ScopeItem, content: Content, flow: Flow) -> None:
    size, words = flow.area.size, content.words
    shape, fill = _SIGNS.get(item.state, ("o", ""))
    flow.marks.append(SignMark(0.4 * size, flow.y + 0.62 * size, shape, 0.62 * size, fill, "" if fill else "ink", 0.9))
    subject, state = words(f"scope.{item.subject}"), scope_text(item, content)
    face = REGULAR if item.state == MET else BOLD
    x = 1.25 * size
    room = flow.area.width - x - width(subject, REGULAR, size) - 0.8 * size
    top = flow.y
    if width(state, face, size) <= room:
        flow.text(subject, x=x)
        flow.y = top
        flow.text(state, face=face, align="right")
    else:
        flow.text(subject, x=x)
        flow.text(state, face=face, x=x, align="right")


def scope_text(item: ScopeItem, content: Content) -> str:
    """How far one subject was tested: its figures where they say it, else its state."""
    state = content.words(f"scope.state.{item.state.replace(' ', '_')}")
    if item.detail is None:
        return state
    detail = content.says(item.detail)
    return detail if item.state in (MET, NOT_DECLARED, NOT_TESTED) else f"{state}: {detail}"


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
            flow.text(content.says(PlateFigures(found.power_label)), face=BOLD, size=area.scaled(1.6))
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
        ("to_measure", words.joined(says(text) for text in found.to_measure)),
    )
    return tuple((words(f"rating.{key}"), text) for key, text in pairs if text)


def contradictions(content: Content, settings: Titled) -> Block | None:
    """Every contradiction in the readings with the likely slip; nothing where there is none."""
    listed = content.results.plausibility
    if not listed:
        return None
    lines = [
        content.says(entry.message) + ("" if entry.suggests is None else f" {content.says(entry.suggests)}")
        for entry in listed
    ]

    def set_grounds(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        for line in dict.fromkeys(lines):
            flow.text(line)
        return flow.done()

    return Block(set_grounds)
