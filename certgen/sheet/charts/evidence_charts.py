"""What the charts of a test record show: heat run, no-load test, stray-load regression, losses, a log over its time.

Each builder gives a chart of plain data in the units of the page, from what the results carry; nothing is computed
here but squares and units.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from certgen.messages.format import Form, forms, with_sign
from certgen.results.model import Curve as DrawnCurve
from certgen.results.model import Log, Losses, StrayRegression, Thermal
from certgen.sheet.charts import model
from certgen.sheet.charts.load_charts import Printed, printed
from certgen.sheet.charts.model import Axis, Bar, Chart, Curve, Label, Level, Panel, Points, Range, Spot
from certgen.sheet.content import Content

#: Ticks of an axis at most: across a chart of the whole width, across half of it, upwards, upwards in one of two panels.
_WIDE, _HALF, _UP, _UP_IN_PANELS = 10, 6, 5, 4
#: Times up to this are printed in seconds, longer ones in minutes. [s]
_IN_SECONDS = 600.0
#: Room beyond the greatest torque squared, voltage squared or time, in parts of it.
_ROOM = 0.05


def spots_of(curve: DrawnCurve, x: str, y: str) -> list[Spot]:
    """Two columns of a line in SI, as spots; what is not known is left out."""
    pairs = zip(curve.columns[x], curve.columns[y], strict=True)
    return [(a, b) for a, b in pairs if a is not None and b is not None and math.isfinite(a) and math.isfinite(b)]


def _axis(content: Content, key: str, unit: str, ends: Sequence[float], *, most: int, from_zero: bool = True) -> Axis:
    """An axis of a name out of the words of the page."""
    return model.axis_of(content.words(key), unit, ends, from_zero=from_zero, most=most, mark=content.figures.mark)


def _time_form(longest: float) -> Form:
    return Form("s", "s", decimals=0) if longest <= _IN_SECONDS else Form("min", "min", decimals=0)


# Heat.


def heat_chart(found: Thermal, content: Content) -> Chart:
    """The heat run: rises as read, the exponential through them, and the rise it tends to."""
    assert found.heat_run is not None  # a block is made only where there is one
    words, read = content.words, spots_of(found.heat_run, "time", "rise")
    fit = [] if found.heat_run_fit is None else spots_of(found.heat_run_fit, "time", "rise")
    end = read[-1][0]
    form = _time_form(max([end, *_ends_beside(content)]))
    inside = [(form.value(x), y) for x, y in fit if x <= end * (1.0 + 1e-9)]
    beyond = [(form.value(x), y) for x, y in fit if x >= end * (1.0 - 1e-9)]
    curves = [Curve(tuple(inside), model.FITTED, words("chart.heat_fit"))] if inside else []
    curves += [Curve(tuple(beyond), model.BEYOND, words("chart.heat_beyond"))] if len(beyond) > 1 else []
    levels = []
    if found.final_rise is not None:
        (rise,) = forms("rise", content.units, 0.0)
        text = with_sign(rise.number(found.final_rise.value, 1), rise)
        levels.append(Level(found.final_rise.value, words("chart.final_rise", rise=text)))
    spots = tuple((form.value(x), y) for x, y in read)
    heights = [y for _, y in (*read, *fit)] + [level.at for level in levels]
    up = _axis(content, f"chart.rise_{found.heat_run_part or 'frame'}", "K", heights, most=_UP)
    across = _axis(content, "chart.time", form.sign, [x for x, _ in (*spots, *beyond)], most=_WIDE)
    points = (Points(spots, name=words("chart.read")),)
    panel = Panel(up, tuple(curves), points, levels=tuple(levels))
    return Chart("", across, (panel,), () if fit else (words("chart.no_heat_fit"),))


def _ends_beside(content: Content) -> Iterator[float]:
    """Where the heat runs of tests on the same axes end. [s]"""
    for results in content.beside:
        if results.thermal is not None and results.thermal.heat_run is not None:
            yield max(results.thermal.heat_run.columns["time"])


# Losses.


def no_load_chart(found: Losses, content: Content) -> Chart:
    """Constant loss over voltage squared; its straight part meets zero voltage at friction and windage."""
    assert found.no_load is not None and found.no_load_line is not None
    words = content.words
    read = spots_of(found.no_load, "voltage", "constant_loss")
    line = spots_of(found.no_load_line, "voltage", "constant_loss")
    form = forms("electrical_power", content.units, max(y for _, y in read))[0]
    points = tuple((1e-3 * x**2, form.value(y)) for x, y in read)
    straight = tuple((1e-3 * x**2, form.value(y)) for x, y in line)
    friction = with_sign(form.plain(round(straight[0][1], form.places([straight[0][1]]))), form)
    panel = Panel(
        _axis(content, "chart.constant_loss", form.sign, [y for _, y in points], most=_UP),
        (Curve(straight, model.FITTED, words("chart.no_load_line")),),
        (Points(points, name=words("chart.read")),),
        marks=(model.Mark(straight[0], model.LEAD, words("chart.friction", loss=friction)),),
    )
    across = _axis(content, "chart.voltage_squared", "1000 V²", [0.0, points[-1][0]], most=_HALF)
    return Chart("", across, (panel,))


def stray_chart(found: StrayRegression, content: Content) -> Chart:
    """Residual loss over torque squared with the straight line of the regression."""
    assert found.residuals is not None
    words = content.words
    torque = printed(content, "torque", "torque")
    power = forms("electrical_power", "si", max(map(abs, found.residuals.columns["residual_loss"])))[0]
    read = [
        (torque.form.value(x) ** 2, power.value(y)) for x, y in spots_of(found.residuals, "torque", "residual_loss")
    ]
    count = len(found.rows)
    greatest = max(found.residuals.columns["torque"])
    ends = ((0.0, found.intercept.value), (greatest**2, found.intercept.value + found.slope.value * greatest**2))
    line = tuple((torque.form.value(math.sqrt(x)) ** 2, power.value(y)) for x, y in ends)
    points = [Points(tuple(read[:count]), name=words("chart.residual"))]
    if read[count:]:
        points.append(Points(tuple(read[count:]), model.LEFT_OUT, name=words("chart.faults")))
    up = _axis(content, "chart.residual_loss", power.sign, [y for _, y in (*read, *line)], most=_UP)
    across = _axis(content, "chart.torque_squared", f"({torque.form.sign})²", [0.0, line[-1][0]], most=_HALF)
    return Chart("", across, (Panel(up, (Curve(line, model.FITTED, words("chart.regression")),), tuple(points)),))


#: The parts of a stack of losses, the lowest first; width of a bar, in parts of the least distance between two.
LOSS_PARTS = ("stator", "rotor", "core", "friction_windage", "stray")
_BAR = 0.55


def loss_chart(found: Losses, content: Content) -> Chart:
    """The losses at each load as a stack: parts of rated load across, watts up, the parts named in their order."""
    words = content.words
    totals = [sum(getattr(point, name).value for name in LOSS_PARTS) for point in found.at_loads]
    form = forms("electrical_power", content.units, max(totals))[0]
    loads = [100.0 * point.load.value for point in found.at_loads]
    gaps = [abs(after - before) for before, after in pairwise(sorted(loads))]
    wide = _BAR * min(gaps, default=20.0)
    stacks = tuple(
        model.Stack(load, wide, tuple(max(0.0, form.value(getattr(point, name).value)) for name in LOSS_PARTS))
        for load, point in zip(loads, found.at_loads, strict=True)
    )
    top = max(sum(stack.parts) for stack in stacks)
    up = _axis(content, "chart.losses", form.sign, [0.0, top], most=_UP)
    across = _axis(content, "chart.load", words("chart.of_rated"), [0.0, max(loads) + wide], most=8)
    names = tuple(words(f"losses.{name}") for name in LOSS_PARTS)
    return Chart("", across, (Panel(up, stacks=stacks, parts=names),))


# What the uncertainty of the rated figures comes from.


#: Height of a bar, in parts of the distance between two.
_BAR_HIGH = 0.62


@dataclass(frozen=True)
class Shares:
    """What a figure's variance is made of: its title, and the inputs with their parts, the largest first."""

    title: str
    parts: tuple[tuple[str, float], ...]


