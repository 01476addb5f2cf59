"""What a summary says: many motors in a list, each with its verdict and headline values."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from certgen.sheet.figures import Units, as_units
from certgen.sheet.unit_texts import in_units
from certgen.sheet.words import Words


@dataclass(frozen=True)
class SummaryRow:
    """One tested motor; headline values in SI, ``None`` where not measured."""

    number: str
    tested_on: str  # ISO date
    motor: str
    verdict: str
    power: float | None = None
    torque: float | None = None
    speed: float | None = None
    current: float | None = None
    voltage: float | None = None
    efficiency: float | None = None
    replaced_by: str = ""


@dataclass(frozen=True)
class Summary:
    """Tested motors in the order of the list, where they come from, and how many are lacking."""

    rows: tuple[SummaryRow, ...]
    source: str = ""  # what was listed, in words
    shop: str = ""
    unjudged: int = 0  # jobs that could not be judged
    program: str = ""


@dataclass(frozen=True)
class SummaryContent:
    """The summary, the reader's choice of units, and the words of the page."""

    summary: Summary
    units: str = "si"
    words: Words = field(default_factory=Words)

    @property
    def figures(self) -> Units:
        """The units, with how the page writes figures."""
        return as_units(self.units)

    def says(self, text: str) -> str:
        """A text in the words and units of the page."""
        return in_units(self.words.phrase(text), self.units)

    def outcome(self, outcome: str) -> str:
        """An outcome in the words of the page."""
        return self.words.known(f"outcome.{outcome.replace(' ', '_')}", outcome)

    @property
    def counted(self) -> dict[str, int]:
        """How many came to each outcome, the most first."""
        return dict(Counter(row.verdict for row in self.summary.rows).most_common())
