"""Blanks to fill in by hand: day, names, zero, ambient, supply, winding."""

from __future__ import annotations

from certgen.sheet.block_settings import Titled
from certgen.sheet.plan_content import PlanContent
from certgen.sheet.plan_figures import scale_sign
from certgen.sheet.setting import HAIRLINE, Area, Block, Flow, RuleMark, Setting, TextMark
from certgen.sheet.writing_table import LEAST_HEIGHT

_COLUMNS = 3


def plan_fields(content: PlanContent, settings: Titled) -> Block:
    """A grid of ruled fields, each with its label in the corner."""
    labels = _labels(content)

    def set_fields(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        size = area.scaled(0.92)
        height = LEAST_HEIGHT + 1.1 * size
        room = area.width / _COLUMNS
        top, rows = flow.y, -(-len(labels) // _COLUMNS)
        for index, label in enumerate(labels):
            x, y = (index % _COLUMNS) * room, top + (index // _COLUMNS) * height
            flow.marks.append(TextMark(x + 0.3 * size, y + 1.05 * size, label, "regular", size, "muted"))
        flow.y = top + rows * height
        flow.marks += [
            RuleMark(0.0, y, area.width, y, HAIRLINE) for y in (top + row * height for row in range(rows + 1))
        ]
        flow.marks += [RuleMark(x, top, x, flow.y, HAIRLINE) for x in (room * place for place in range(_COLUMNS + 1))]
        flow.y += HAIRLINE
        return flow.done()

    return Block(set_fields)


def _labels(content: PlanContent) -> tuple[str, ...]:
    """What is written down before and after, as far as this rig has it."""
    names = ["date", "tested_by", "number", "ambient", "supply", "insulation", "cold", "zero_before", "zero_after"]
    if any(one.name == "scale_2" for one in content.plan.columns):
        names += ["zero_before_2", "zero_after_2"]
    names += ["hot"]
    unit, degrees = scale_sign(content.plan), "°F" if content.units == "us" else "°C"
    return tuple(content.words(f"plan.field.{name}", unit=unit, degrees=degrees) for name in names)
