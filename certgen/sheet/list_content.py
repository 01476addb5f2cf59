"""What lists say: many motors each with verdict and headline values, and one quantity over repeated tests of one motor."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from certgen.messages.catalogue import Message
from certgen.messages.format import KINDS, Form, forms
from certgen.physics.control_chart import ControlLimits
from certgen.physics.uncertainty import decimals_for
from certgen.sheet.words import Voice, Words


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
    headline: Message | str = ""  # what the certificate prints large; the outcome's word where it is empty
    scope: Message | str = ""  # what the verdict does not cover, in brief
    set_by: str = ""  # the value that defines the others


@dataclass(frozen=True)
class NotListed:
    """A job that is not in the list, and why: it awaits its test, or could not be judged."""

    job: str
    reason: Message | str
    awaiting: bool = False


@dataclass(frozen=True)
class Summary:
    """Tested motors in the order of the list, where they come from, and how many are missing."""

    rows: tuple[SummaryRow, ...]
    source: str = ""  # what was listed, in words
    shop: str = ""
    not_listed: tuple[NotListed, ...] = ()
    program: str = ""


@dataclass(frozen=True)
class SummaryContent(Voice):
    """The summary, the reader's choice of units, and the words of the page."""

    summary: Summary
    units: str = "si"
    words: Words = field(default_factory=Words)

    @property
    def unjudged(self) -> tuple[NotListed, ...]:
        """Jobs that were tested and could not be judged."""
        return tuple(one for one in self.summary.not_listed if not one.awaiting)

    @property
    def awaiting(self) -> tuple[NotListed, ...]:
        """Jobs that await their test."""
        return tuple(one for one in self.summary.not_listed if one.awaiting)

    @property
    def counted(self) -> dict[str, int]:
        """How many came to each outcome, the most first."""
        return dict(Counter(row.verdict for row in self.summary.rows).most_common())


# What a trend page says: one quantity over repeated tests of one motor, on a control chart.


@dataclass(frozen=True)
class TrendTest:
    """One test: its value in SI, and the rules that it completed."""

    number: str
    tested_on: str  # ISO date
    value: float
    broken: tuple[Message, ...] = ()


@dataclass(frozen=True)
class FollowedMotor:
    """One quantity over the tests of a motor, oldest first; limits in SI, ``None`` where the tests are too few."""

    motor: str
    quantity: str  # by its name among the headline values
    tests: tuple[TrendTest, ...]
    limits: ControlLimits | None
    least_tests: int
    without_value: tuple[str, ...] = ()
    load: Message | str = ""  # at which all tests are compared
    shop: str = ""
    program: str = ""


@dataclass(frozen=True)
class TrendContent(Voice):
    """The trend, the reader's choice of units, and the words of the page."""

    trend: FollowedMotor
    units: str = "si"
    words: Words = field(default_factory=Words)

    @property
    def name(self) -> str:
        """The quantity in the words of the page."""
        return self.words(f"name.{_point_name(self.trend.quantity)}")

    @property
    def form(self) -> Form:
        """How the quantity is printed; of two systems the first."""
        kind = KINDS[_point_name(self.trend.quantity)]
        return forms(kind, self.units, max(abs(test.value) for test in self.trend.tests))[0]

    @property
    def decimals(self) -> int:
        """Decimals that show two digits of the scatter, where it is known."""
        limits, form = self.trend.limits, self.form
        usual = form.places(form.value(test.value) for test in self.trend.tests)
        if limits is None or not limits.sigma > 0.0:
            return usual + 1
        return min(usual + 3, max(0, decimals_for(form.spread(limits.sigma))))

    def figure(self, si: float) -> str:
        """A value of the quantity with its unit."""
        form = self.form
        return f"{form.number(form.value(si), self.decimals)} {form.sign}".rstrip()

    @property
    def signals(self) -> bool:
        """Whether a test broke a rule."""
        return any(test.broken for test in self.trend.tests)


def _point_name(quantity: str) -> str:
    """A headline value by its name among the quantities of a load point."""
    return "shaft_power" if quantity == "power" else quantity
