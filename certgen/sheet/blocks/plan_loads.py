"""The loads to take: targets printed, cells for the readings to write in."""

from __future__ import annotations

import re

from certgen.planning.plan import ColumnToRead, PlannedPoint
from certgen.sheet.block_settings import WritingRows
from certgen.sheet.figures import MISSING, column, forms
from certgen.sheet.fonts import BOLD
from certgen.sheet.plan_content import PlanContent
from certgen.sheet.plan_figures import scale_number, scale_sign
from certgen.sheet.setting import MM, Area, Block, Flow, Setting
from certgen.sheet.writing_table import Blank, Printed, WritingTable, set_writing_table

#: Units of columns as printed.
_SIGNS = {"degC": "°C", "degF": "°F", "N*m": "N·m", "lbf*ft": "lbf·ft", "lbf*in": "lbf·in", "ozf*in": "ozf·in", "1": ""}

#: Where the figures of a refusal begin.
_FIGURES = re.compile(r" (?=\d)| with ")


def plan_loads(content: PlanContent, settings: WritingRows) -> Block:
    """Every planned load with its targets and empty cells, and rows to spare."""
    plan, words = content.plan, content.words
    table = _table(content, settings)

    def set_loads(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_writing_table(table, area))
        flow.space(0.3)
        loads = words("plan.loads", source=content.says(plan.loads_source)) if plan.points else words("plan.no_loads")
        flow.text(" ".join((loads, *(content.says(one) for one in plan.scale_basis))), ink="muted")
        if plan.expectations:
            flow.text(" ".join(content.says(one) for one in plan.expectations), ink="muted")
        return flow.done()

    return Block(set_loads)


def _table(content: PlanContent, settings: WritingRows) -> WritingTable:
    plan, words = content.plan, content.words
    spare = settings.spare_rows + (0 if plan.points else settings.rows_without_plan)
    printed = _printed(content, spare)
    blank = (
        Blank(tuple(words("plan.column.time").split()), ""),
        *(Blank(_heading(one, content), _SIGNS.get(one.unit, one.unit)) for one in plan.columns),
        Blank((words("plan.column.remark"),), "", share=1.6),
    )
    instead = [_instead(point, content) for point in plan.points]
    return WritingTable(printed, blank, (*instead, *[()] * spare), settings.row_height * 1000.0 * MM)


def _heading(one: ColumnToRead, content: PlanContent) -> tuple[str, ...]:
    return tuple(content.words(f"plan.column.{one.name}").split())


def _instead(point: PlannedPoint, content: PlanContent) -> tuple[str, ...]:
    """Why a load is not to be taken: with figures, and by the names of the limits alone where that is too long."""
    if point.holds is not False:
        return ()
    names = ", ".join(_FIGURES.split(reason, maxsplit=1)[0] for reason in point.refused)
    reasons = ("; ".join(point.refused), names)
    return tuple(content.words("plan.refused", reasons=content.says(reason)) for reason in reasons)


def _printed(content: PlanContent, spare: int) -> tuple[Printed, ...]:
    plan, words = content.plan, content.words
    points = plan.points
    empty = ((),) * spare
    if not points:
        return (Printed((words("plan.column.load"),), "", empty, figures=False),)
    names = tuple(tuple(content.says(point.name).split(", ")) for point in points)
    scale = tuple(_target(point, content) for point in points)
    found = [
        Printed((words("plan.column.load"),), "", (*names, *empty), BOLD, figures=False),
        Printed(tuple(words("plan.column.target").split()), scale_sign(plan), (*_cells(scale), *empty), BOLD),
    ]
    for name, kind in (("torque", "torque"), ("speed", "speed"), ("current", "current")):
        listed = [getattr(point, name) for point in points]
        known = [one.value for one in listed if one is not None]
        if known:
            form = forms(kind, "us" if content.units == "us" else "si", max(known))[0]
            heading = tuple(words(f"plan.column.expected_{name}").split())
            found.append(Printed(heading, form.sign, (*_cells(column(listed, form)), *empty)))
    holds = tuple(_hold(point, content) for point in points)
    if any(point.may_be_held is not None or point.held == "as long as wanted" for point in points):
        found.append(Printed(tuple(words("plan.column.hold").split()), "", (*_cells(holds), *empty)))
    return tuple(found)


def _target(point: PlannedPoint, content: PlanContent) -> str:
    """What the scale is set to; nothing for a load that is refused."""
    if point.scale is None or point.holds is False:
        return MISSING
    return scale_number(point.scale, content.plan)


def _hold(point: PlannedPoint, content: PlanContent) -> str:
    if point.may_be_held is not None:
        return point.held.removesuffix(" from cold")
    return content.words("plan.hold.free") if point.held == "as long as wanted" else MISSING


def _cells(texts: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    return tuple((text,) for text in texts)
