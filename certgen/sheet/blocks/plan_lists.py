"""The lists of the run sheet: when to stop, what to see to before power is on, how to go on."""

from __future__ import annotations

from itertools import pairwise

from certgen.sheet.block_settings import Titled
from certgen.sheet.fonts import BOLD, Span
from certgen.sheet.plan_content import PlanContent
from certgen.sheet.setting import THIN, Area, Block, Flow, RuleMark, Setting

_BOX = 0.85
_INDENT = 1.5


def plan_stops(content: PlanContent, settings: Titled) -> Block:
    """Signs with their figures, and what to do: unload, or switch off."""
    stops, words = content.plan.stops, content.words

    def set_stops(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        for one in stops:
            limit = "" if one.limit is None else f": {content.limit(one.sign, one.limit)}"
            act = words(f"plan.act.{one.act.replace(' ', '_')}")
            sign = content.says(one.sign)
            flow.spans([Span(f"{act}:", BOLD, "accent"), Span(f"{sign}{limit}", BOLD if limit else "regular")])
        return flow.done()

    return Block(set_stops)


def plan_precautions(content: PlanContent, settings: Titled) -> Block:
    """Each with a box to tick."""
    listed = content.plan.precautions

    def set_precautions(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        for one in listed:
            _box(flow)
            flow.text(content.says(one.text), x=_INDENT * area.size)
        return flow.done()

    return Block(set_precautions)


def plan_steps(content: PlanContent, settings: Titled) -> Block:
    """The steps, numbered."""
    steps = content.plan.steps

    def set_steps(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        for number, step in enumerate(steps, start=1):
            top = flow.y
            flow.text(f"{number}", face=BOLD, ink="accent")
            flow.y = top
            flow.text(content.says(step), x=_INDENT * area.size)
        return flow.done()

    return Block(set_steps)


def _box(flow: Flow) -> None:
    """A box to tick beside the line that follows."""
    size = flow.area.size
    top, side = flow.y + 0.2 * size, _BOX * size
    corners = ((0.0, top), (side, top), (side, top + side), (0.0, top + side), (0.0, top))
    for (x, y), (to_x, to_y) in pairwise(corners):
        flow.marks.append(RuleMark(x, y, to_x, to_y, THIN, "ink"))