def budget_chart(figures: Sequence[Shares], content: Content) -> Chart:
    """For each figure a panel with a bar for each input, the largest on top."""
    across = Axis(content.words("chart.share"), "%", 0.0, 100.0, (0.0, 20.0, 40.0, 60.0, 80.0, 100.0))
    return Chart("", across, tuple(map(_shares_panel, figures)))


def _shares_panel(figure: Shares) -> Panel:
    count = len(figure.parts)
    places = tuple(count - 0.5 - index for index in range(count))
    up = Axis("", "", 0.0, float(count), places, names=tuple(name for name, _ in figure.parts))
    bars = tuple(Bar(at, _BAR_HIGH, 100.0 * part) for at, (_, part) in zip(places, figure.parts, strict=True))
    return Panel(up, bars=bars, title=figure.title)


# A log over its time.


def log_chart(log: Log, content: Content) -> Chart:
    """Speed and torque of a log over its time: the stretches that became load points, and what was left out."""
    trace = content.results.curves.trace
    assert trace is not None
    form = _time_form(log.seconds)
    speed, torque = printed(content, "speed", "speed"), printed(content, "torque", "torque")
    ranges = tuple(_stretches(log, form, content))
    times = [form.value(x) for x, _ in spots_of(trace, "time", "speed")]
    across = _axis(content, "chart.time", form.sign, times, most=_WIDE, from_zero=min(times) >= 0.0)
    panels = [_log_panel(content, shown, form, ranges, across) for shown in (speed, torque)]
    return Chart(content.words("chart.log_over_time"), across, tuple(_labelled(panels, log, form, content)))


