"""What a summary says: many motors in a list, each with its verdict and headline values."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from certgen.sheet.voice import Voice
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
class SummaryContent(Voice):
    """The summary, the reader's choice of units, and the words of the page."""

    summary: Summary
    units: str = "si"
    words: Words = field(default_factory=Words)

    @property
    def counted(self) -> dict[str, int]:
        """How many came to each outcome, the most first."""
        return dict(Counter(row.verdict for row in self.summary.rows).most_common())
