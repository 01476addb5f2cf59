"""What the run sheet says: a plan put into words, in the units of the reader's choice."""

from __future__ import annotations

from dataclasses import dataclass, field

from certgen.messages.catalogue import Message
from certgen.messages.format import MISSING, SI, as_units, quantity
from certgen.planning.plan import Plan, RigCheck, Stop
from certgen.quantity import Quantity
from certgen.sheet.words import Voice, Words
from certgen.units import from_si

# Readings of the scale as they are printed: in the scale's own unit.


#: The unit sign of a scale as the reader knows it.
_SIGNS = {"N*m": "N·m", "lbf*ft": "lbf·ft", "lbf*in": "lbf·in", "ozf*in": "ozf·in"}


def scale_figure(reading: Quantity | None, plan: Plan, units: str = SI) -> str:
    """A reading of the scale in the scale's own unit."""
    if reading is None:
        return MISSING
    return f"{scale_number(reading, plan, units)} {scale_sign(plan)}"


def scale_number(reading: Quantity, plan: Plan, units: str = SI) -> str:
    """The same without the unit: as many decimals as four digits of the heaviest reading have."""
    shown = [abs(from_si(point.scale.value, plan.scale_unit)) for point in plan.points if point.scale is not None]
    value = from_si(reading.value, plan.scale_unit)
    largest = max([*shown, abs(value)])
    decimals = next((places for places, least in enumerate((1000.0, 100.0, 10.0)) if largest >= least), 3)
    return as_units(units).number(value, decimals)


def scale_sign(plan: Plan) -> str:
    """The scale's unit as printed."""
    return _SIGNS.get(plan.scale_unit, plan.scale_unit)


def limit_of(reason: Message) -> Message | str:
    """What refuses a load, without its figures."""
    limit = reason.values["limit"]
    assert isinstance(limit, (Message, str))  # every refusal names it
    return limit


def of_scale(check: RigCheck) -> bool:
    """Whether a limit of the rig is one of the scale."""
    return check.key == "limits.scale"


def at_scale(stop: Stop) -> bool:
    """Whether the figure of a stop is read on the scale."""
    return stop.limit is not None and stop.limit.unit in ("kg", "N")


# What the run sheet says: a plan put into words, in the units of the reader's choice.


@dataclass(frozen=True)
class PlanContent(Voice):
    """The plan, the reader's choice of units, and the words of the page."""

    plan: Plan
    units: str = "si"
    words: Words = field(default_factory=Words)

    def figure(self, item: Quantity | None) -> str:
        """A figure with its unit."""
        return quantity(item, self.units)

    def of_rig(self, check: RigCheck, item: Quantity | None) -> str:
        """A figure of a limit of the rig, the scale's in the scale's own unit."""
        return scale_figure(item, self.plan, self.units) if of_scale(check) else self.figure(item)

    def of_stop(self, stop: Stop) -> str:
        """The figure of a sign of the stop list, the scale's in the scale's own unit."""
        return scale_figure(stop.limit, self.plan, self.units) if at_scale(stop) else self.figure(stop.limit)