def _log_panel(content: Content, shown: Printed, form: Form, ranges: tuple[Range, ...], across: Axis) -> Panel:
    """One quantity of the log over its time."""
    curves, words = content.results.curves, content.words
    trace = () if curves.trace is None else _over_time(curves.trace, shown, form)
    faults = (
        () if curves.faults is None or "time" not in curves.faults.columns else _over_time(curves.faults, shown, form)
    )
    up = _axis(
        content,
        f"chart.{shown.name}",
        shown.form.sign,
        [y for _, y in trace],
        most=_UP_IN_PANELS,
        from_zero=shown.name == "torque",
    )
    left_out = Points(faults, model.LEFT_OUT, name=words("chart.faults"))
    points = (_left_out_named(left_out, across, up, content),) if faults else ()
    return Panel(up, (Curve(trace, model.JOINED),), points, ranges=ranges)


#: Stretches left out that are named beside their crosses: those of most samples.
_MOST_LABELS = 8


def _labelled(panels: Sequence[Panel], log: Log, form: Form, content: Content) -> list[Panel]:
    """The panels with what went wrong beside its cross, in the one in which it lies furthest off the trace."""
    faults = sorted((one for one in log.left_out if one.fault), key=lambda one: -one.count)
    labels: list[list[Label]] = [[] for _ in panels]
    for one in faults:
        crosses = [_furthest(panel, form.value(one.from_), form.value(one.to)) for panel in panels]
        where = max(range(len(panels)), key=lambda place: crosses[place][0])
        spot = crosses[where][1]
        if spot is not None and sum(map(len, labels)) < _MOST_LABELS:
            text = content.words(f"chart.fault.{one.reason.key.rpartition('.')[2]}")
            labels[where].append(Label(spot, text))
    return [replace(panel, labels=tuple(of)) for panel, of in zip(panels, labels, strict=True)]


def _furthest(panel: Panel, begin: float, end: float) -> tuple[float, Spot | None]:
    """Of the crosses between two times the one furthest off the trace, and how far, in parts of the upright axis."""
    near = 1e-9 * max(abs(begin), abs(end), 1.0)
    crosses = [spot for points in panel.points for spot in points.spots if begin - near <= spot[0] <= end + near]
    if not crosses:
        return -1.0, None
    times, values = zip(*panel.curves[0].spots, strict=True)
    off = np.abs(np.array([y for _, y in crosses]) - np.interp([x for x, _ in crosses], times, values))
    furthest = int(np.argmax(off))
    return float(off[furthest]) / (panel.up.high - panel.up.low), crosses[furthest]


def _left_out_named(points: Points, across: Axis, up: Axis, content: Content) -> Points:
    """Points whose name says of those left out that some lie beyond the frame, where an arrow points to them."""
    beyond = any(not (across.low <= x <= across.high and up.low <= y <= up.high) for x, y in points.spots)
    if points.state != model.LEFT_OUT or not beyond:
        return points
    return replace(points, name=content.words("chart.faults_beyond"))


def _over_time(curve: DrawnCurve, shown: Printed, form: Form) -> tuple[Spot, ...]:
    return tuple((form.value(x), shown.form.value(y)) for x, y in spots_of(curve, "time", shown.name))


def _stretches(log: Log, form: Form, content: Content) -> Iterator[Range]:
    """The steady stretches, and those left out for a fault."""
    words = content.words
    for plateau in log.plateaus:
        yield Range(form.value(plateau.from_), form.value(plateau.to), model.STEADY, name=words("chart.steady"))
    for one in log.left_out:
        if one.fault and one.to > one.from_:
            yield Range(form.value(one.from_), form.value(one.to), model.FAULTY, name=words("chart.fault_stretch"))
