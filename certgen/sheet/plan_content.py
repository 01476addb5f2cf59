"""What the run sheet says: a plan put into words, in the units of the reader's choice."""

from __future__ import annotations

from dataclasses import dataclass, field

from certgen.messages.format import MISSING, kind_of, plain, single
from certgen.planning.plan import Plan
from certgen.quantity import Quantity
from certgen.sheet.words import Voice, Words
from certgen.units import from_si

# Figures of a plan as they are printed: the scale in its own unit, the rest in the reader's.


#: Units of a plan that print one way whatever the reader's choice.
_AS_THEY_ARE = ("m/s", "N", "kg", "1")
#: The unit sign of a scale as the reader knows it.
_SIGNS = {"N*m": "N·m", "lbf*ft": "lbf·ft", "lbf*in": "lbf·in", "ozf*in": "ozf·in"}


def said(quantity: Quantity | None, units: str) -> str:
    """One figure with its unit, or the sign for what is not known."""
    if quantity is None:
        return MISSING
    if quantity.unit in _AS_THEY_ARE:
        return f"{plain(quantity.value)} {quantity.unit}".removesuffix(" 1")
    return single(quantity, kind_of(quantity.unit), units)


def scale_said(quantity: Quantity | None, plan: Plan) -> str:
    """A reading of the scale in the scale's own unit."""
    if quantity is None:
        return MISSING
    return f"{scale_number(quantity, plan)} {scale_sign(plan)}"


def scale_number(quantity: Quantity, plan: Plan) -> str:
    """The same without the unit: as many decimals as four digits of the heaviest reading have."""
    shown = [abs(from_si(point.scale.value, plan.scale_unit)) for point in plan.points if point.scale is not None]
    value = from_si(quantity.value, plan.scale_unit)
    largest = max([*shown, abs(value)])
    decimals = next((places for places, least in enumerate((1000.0, 100.0, 10.0)) if largest >= least), 3)
    return f"{value:.{decimals}f}".replace("-", "−")


def scale_sign(plan: Plan) -> str:
    """The scale's unit as printed."""
    return _SIGNS.get(plan.scale_unit, plan.scale_unit)


# What the run sheet says: a plan put into words, in the units of the reader's choice.


@dataclass(frozen=True)
class PlanContent(Voice):
    """The plan, the reader's choice of units, and the words of the page."""

    plan: Plan
    units: str = "si"
    words: Words = field(default_factory=Words)

    def figure(self, quantity: Quantity | None) -> str:
        """A figure with its unit."""
        return said(quantity, self.units)

    def limit(self, name: str, quantity: Quantity | None) -> str:
        """A figure of a limit, the scale's in the scale's own unit."""
        return scale_said(quantity, self.plan) if name.startswith("scale") else self.figure(quantity)
