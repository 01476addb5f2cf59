"""The motor to be tested, what its plate declares, and what follows from it."""

from __future__ import annotations

from certgen.job.model import Nameplate
from certgen.sheet.block_settings import Titled
from certgen.sheet.blocks.pairs import set_pairs
from certgen.sheet.content import Content
from certgen.sheet.figures import MISSING, forms, with_sign
from certgen.sheet.plan_content import PlanContent
from certgen.sheet.setting import Area, Block, Flow, Setting

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
    pairs = tuple(_pairs(content))

    def set_motor(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_motor)


def _pairs(content: PlanContent) -> list[tuple[str, str]]:
    plan, words = content.plan, content.words
    motor = plan.motor
    kind = words.phrase(motor.type)
    named = ", ".join(part for part in (motor.maker, motor.model, motor.serial) if part)
    pairs = [(words("identity.item"), words("identity.motor", type=kind) if motor.type != "other" else kind)]
    if motor.description:
        pairs.append((words("identity.description"), motor.description))
    if named:
        pairs.append((words("plan.marks"), named))
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
        value = getattr(plate, name)
        if value is not None:
            shown = _figure(content, kind, value) if kind else str(value)
            parts.append(f"{content.words(label)} {shown}" if label else shown)
    return ", ".join(parts)


def _figure(content: PlanContent | Content, kind: str, value: float) -> str:
    return " / ".join(with_sign(form.plain(form.value(value)), form) for form in forms(kind, content.units, value))


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
