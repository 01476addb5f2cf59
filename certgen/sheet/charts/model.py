"""A chart as plain data in the units printed: what it shows, and nothing of page, typeface or library.

Every figure is a pair of numbers on the axes named beside it; every text stands in the words of the page. A painter
turns it into ink: ``painter.py`` onto the sheet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

Spot = tuple[float, float]

#: How a curve came about: fitted to the points, points joined by straight lines, the raw trace of a log, a reach beyond
#: what was tested.
FITTED, JOINED, TRACE, BEYOND = "fitted", "joined", "trace", "beyond"
#: What may be said of points.
TESTED, IMPOSSIBLE, EXTRAPOLATED, FULL_SPAN, LEFT_OUT = "tested", "impossible", "extrapolated", "full span", "left out"
#: What a mark stands for: the plate's value, the point that leads the page, the peak of the curve.
PLATE, LEAD, PEAK = "plate", "lead", "peak"
#: What a range stands for: the tolerance of the plate's value, loads up to the service factor, a steady stretch of a
#: log, one left out.
TOLERANCE, SERVICE_FACTOR, STEADY, FAULTY = "tolerance", "service factor", "steady", "faulty"
#: Of a log drawn for a screen: what any test passes over, such as changes of load.
PASSED_OVER = "passed over"
#: The side of a limit that is allowed.
BELOW, ABOVE = "below", "above"

#: Least span of an axis in parts of its largest value, so that scatter is not drawn as a trend.
_LEAST_SPAN = 0.03
#: Room beyond the outermost value, in parts of the span.
_ROOM = 0.07


def round_ticks(low: float, high: float, most: int) -> tuple[float, ...]:
    """At most ``most`` ticks at 1, 2 or 5 times a power of ten between two limits."""
    span = high - low
    power = 10.0 ** math.floor(math.log10(span / max(1, most - 1)))
    step = next(power * factor for factor in (1.0, 2.0, 5.0, 10.0, 20.0) if span / (power * factor) <= most - 1)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(index * step for index in range(first, last + 1))


def tick_texts(ticks: Sequence[float], mark: str = ".") -> tuple[str, ...]:
    """Ticks as printed, all with the decimals of their step."""
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    decimals = max(0, -math.floor(math.log10(step) + 1e-9)) if step > 0 else 0
    return tuple(f"{tick:.{decimals}f}".replace("-", "−").replace(".", mark) for tick in ticks)


@dataclass(frozen=True)
class Axis:
    """One axis: its quantity and unit in words, its ends and its round ticks, in the unit printed."""

    quantity: str
    unit: str
    low: float
    high: float
    ticks: tuple[float, ...]
    mark: str = "."  # before the decimals
    names: tuple[str, ...] = ()  # in place of figures: one a tick, for an axis of things rather than of a quantity

    @property
    def label(self) -> str:
        """Quantity and unit."""
        return f"{self.quantity}, {self.unit}" if self.unit else self.quantity

    @property
    def texts(self) -> tuple[str, ...]:
        """The ticks as printed."""
        return self.names or tick_texts(self.ticks, self.mark)

    def part(self, value: float) -> float:
        """How far a value lies along the axis, from 0 to 1."""
        return (value - self.low) / (self.high - self.low)


def axis_of(
    quantity: str, unit: str, values: Sequence[float], *, from_zero: bool = False, most: int = 6, mark: str = "."
) -> Axis:
    """An axis that holds all values with a little room at its ends; one from zero ends at a whole step or above all."""
    low, high = min(values, default=0.0), max(values, default=1.0)
    if from_zero:
        low = min(0.0, low)
    least = _LEAST_SPAN * max(abs(low), abs(high)) or 1.0
    if high - low < least:
        low, high = (low + high - least) / 2.0, (low + high + least) / 2.0
    span = high - low
    high += _ROOM * span
    low -= 0.0 if from_zero and low == 0.0 else _ROOM * span
    return Axis(quantity, unit, low, high, round_ticks(low, high, most), mark)


@dataclass(frozen=True)
class Curve:
    """A line through spots; ``kind`` says how it came about."""

    spots: tuple[Spot, ...]
    kind: str = FITTED
    name: str = ""


@dataclass(frozen=True)
class Points:
    """Points of one state; ``spreads`` are the expanded uncertainties along both axes, zero where not known."""

    spots: tuple[Spot, ...]
    state: str = TESTED
    spreads: tuple[Spot, ...] = ()
    name: str = ""


@dataclass(frozen=True)
class Band:
    """A band of uncertainty about a curve, by its lower and upper edge."""

    low: tuple[Spot, ...]
    high: tuple[Spot, ...]
    name: str = ""


@dataclass(frozen=True)
class Range:
    """A range of the level axis; with ``low`` and ``high`` a box, else over the whole height."""

    left: float
    right: float
    kind: str
    low: float | None = None
    high: float | None = None
    name: str = ""


@dataclass(frozen=True)
class Limit:
    """A limit that holds at one place of the level axis; ``allowed`` is the side that is."""

    spot: Spot
    allowed: str
    name: str = ""


@dataclass(frozen=True)
class Mark:
    """A single spot that stands for something."""

    spot: Spot
    kind: str
    name: str = ""


@dataclass(frozen=True)
class Label:
    """A few words beside a spot."""

    spot: Spot
    text: str


@dataclass(frozen=True)
class Upright:
    """A place of the level axis marked over the whole height."""

    x: float
    name: str = ""


@dataclass(frozen=True)
class Level:
    """A value of the upright axis marked over the whole width."""

    at: float
    name: str = ""


@dataclass(frozen=True)
class Stack:
    """Parts on top of one another at one place of the level axis, as wide as ``width`` on it."""

    x: float
    width: float
    parts: tuple[float, ...]


@dataclass(frozen=True)
class Bar:
    """A bar from zero of the level axis, as high as ``height`` about its place on the upright one."""

    at: float
    height: float
    value: float


@dataclass(frozen=True)
class Panel:
    """One upright axis with what stands on it."""

    up: Axis
    curves: tuple[Curve, ...] = ()
    points: tuple[Points, ...] = ()
    bands: tuple[Band, ...] = ()
    ranges: tuple[Range, ...] = ()
    limits: tuple[Limit, ...] = ()
    marks: tuple[Mark, ...] = ()
    labels: tuple[Label, ...] = ()
    uprights: tuple[Upright, ...] = ()
    levels: tuple[Level, ...] = ()
    stacks: tuple[Stack, ...] = ()
    bars: tuple[Bar, ...] = ()
    parts: tuple[str, ...] = ()  # the names of a stack's parts, the lowest first
    title: str = ""  # in place of the axis's label

    def spots(self) -> Iterator[Spot]:
        """Every spot to be seen."""
        for curve in self.curves:
            yield from curve.spots
        for points in self.points:
            yield from points.spots
        yield from (limit.spot for limit in self.limits)
        yield from (mark.spot for mark in self.marks)


@dataclass(frozen=True)
class Chart:
    """Panels one above the other over one level axis, with a title and remarks."""

    title: str
    across: Axis
    panels: tuple[Panel, ...]
    notes: tuple[str, ...] = field(default=())
