"""What the run sheet says: a plan put into words, in the units of the reader's choice."""

from __future__ import annotations

from dataclasses import dataclass, field

from certgen.planning.plan import Plan
from certgen.quantity import Quantity
from certgen.sheet.figures import Units, as_units
from certgen.sheet.plan_figures import said, scale_said
from certgen.sheet.unit_texts import in_units
from certgen.sheet.words import Words


@dataclass(frozen=True)
class PlanContent:
    """The plan, the reader's choice of units, and the words of the page."""

    plan: Plan
    units: str = "si"
    words: Words = field(default_factory=Words)

    @property
    def figures(self) -> Units:
        """The units, with how the page writes figures."""
        return as_units(self.units)

    def says(self, text: str) -> str:
        """A sentence of the plan in the words and units of the page."""
        return in_units(self.words.phrase(text), self.units)

    def figure(self, quantity: Quantity | None) -> str:
        """A figure with its unit."""
        return said(quantity, self.units)

    def limit(self, name: str, quantity: Quantity | None) -> str:
        """A figure of a limit, the scale's in the scale's own unit."""
        return scale_said(quantity, self.plan) if name.startswith("scale") else self.figure(quantity)
