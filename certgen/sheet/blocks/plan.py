"""The blocks of the run sheet: heading, motor, loads with cells to write in, limits, lists, blanks and foot."""

from __future__ import annotations

import math
from itertools import pairwise

from certgen.job.model import Nameplate
from certgen.messages.format import MISSING, column, forms
from certgen.planning.holding import duration
from certgen.planning.plan import EXCEEDED, HOLDS, NOT_STATED, UNLIMITED, ColumnToRead, PlannedPoint, RigCheck
from certgen.sheet.blocks.nameplate import declared
from certgen.sheet.content import Content
from certgen.sheet.engine.block_settings import Titled, WritingRows
from certgen.sheet.engine.setting import (
    HAIRLINE,
    HEAVY,
    MM,
    THIN,
    TITLE,
    Area,
    Block,
    BlockKind,
    Flow,
    RuleMark,
    Setting,
    TextMark,
    side_by_side,
)
from certgen.sheet.engine.table import (
    LEAST_HEIGHT,
    LEFT,
    RIGHT,
    Blank,
    Column,
    Printed,
    Table,
    WritingTable,
    pairs_block,
    set_table,
    set_writing_table,
)
from certgen.sheet.pdf.fonts import BOLD, Span
from certgen.sheet.pdf.structure import TITLE as TITLE_ROLE
from certgen.sheet.pdf.structure import Tag
from certgen.sheet.plan_content import PlanContent, limit_of, scale_number, scale_sign
from certgen.sheet.words import capital


