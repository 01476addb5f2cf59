"""What the run sheet says: a plan put into words, in the units of the reader's choice."""

from __future__ import annotations

from dataclasses import dataclass, field

from certgen.planning.plan import Plan
from certgen.quantity import Quantity
from certgen.sheet.plan_figures import said, scale_said
from certgen.sheet.voice import Voice
from certgen.sheet.words import Words


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
