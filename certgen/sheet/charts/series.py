"""What the charts show: points and curves of one quantity over another, in the units printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from certgen.job.model import Nameplate
from certgen.messages.format import Form, forms
from certgen.physics.mechanics import torque_at
from certgen.results.model import EXTRAPOLATED, FULL_SPAN, IMPOSSIBLE, Curve, Point, Results
from certgen.sheet.content import Content, headline_point, in_sentence, rated_points
from certgen.sheet.pdf.drawing import Spot


@dataclass(frozen=True)
class Axis:
    """A quantity of a load point and how it is printed."""

    name: str
    form: Form


@dataclass(frozen=True)
class Look:
    """What tells a series from others without colour, and the axis it belongs to."""

    dashes: tuple[float, ...] = ()
    marker: str = "o"
    right: bool = False


@dataclass(frozen=True)
class Series:
    """One quantity over another: points by what may be said of them, and the drawn curve."""

    name: str
    look: Look
    tested: tuple[Spot, ...]
    impossible: tuple[Spot, ...]
    extrapolated: tuple[Spot, ...]
    curve: tuple[Spot, ...]
    spreads: tuple[Spot, ...] = ()  # expanded uncertainty of each tested point, 0 where it is not known
    full_span: tuple[Spot, ...] = ()  # those of the tested at which the scale showed all it can

    @property
    def spots(self) -> tuple[Spot, ...]:
        """Everything to be seen."""
        return self.tested + self.impossible + self.extrapolated + self.curve


@dataclass(frozen=True)
class Labelled:
    """A spot and what to write beside it."""

    spot: Spot
    text: str


def axis(content: Content, name: str, kind: str) -> Axis:
    """The axis of a quantity, its unit by the largest value among the points; of two systems the first."""
    points = content.results.points
    values = [abs(item.value) for point in points if (item := getattr(point, name)) is not None]
    return Axis(name, forms(kind, content.units, max(values, default=0.0))[0])


def series_of(content: Content, x: Axis, y: Axis, curve: Curve | None, look: Look) -> Series:
    """The points and the curve of one quantity over another."""
    results = content.results
    tested = [point for point in results.points if not {IMPOSSIBLE, EXTRAPOLATED} & set(point.flags)]
    if x.name == "shaft_power":
        tested = [point for point in tested if not _past_breakdown(point, results)]
    impossible = [point for point in results.points if IMPOSSIBLE in point.flags]
    beyond = [item.point for item in rated_points(results)] + list(results.points)
    extrapolated = [point for point in beyond if EXTRAPOLATED in point.flags and IMPOSSIBLE not in point.flags]
    return Series(
        content.words(f"name.{y.name}"),
        look,
        _spots(tested, x, y),
        _spots(impossible, x, y),
        _spots(extrapolated, x, y),
        _curve(curve, x, y),
        _spreads(tested, x, y),
        _spots([point for point in tested if FULL_SPAN in point.flags], x, y),
    )


def _spreads(points: Sequence[Point], x: Axis, y: Axis) -> tuple[Spot, ...]:
    """The expanded uncertainties of the points that have both quantities."""
    pairs = ((getattr(point, x.name), getattr(point, y.name)) for point in points)
    return tuple(
        (x.form.spread(a.expanded_uncertainty or 0.0), y.form.spread(b.expanded_uncertainty or 0.0))
        for a, b in pairs
        if a is not None and b is not None
    )


def _past_breakdown(point: Point, results: Results) -> bool:
    """Whether a point is slower than breakdown: over shaft power it would fall among lighter loads."""
    breakdown = results.characteristic.breakdown_speed
    return breakdown is not None and point.speed is not None and point.speed.value < breakdown.value


def _spots(points: Sequence[Point], x: Axis, y: Axis) -> tuple[Spot, ...]:
    pairs = ((getattr(point, x.name), getattr(point, y.name)) for point in points)
    return tuple((x.form.value(a.value), y.form.value(b.value)) for a, b in pairs if a is not None and b is not None)


def _curve(curve: Curve | None, x: Axis, y: Axis) -> tuple[Spot, ...]:
    if curve is None or x.name not in curve.columns or y.name not in curve.columns:
        return ()
    pairs = zip(curve.columns[x.name], curve.columns[y.name], strict=True)
    return tuple((x.form.value(a), y.form.value(b)) for a, b in pairs)


def trace(results: Results, x: Axis, y: Axis) -> tuple[tuple[Spot, ...], tuple[Spot, ...]]:
    """A log behind the points: its thinned trace, and its faulty samples."""
    return _curve(results.curves.trace, x, y), _curve(results.curves.faults, x, y)


def plate_rating(content: Content, speed: Axis, torque: Axis) -> Labelled | None:
    """The plate's speed, and the torque that its power takes there."""
    plate = content.results.nameplate
    if plate.power is None or plate.speed is None:
        return None
    rated = torque.form.value(float(torque_at(plate.power, plate.speed)))
    spot = (speed.form.value(plate.speed), rated)
    shown = torque.form.number(rated, replace(torque.form, significant=3).places([rated]))
    at = f"{speed.form.plain(spot[0])} {speed.form.sign}"
    return Labelled(spot, content.words("chart.plate", torque=f"{shown} {torque.form.sign}", speed=at))


def lead_point(content: Content, x: Axis, y: Axis) -> Labelled | None:
    """The point whose figures lead the page, where it is read off the curve."""
    named = headline_point(content.results, content.words)
    if named is None or named.point in content.results.points:
        return None
    spots = _spots([named.point], x, y)
    return Labelled(spots[0], content.words("chart.lead", point=in_sentence(named.name))) if spots else None


def rated_range(plate: Nameplate, power: Axis) -> tuple[float, ...]:
    """Rated power, and its product with the service factor where that is more."""
    if plate.power is None:
        return ()
    rated = power.form.value(plate.power)
    factor = plate.service_factor or 1.0
    return (rated, rated * factor) if factor > 1.0 else (rated,)


def rated_label(content: Content, power: Axis) -> str:
    """What the mark at rated power means."""
    plate, words = content.results.nameplate, content.words
    rated = rated_range(plate, power)
    text = words("chart.rated", power=f"{power.form.plain(rated[0])} {power.form.sign}") if rated else ""
    if len(rated) < 2:
        return text
    return f"{text}\n{words('chart.service_factor', factor=power.form.plain(plate.service_factor or 1.0))}"