def plan_heading(content: PlanContent, settings: Titled) -> Block:
    """Title and shop on the left, rig and page on the right, the outcome below."""
    plan, words = content.plan, content.words
    shop = plan.certificate.shop if plan.certificate is not None else None
    number = plan.certificate.number if plan.certificate is not None else None

    def left(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.large(settings.title, TITLE, ink="accent", tag=Tag(TITLE_ROLE))
        if shop is not None:
            flow.text(shop.name, face=BOLD, size=area.scaled(1.15))
        return flow.done()

    def right(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(words("plan.rig", rig=plan.rig), face=BOLD, align="right")
        page, pages = area.page
        of = [words("plan.number", number=number)] if number else []
        flow.text(" · ".join([*of, words("page.number", page=page, pages=pages)]), align="right", ink="muted")
        return flow.done()

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        flow.place(side_by_side(area, ((1.6, left), (1.0, right)), 2.0 * area.size))
        flow.space(0.3)
        flow.rule(HEAVY, "accent")
        flow.space(0.3)
        flow.spans([Span(_outcome(content), BOLD)], size=area.scaled(1.15))
        return flow.done()

    return Block(set_heading)


def _outcome(content: PlanContent) -> str:
    plan, words = content.plan, content.words
    outcome = f"{capital(content.says(plan.outcome))}."
    if plan.greatest_load is None or plan.greatest_load_by is None:
        return outcome
    part = content.figures.number(math.floor(100.0 * plan.greatest_load.value), 0)  # never more than is held
    return f"{outcome} {words('plan.greatest_load', part=part, by=content.says(plan.greatest_load_by))}"


# The motor to be tested, what its plate declares, and what follows from it.


#: Keys of the plate: kind of quantity ('' where it is a word), and the key of the label it needs, if any.
_PLATE = (
    ("power", "shaft_power", ""),
    ("voltage", "voltage", ""),
    ("current", "current", ""),
    ("frequency", "frequency", ""),
    ("speed", "speed", ""),
    ("power_factor", "power_factor", "name.power_factor"),
    ("efficiency", "efficiency", "name.efficiency"),
    ("poles", "", "declared.poles"),
    ("service_factor", "service_factor", "declared.service_factor"),
    ("service_factor_current", "current", "name.service_factor_current"),
    ("code_letter", "", "declared.code_letter"),
    ("design_letter", "", "declared.design_letter"),
    ("insulation_class", "", "declared.insulation_class"),
    ("duty", "", "declared.duty"),
)


def plan_motor(content: PlanContent, settings: Titled) -> Block:
    """Motor and plate as a list."""
    return pairs_block(settings.title, _pairs(content))


def _pairs(content: PlanContent) -> list[tuple[str, str]]:
    plan, words = content.plan, content.words
    motor = plan.motor
    kind = words.phrase(motor.type)
    marks = ", ".join(part for part in (motor.maker, motor.model, motor.serial) if part)
    pairs = [(words("identity.item"), words("identity.motor", type=kind) if motor.type != "other" else kind)]
    if motor.description:
        pairs.append((words("identity.description"), motor.description))
    if marks:
        pairs.append((words("plan.marks"), marks))
    pairs.append((words("plan.plate"), plate_text(content, plan.nameplate) or words("plan.no_plate")))
    torque = MISSING if plan.rated_torque is None else f"{content.figure(plan.rated_torque)},"
    pairs.append((words("machine.rated_torque"), f"{torque} {content.says(plan.rated_torque_basis)}"))
    if plan.synchronous_speed is not None:
        slip = "" if plan.rated_slip is None else f"; {words('plan.slip', slip=_slip(content))}"
        pairs.append((words("machine.synchronous_speed"), f"{content.figure(plan.synchronous_speed)}{slip}"))
    if plan.starting is not None:
        pairs.append((words("plan.starting"), _starting(content)))
    if plan.breakdown is not None:
        pairs.append((words("plan.breakdown"), content.says(plan.breakdown.words)))
    return pairs


def plate_text(content: PlanContent | Content, plate: Nameplate) -> str:
    """What a plate declares, in one line."""
    parts = []
    for name, kind, label in _PLATE:
        shown = declared(content, plate, name, kind) if kind else getattr(plate, name)
        if shown is not None:
            parts.append(f"{content.words(label)} {shown}" if label else shown)
    return ", ".join(parts)


def _slip(content: PlanContent) -> str:
    slip = content.plan.rated_slip
    return "" if slip is None else f"{content.figures.number(100.0 * slip.value, 2)} %"


def _starting(content: PlanContent) -> str:
    starting = content.plan.starting
    assert starting is not None  # asked for only where there is one
    if starting.least_current is None:
        return content.says(starting.basis)
    least, most = content.figure(starting.least_current), content.figure(starting.most_current)
    span = least if starting.most_current is None else content.words("page.to", low=least, high=most)
    return f"{span}. {content.says(starting.basis)}"


# The loads to take: targets printed, cells for the readings to write in.


#: Units of columns as printed.
_SIGNS = {"degC": "°C", "degF": "°F", "N*m": "N·m", "lbf*ft": "lbf·ft", "lbf*in": "lbf·in", "ozf*in": "ozf·in", "1": ""}


def plan_loads(content: PlanContent, settings: WritingRows) -> Block:
    """Every planned load with its targets and empty cells, and rows to spare."""
    plan = content.plan
    table = _loads_table(content, settings)

    def set_loads(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_writing_table(table, area))
        flow.space(0.3)
        flow.text(" ".join((_source(content), *map(content.says, plan.scale_basis))), ink="muted")
        if plan.expectations:
            flow.text(" ".join(map(content.says, plan.expectations)), ink="muted")
        return flow.done()

    return Block(set_loads)


def _source(content: PlanContent) -> str:
    source = content.plan.loads_source
    return (
        content.words("plan.no_loads") if source is None else content.words("plan.loads", source=content.says(source))
    )


def _loads_table(content: PlanContent, settings: WritingRows) -> WritingTable:
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
    whole = content.words.joined(content.says(reason) for reason in point.refused)
    limits = ", ".join(content.says(limit_of(reason)) for reason in point.refused)
    return tuple(content.words("plan.refused", reasons=reasons) for reasons in (whole, limits))


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
    if any(point.may_be_held is not None or point.held == UNLIMITED for point in points):
        found.append(Printed(tuple(words("plan.column.hold").split()), "", (*_cells(holds), *empty)))
    return tuple(found)


def _target(point: PlannedPoint, content: PlanContent) -> str:
    """What the scale is set to; nothing for a load that is refused."""
    if point.scale is None or point.holds is False:
        return MISSING
    return scale_number(point.scale, content.plan, content.units)


def _hold(point: PlannedPoint, content: PlanContent) -> str:
    if point.may_be_held is not None:
        return content.says(duration(point.may_be_held.value))
    return content.says(UNLIMITED) if point.held == UNLIMITED else MISSING


def _cells(texts: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    return tuple((text,) for text in texts)


# What the rig holds against what is asked of it, and what makes its readings doubtful.


def plan_limits(content: PlanContent, settings: Titled) -> Block:
    """The limits stated as a table; those not stated in a sentence; notes."""
    plan, words = content.plan, content.words
    stated = [one for one in plan.rig_checks if one.outcome != NOT_STATED]
    unstated = [_unstated(one, content) for one in plan.rig_checks if one.outcome == NOT_STATED]

    def set_limits(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if stated:
            flow.place(set_table(_limits_table(stated, content), area))
        if unstated:
            flow.spans([Span(words("plan.not_stated"), BOLD), Span(f"{', '.join(unstated)}.")])
        for note in (*plan.rig_notes, *plan.missing):
            flow.text(content.says(note))
        return flow.done()

    return Block(set_limits)


def _unstated(one: RigCheck, content: PlanContent) -> str:
    """A limit that is not stated, with what would be asked of it."""
    name = content.says(one.name)
    return name if one.asked is None else f"{name} ({_needed(one, content)})"


def _needed(one: RigCheck, content: PlanContent) -> str:
    """What the loads ask; what they cannot pass where that is not known."""
    asked = content.of_rig(one, one.asked)
    return content.words("plan.at_most", asked=asked) if one.at_most else asked


def _limits_table(stated: list[RigCheck], content: PlanContent) -> Table:
    words = content.words
    return Table(
        (
            Column((words("plan.limit"),), tuple(content.says(one.name) for one in stated), align=LEFT),
            Column((words("plan.asked"),), tuple(_needed(one, content) for one in stated), align=RIGHT),
            Column((words("plan.stated"),), tuple(content.of_rig(one, one.limit) for one in stated), align=RIGHT),
            Column((words("plan.result"),), tuple(_result(one, content) for one in stated), align=LEFT, share=1.0),
        ),
        ruled=True,
    )


def _result(one: RigCheck, content: PlanContent) -> str:
    outcome = content.words(f"plan.outcome.{one.outcome.replace(' ', '_')}")
    if one.outcome == HOLDS:
        return outcome
    place = content.words("plan.at", load=content.says(one.at)) if one.outcome == EXCEEDED and one.at else ""
    note = f": {content.says(one.note)}" if one.note else ""
    return f"{outcome}{' ' if place else ''}{place}{note}" or MISSING


# The lists of the run sheet: when to stop, what to see to before power is on, how to go on.


_BOX = 0.85
_INDENT = 1.5


def plan_stops(content: PlanContent, settings: Titled) -> Block:
    """Signs with their figures, and what to do: unload, or switch off."""
    stops, words = content.plan.stops, content.words

    def set_stops(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        for one in stops:
            limit = "" if one.limit is None else f": {content.of_stop(one)}"
            act = words(f"plan.act.{one.action}")
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


# Blanks to fill in by hand: day, names, zero, ambient, supply, winding.


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


# Where the run sheet came from.


_DIGITS = 12


def plan_footer(content: PlanContent, settings: Titled) -> Block:
    """The last lines: what the dash means, program, digests of the files the plan was made from."""
    plan, words = content.plan, content.words
    files = words.joined(f"{name} {digest[:_DIGITS]}" for name, digest in plan.inputs.items())
    origin = words("footer.made_from", program=plan.program, version=plan.version, digits=_DIGITS, files=files)

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "accent")
        flow.space(0.25)
        flow.spans([Span(words("plan.legend", missing=MISSING), ink="muted"), Span(origin, ink="muted")])
        if settings.title:
            flow.text(settings.title, ink="muted")
        return flow.done()

    return Block(set_footer)


#: The blocks of a run sheet.
BLOCKS = {
    "plan_heading": BlockKind(plan_heading, "shorten the names of shop and rig"),
    "plan_motor": BlockKind(plan_motor, "shorten the description of the motor in the job"),
    "plan_fields": BlockKind(plan_fields, "give it more of the width"),
    "plan_loads": BlockKind(plan_loads, "lower its spare_rows or its row_height"),
    "plan_limits": BlockKind(plan_limits, "give it more of the width"),
    "plan_steps": BlockKind(plan_steps, "let its row be dropped"),
    "plan_stops": BlockKind(plan_stops, "give it more of the width"),
    "plan_precautions": BlockKind(plan_precautions, "give it more of the width"),
    "plan_footer": BlockKind(plan_footer, "shorten the names of the input files"),
}
