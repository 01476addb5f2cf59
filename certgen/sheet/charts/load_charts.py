"""What the two charts of a load test show: torque against speed; current, efficiency and power factor over the load.

Each builder gives a chart of plain data in the units of the page. The three panels stand over shaft power; where the
test went past the greatest power, as beyond breakdown, that falls again while the load grows, so they stand over speed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from certgen.job.model import Nameplate
from certgen.messages.format import Form, forms, with_sign
from certgen.physics.mechanics import torque_at
from certgen.quantity import Quantity
from certgen.results.model import EXTRAPOLATED, FULL_SPAN, IMPOSSIBLE, Finding, Point, Results
from certgen.results.model import Curve as DrawnCurve
from certgen.sheet.charts import model
from certgen.sheet.charts.model import Axis, Band, Chart, Curve, Limit, Mark, Panel, Points, Range, Spot, Upright
from certgen.sheet.content import Content, headline_point, rated_points

_PERCENT = Form("percent", "%")
#: Points that give no curve: they are named in the key.
_FEW = 3
_ACROSS = 8
_UP, _UP_IN_PANELS = 8, 5
#: How far the axis of current reaches beyond its greatest value: room for the sign of a limit.
_TOP = 1.08
#: Part of the greatest power below which that of the greatest torque has fallen again.
_FALLEN = 0.99
#: Findings whose limits the panels draw, at the load they hold at.
_LIMITS = {
    "current": ("current_at_rated_power", "service_factor_current"),
    "efficiency": ("efficiency_at_rated_power",),
    "power_factor": ("power_factor_at_rated_power",),
}
#: Least half width of a band of uncertainty, in parts of what the axis spans, that is wider than the line.
_LEAST_BAND = 0.006
_SLIP, _SPEED = "slip_at_rated_power", "speed_at_rated_power"


@dataclass(frozen=True)
class Printed:
    """A quantity of a load point and how it is printed."""

    name: str
    form: Form

    def value(self, item: Quantity) -> float:
        """A quantity as a number in the unit printed."""
        return self.form.value(item.value)


def printed(content: Content, name: str, kind: str) -> Printed:
    """How a quantity is printed, its unit by the largest value among the points; of two systems the first."""
    points = [point for results in (content.results, *content.beside) for point in results.points]
    values = [abs(item.value) for point in points if (item := getattr(point, name)) is not None]
    return Printed(name, forms(kind, content.units, max(values, default=0.0))[0])


def axis(content: Content, shown: Printed, values: Sequence[float], *, from_zero: bool, most: int) -> Axis:
    """The axis of a quantity over all values to be seen."""
    called = content.words(f"chart.{shown.name}")
    mark = content.figures.mark
    return model.axis_of(called, shown.form.sign, values, from_zero=from_zero, most=most, mark=mark)


# Points and curves of one quantity over another.


def points_of(content: Content, x: Printed, y: Printed) -> tuple[Points, ...]:
    """The points by what may be said of them, the tested first; states without a point do not appear."""
    results, words = content.results, content.words
    sound = [point for point in results.points if _sound(point)]
    impossible = [point for point in results.points if IMPOSSIBLE in point.flags]
    beyond = [item.point for item in rated_points(results)] + list(results.points)
    extrapolated = [point for point in beyond if EXTRAPOLATED in point.flags and IMPOSSIBLE not in point.flags]
    full = [point for point in sound if FULL_SPAN in point.flags]
    read = words("chart.measured") if len(sound) < _FEW else ""  # beside a curve dots need no word
    listed = (
        Points(_spots(sound, x, y), model.TESTED, _spreads(sound, x, y), name=read),
        Points(_spots(full, x, y), model.FULL_SPAN, name=words("chart.full_span")),
        Points(_spots(extrapolated, x, y), model.EXTRAPOLATED, name=words("chart.extrapolated")),
        Points(_spots(impossible, x, y), model.IMPOSSIBLE, name=words("chart.impossible")),
    )
    return tuple(points for points in listed if points.spots)


def _pairs(points: Sequence[Point], x: Printed, y: Printed) -> Iterator[tuple[Quantity, Quantity]]:
    for point in points:
        across, up = getattr(point, x.name), getattr(point, y.name)
        if across is not None and up is not None:
            yield across, up


def _spots(points: Sequence[Point], x: Printed, y: Printed) -> tuple[Spot, ...]:
    return tuple((x.value(across), y.value(up)) for across, up in _pairs(points, x, y))


def _spreads(points: Sequence[Point], x: Printed, y: Printed) -> tuple[Spot, ...]:
    """The expanded uncertainties of the points that have both quantities."""
    return tuple(
        (x.form.spread(across.expanded_uncertainty or 0.0), y.form.spread(up.expanded_uncertainty or 0.0))
        for across, up in _pairs(points, x, y)
    )


def _curve(curve: DrawnCurve | None, x: Printed, y: Printed) -> tuple[Spot, ...]:
    if curve is None or x.name not in curve.columns or y.name not in curve.columns:
        return ()
    pairs = zip(curve.columns[x.name], curve.columns[y.name], strict=True)
    return tuple((x.form.value(a), y.form.value(b)) for a, b in pairs)


def curves_of(
    content: Content, x: Printed, y: Printed, curve: DrawnCurve | None, points: tuple[Points, ...]
) -> tuple[Curve, ...]:
    """The fitted curve, and its reach to each point that lies beyond what was tested."""
    spots = _curve(curve, x, y)
    if not spots:
        return ()
    beyond = [spot for one in points if one.state == model.EXTRAPOLATED for spot in one.spots]
    ends = [(min((spots[0], spots[-1]), key=lambda at: abs(at[0] - spot[0])), spot) for spot in beyond]
    reaches = [Curve(both, model.BEYOND) for both in ends]
    return (Curve(spots), *reaches)


def band_of(curve: tuple[Spot, ...], points: tuple[Points, ...], name: str) -> tuple[Band, ...]:
    """The uncertainty of the points along the curve between them; nothing where it is too small to be seen."""
    known = sorted(
        (spot[0], spread[1])
        for one in points
        if one.state == model.TESTED
        for spot, spread in zip(one.spots, one.spreads, strict=False)
        if spread[1] > 0.0
    )
    if not curve or len(known) < 2:
        return ()
    at, spreads = np.array(known).T
    x, y = np.array(curve).T
    inside = (x >= at[0]) & (x <= at[-1])
    x, y = x[inside], y[inside]
    half = np.interp(x, at, spreads)
    low, high = (tuple(zip(x.tolist(), edge.tolist(), strict=True)) for edge in (y - half, y + half))
    seen = half.size > 1 and float(half.max()) > _LEAST_BAND * float(y.max() - min(0.0, y.min()))
    return (Band(low, high, name),) if seen else ()


# Torque against speed.


def torque_chart(content: Content) -> Chart:
    """Torque against speed: curve with its uncertainty, points, plate with its tolerance, raw trace of a log.

    What was left out of a log stands on the record, over its time (``evidence_charts.log_chart``).
    """
    results, words = content.results, content.words
    speed, torque = printed(content, "speed", "speed"), printed(content, "torque", "torque")
    points = points_of(content, speed, torque)
    curves = curves_of(content, speed, torque, results.curves.torque_speed, points)
    bands = band_of(curves[0].spots if curves else (), points, words("chart.band"))
    marks = tuple(_torque_marks(content, speed, torque))
    panel = Panel(
        axis(content, torque, [], from_zero=True, most=_UP),
        (*_trace(content, speed, torque), *curves),
        points,
        bands,
        tuple(_tolerance(content, speed, torque)),
        marks=marks,
    )
    seen = [*_within(panel), *(mark.spot for mark in marks)]
    seen += [(edge, one.low or 0.0) for one in panel.ranges for edge in (one.left, one.right)]
    across = axis(content, speed, [x for x, _ in seen], from_zero=False, most=_ACROSS)
    up = axis(content, torque, [y for _, y in seen], from_zero=True, most=_UP)
    title = words("chart.against", quantity=up.label, over=words("name.speed"))
    panel = replace(panel, up=up, title=title)
    return Chart("", across, (panel,), _too_few(content, curves))


def _within(panel: Panel) -> list[Spot]:
    """The spots that an axis must hold: a raw trace is cut at the edge instead."""
    found = [spot for curve in panel.curves if curve.kind != model.TRACE for spot in curve.spots]
    return found + [spot for points in panel.points for spot in points.spots]


def _too_few(content: Content, curves: Sequence[Curve]) -> tuple[str, ...]:
    return () if curves else (content.words("chart.too_few"),)


def _trace(content: Content, x: Printed, y: Printed) -> Iterator[Curve]:
    spots = _curve(content.results.curves.trace, x, y)
    if spots:
        yield Curve(spots, model.TRACE, content.words("chart.trace"))


def _torque_marks(content: Content, speed: Printed, torque: Printed) -> Iterator[Mark]:
    """Plate, leading point, breakdown."""
    plate, words, found = content.results.nameplate, content.words, content.results.characteristic
    if plate.power is not None and plate.speed is not None:
        spot = (speed.form.value(plate.speed), torque.form.value(float(torque_at(plate.power, plate.speed))))
        yield Mark(spot, model.PLATE, words("chart.plate", **_at(spot, speed, torque)))
    named = headline_point(content.results, words)
    if named is not None and named.point not in content.results.points:
        for spot in _spots([named.point], speed, torque):
            yield Mark(spot, model.LEAD, words("chart.lead", point=named.name))
    if found.breakdown_torque is not None and found.breakdown_speed is not None:
        key, summit = "chart.breakdown", found.breakdown_torque
        if found.breakdown_torque_as_tested is not None:  # the points beside it are as tested
            key, summit = "chart.breakdown_as_tested", found.breakdown_torque_as_tested
        spot = (speed.value(found.breakdown_speed), torque.value(summit))
        yield Mark(spot, model.PEAK, words(key, **_at(spot, speed, torque)))


def _at(spot: Spot, speed: Printed, torque: Printed) -> dict[str, str]:
    """A torque with three digits at a speed, as printed."""
    places = replace(torque.form, significant=3).places([spot[1]])
    return {
        "torque": with_sign(torque.form.number(spot[1], places), torque.form),
        "speed": with_sign(speed.form.number(spot[0], speed.form.places([spot[0]])), speed.form),
    }


def _tolerance(content: Content, speed: Printed, torque: Printed) -> Iterator[Range]:
    """The speeds allowed at rated power, at the torque of the plate."""
    plate, speeds = content.results.nameplate, allowed_speeds(content.results)
    if plate.power is None or plate.speed is None or speeds is None:
        return
    low, high = (speed.form.value(one) for one in speeds)
    rated = torque.form.value(float(torque_at(plate.power, plate.speed)))
    yield Range(low, high, model.TOLERANCE, rated, rated, content.words("chart.tolerance"))


def allowed_speeds(results: Results) -> tuple[float, float] | None:
    """The least and the greatest speed that the checks allow at rated power [rad/s]; ``None`` where none does."""
    by_id = {finding.id: finding for finding in results.findings}
    direct, slip = by_id.get(_SPEED), by_id.get(_SLIP)
    if direct is not None and direct.required and direct.required.low and direct.required.high:
        return direct.required.low, direct.required.high
    synchronous = results.characteristic.synchronous_speed
    if slip is None or slip.required is None or synchronous is None:
        return None
    if slip.required.low is None or slip.required.high is None:
        return None
    return synchronous.value * (1.0 - slip.required.high), synchronous.value * (1.0 - slip.required.low)


# Current, efficiency and power factor as panels over one axis of load.


def load_chart(content: Content) -> Chart:
    """Three panels over shaft power, or over speed where the test went past breakdown."""
    over_speed = past_peak_power(content.results)
    name = "speed" if over_speed else "shaft_power"
    across = printed(content, name, name)
    shown = [
        printed(content, "current", "current"),
        Printed("efficiency", _PERCENT),
        Printed("power_factor", Form("", "")),
    ]
    panels = [panel for one in shown if (panel := _panel(content, across, one)) is not None]
    loads = _rated_loads(content, across)
    x = [spot[0] for panel in panels for spot in _within(panel)]
    x += list(loads.values())
    level = axis(content, across, x, from_zero=not over_speed, most=_ACROSS)
    title = content.words("chart.over", over=content.words(f"name.{name}"))
    uprights, ranges = _loads_marked(content, across, loads)
    marked = tuple(replace(panel, uprights=uprights, ranges=ranges) for panel in panels)
    fitted = any(panel.curves for panel in panels)
    return Chart(title, level, marked, () if fitted else (content.words("chart.too_few"),))


def past_peak_power(results: Results) -> bool:
    """Whether the load was raised beyond the greatest power: past breakdown, or where the speed fell faster yet."""
    breakdown = results.characteristic.breakdown_speed
    if breakdown is not None and any(one.speed and one.speed.value < breakdown.value for one in results.points):
        return True
    sound = [
        (one.torque.value, one.shaft_power.value)
        for one in results.points
        if _sound(one) and one.torque and one.shaft_power
    ]
    return bool(sound) and max(sound)[1] < _FALLEN * max(power for _, power in sound)


def _sound(point: Point) -> bool:
    return not {IMPOSSIBLE, EXTRAPOLATED} & set(point.flags)


def _panel(content: Content, across: Printed, shown: Printed) -> Panel | None:
    """One quantity over the load; ``None`` where it was not measured."""
    points = points_of(content, across, shown)
    if not points:
        return None
    curves = curves_of(content, across, shown, content.results.curves.load, points)
    if not curves and across.name == "speed" and len(points[0].spots) > 2:
        curves = (Curve(tuple(sorted(points[0].spots)), model.JOINED),)
    limits = tuple(_limits(content, across, shown))
    marks = tuple(_plate_mark(content, across, shown))
    panel = Panel(_up_axis(content, shown, ()), curves, points, limits=limits, marks=marks)
    values = [y for _, y in (*_within(panel), *(one.spot for one in limits), *(one.spot for one in marks))]
    return replace(panel, up=_up_axis(content, shown, values))


def _up_axis(content: Content, shown: Printed, values: Sequence[float]) -> Axis:
    """From zero; a ratio up to one or more."""
    if shown.name == "current":
        reach = [*values, _TOP * max(values, default=1.0)]
        return axis(content, shown, reach, from_zero=True, most=_UP_IN_PANELS)
    whole = 100.0 if shown.form.unit else 1.0
    top = max([whole, *values])
    called, mark = content.words(f"chart.{shown.name}"), content.figures.mark
    return Axis(called, shown.form.sign, 0.0, top, tuple(part * whole for part in (0.0, 0.5, 1.0)), mark)


def _rated_loads(content: Content, across: Printed) -> dict[str, float]:
    """Where rated load and service-factor load lie on the level axis, as far as the plate or the curve says."""
    results = content.results
    if across.name == "shaft_power":
        loads = rated_range(results.nameplate, across)
        return dict(zip(("rated", "service_factor"), loads, strict=False))
    found = {}
    for name, point in (("rated", results.at_rated_power), ("service_factor", results.at_service_factor)):
        if point is not None and point.speed is not None:
            found[name] = across.value(point.speed)
    return found


def rated_range(plate: Nameplate, power: Printed) -> tuple[float, ...]:
    """Rated power, and its product with the service factor where that is more."""
    if plate.power is None:
        return ()
    rated = power.form.value(plate.power)
    factor = plate.service_factor or 1.0
    return (rated, rated * factor) if factor > 1.0 else (rated,)


def _loads_marked(
    content: Content, across: Printed, loads: dict[str, float]
) -> tuple[tuple[Upright, ...], tuple[Range, ...]]:
    """An upright at rated load, and the range up to the service factor."""
    plate, words = content.results.nameplate, content.words
    if "rated" not in loads:
        return _lead_marked(content, across), ()
    rated = words("chart.rated_speed")
    if across.name == "shaft_power":
        rated = words("chart.rated", power=with_sign(across.form.plain(loads["rated"]), across.form))
    uprights = (Upright(loads["rated"], rated),)
    if "service_factor" in loads and plate.service_factor:
        name = words("chart.service_factor", factor=across.form.plain(plate.service_factor))
        left, right = sorted((loads["rated"], loads["service_factor"]))
        return uprights, (Range(left, right, model.SERVICE_FACTOR, name=name),)
    return uprights, ()


def _lead_marked(content: Content, across: Printed) -> tuple[Upright, ...]:
    """An upright at the point that leads the page, where the plate names no load."""
    named = headline_point(content.results, content.words)
    item = getattr(named.point, across.name) if named else None
    if named is None or item is None or named.point in content.results.points:
        return ()
    return (Upright(across.value(item), content.words("chart.lead", point=named.name)),)


def _plate_mark(content: Content, across: Printed, shown: Printed) -> Iterator[Mark]:
    """The plate's value at rated load."""
    declared = getattr(content.results.nameplate, shown.name)
    rated = _rated_loads(content, across).get("rated")
    if declared is not None and rated is not None:
        value = shown.form.value(declared)
        text = with_sign(content.figures.plain(value), shown.form)
        yield Mark((rated, value), model.PLATE, content.words("chart.plate_value", value=text))


def _limits(content: Content, across: Printed, shown: Printed) -> Iterator[Limit]:
    """The limits of the checks on this quantity, each at the load it holds at."""
    loads = _rated_loads(content, across)
    for finding in content.results.findings:
        if finding.id not in _LIMITS[shown.name] or finding.required is None:
            continue
        load = loads.get("service_factor" if finding.id.startswith("service_factor") else "rated")
        if load is not None:
            yield from _limits_of(content, finding, load, shown)


def _limits_of(content: Content, finding: Finding, load: float, shown: Printed) -> Iterator[Limit]:
    required = finding.required
    sides = ((required.high, model.BELOW), (required.low, model.ABOVE)) if required else ()
    for bound, allowed in sides:
        if bound is not None:
            yield Limit((load, shown.form.value(bound)), allowed, content.words("chart.limit"))
