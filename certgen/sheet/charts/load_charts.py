"""The two charts: torque against speed, and current, power factor and efficiency against shaft power.

Series differ by dash pattern and marker shape; every line and text is dark enough to be read in grey print. Tested
points are filled, extrapolated ones hollow at the end of a dotted stub, impossible ones crossed out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from certgen.messages.format import Form
from certgen.sheet.charts.axes import ACCENT, INK, MUTED, Plot, Scale, Scales, plot, scale
from certgen.sheet.charts.series import (
    Axis,
    Labelled,
    Look,
    Series,
    axis,
    lead_point,
    plate_rating,
    rated_label,
    rated_range,
    series_of,
    trace,
)
from certgen.sheet.content import Content
from certgen.sheet.pdf.drawing import Drawing, Line, Mark, Spot
from certgen.sheet.words import Words

# Marks and labels on a pair of axes: series, the plate's rating, what is doubtful.


#: Size of a marker, and its part where many points stand close. [pt]
_MARK = 3.6
_CROWDED, _SMALLER = 20, 0.7
#: Weights of edges and fine lines. [pt]
_EDGE, _CROSS, _FINE, _BAR = 0.8, 0.9, 0.35, 0.5
#: Half the width of the ends of a bar of uncertainty. [pt]
_CAP = 1.3
#: Line of a log, and its crosses. [pt]
_THIN, _FAULT, _FAULT_EDGE = 0.35, 2.6, 0.6
_STUB = (1.0, 1.8)
_HATCH_SPACING = 5.5
#: Places along a series tried for its name.
_ANCHORS = 10


def draw_series(chart: Plot, series: Series) -> None:
    """Curve, tested points, impossible points crossed, extrapolated points hollow at the end of a stub."""
    look = series.look
    if series.curve:
        chart.line(series.curve, right=look.right, dashes=look.dashes)
    for spot in series.extrapolated:
        if series.curve:
            end = min((series.curve[0], series.curve[-1]), key=lambda at: abs(at[0] - spot[0]))
            chart.line([end, spot], right=look.right, dashes=_STUB)
    size = _MARK * (_SMALLER if len(series.tested) > _CROWDED else 1.0)
    _draw_bars(chart, series)
    chart.markers(series.tested, look.marker, size, right=look.right)
    for spots, wide in ((series.extrapolated, 1.3), (series.impossible, 1.0)):
        chart.markers(spots, look.marker, _MARK * wide, right=look.right, fill="paper", edge=INK, weight=_EDGE)
    chart.markers(series.impossible, "x", _MARK * 1.9, right=look.right, fill="", edge=INK, weight=_CROSS)
    _cap_at_full_span(chart, series)


def visible_bars(chart: Plot, series: Series) -> list[tuple[Spot, Spot]]:
    """Both ends of every bar of uncertainty that reaches beyond its marker."""
    right, least = series.look.right, 0.5 * _MARK + _CAP
    found = []
    for (x, y), (wide, high) in zip(series.tested, series.spreads, strict=False):
        for one, other in (((x, y - high), (x, y + high)), ((x - wide, y), (x + wide, y))):
            low, up = chart.spot(*one, right=right), chart.spot(*other, right=right)
            if max(up[0] - low[0], up[1] - low[1]) > 2 * least:
                found.append((_held(chart, low), _held(chart, up)))
    return found


def _held(chart: Plot, spot: Spot) -> Spot:
    """A spot of the drawing, or the nearest on the edge of the frame."""
    frame = chart.frame
    return min(max(spot[0], frame.left), frame.right), min(max(spot[1], frame.bottom), frame.top)


def _draw_bars(chart: Plot, series: Series) -> None:
    """Expanded uncertainty of each tested point, where it can be seen."""
    for low, up in visible_bars(chart, series):
        chart.stroke([low, up], weight=_BAR)
        upright = up[1] > low[1]
        for x, y in (low, up):
            ends = [(x - _CAP, y), (x + _CAP, y)] if upright else [(x, y - _CAP), (x, y + _CAP)]
            chart.stroke(ends, weight=_BAR)


def _cap_at_full_span(chart: Plot, series: Series) -> None:
    """A stroke over each tested point at which the scale showed all it can."""
    for x, y in series.full_span:
        across, up = chart.spot(x, y, right=series.look.right)
        height = up + 0.5 * _MARK + _CAP
        chart.stroke([(across - _MARK, height), (across + _MARK, height)], weight=_CROSS)


def draw_trace(chart: Plot, trace: Sequence[Spot], faults: Sequence[Spot]) -> list[Spot]:
    """A log in fine grey behind everything, its faulty samples as small crosses; what lies beyond is at the edge.

    Returns where the crosses are. [pt]
    """
    placed = [chart.spot(*spot) for spot in trace]
    inside: list[Spot] = []
    for spot in [*placed, (-math.inf, 0.0)]:  # the last one ends what was begun
        if _held(chart, spot) == spot:
            inside.append(spot)
            continue
        if len(inside) > 1:
            chart.drawing.shapes.append(Line(tuple(inside), _THIN, MUTED, ()))
        inside = []
    crosses = [_held(chart, chart.spot(*spot)) for spot in faults]
    for spot in crosses:
        chart.drawing.shapes.append(Mark(spot, "x", _FAULT, "", MUTED, _FAULT_EDGE))
        chart.labels.avoid_mark(spot, _FAULT / 2 + 0.5)
    return crosses


def name_faults(chart: Plot, words: Words, faults: Sequence[Spot]) -> None:
    """What the crosses are, said once; ``faults`` as drawn. [pt]"""
    if faults:
        chart.label(words("chart.faults"), faults, ink=MUTED, reach=4.0)


def mark_plate(chart: Plot, spot: Spot) -> None:
    """The plate's rating: a hollow diamond."""
    chart.markers([spot], "D", _MARK * 1.7, fill="", edge=ACCENT, weight=1.1)


def ring(chart: Plot, spot: Spot) -> None:
    """The point whose figures lead the page: a ring round it."""
    chart.markers([spot], "o", _MARK * 2.5, fill="", edge=INK, weight=0.7)


def upright(chart: Plot, x: float) -> None:
    """A fine line over the whole height."""
    at = chart.spot(x, chart.scales.up.low)[0]
    chart.stroke([(at, chart.frame.bottom), (at, chart.frame.top)], ink=ACCENT, weight=0.7)


def hatch(chart: Plot, start: float, end: float) -> None:
    """Slanting lines between two uprights."""
    left, right = (chart.spot(x, chart.scales.up.low)[0] for x in (start, end))
    bottom, top, wide = chart.frame.bottom, chart.frame.top, right - left
    for step in range(1, int((top - bottom + wide) / _HATCH_SPACING) + 1):
        y = bottom - wide + step * _HATCH_SPACING  # where this line meets the left upright, or would
        low, high = max(y, bottom), min(y + wide, top)
        chart.stroke([(left + low - y, low), (left + high - y, high)], ink=MUTED, weight=_FINE)


def name_spots(chart: Plot, rating: Labelled | None, lead: Labelled | None) -> None:
    """The plate's rating and the leading point by their names."""
    for labelled, ink in ((rating, ACCENT), (lead, INK)):
        if labelled:
            chart.label(labelled.text, [chart.spot(*labelled.spot)], ink=ink, reach=6.0)


def name_rated(chart: Plot, rated: tuple[float, ...], text: str) -> None:
    """What the upright and the hatched range mean, beside the upright."""
    if rated:
        x, bottom, top = chart.spot(rated[0], chart.scales.up.low)[0], chart.frame.bottom, chart.frame.top
        anchors = [(x, bottom + part * (top - bottom)) for part in (0.12, 0.2, 0.3, 0.5, 0.7, 0.9)]
        chart.label(text, anchors, ink=ACCENT, reach=3.0)


def name_series(chart: Plot, *listed: Series) -> None:
    """Every series by its name, somewhere along it and nearer to it than to any other."""
    along = [
        [chart.spot(*spot, right=series.look.right) for spot in series.curve or series.tested or series.spots]
        for series in listed
    ]
    for index, series in enumerate(listed):
        rivals = [spot for other, spots in enumerate(along) if other != index for spot in spots]
        chosen = along[index][:: max(1, len(along[index]) // _ANCHORS)]
        middle = sorted(chosen, key=lambda spot: abs(spot[0] - 0.5 * (chosen[0][0] + chosen[-1][0])))
        chart.label(series.name, middle, rivals=rivals)


def name_doubtful(chart: Plot, words: Words, *listed: Series) -> None:
    """What hollow and crossed points and bars are, each said once."""
    _name_once(chart, words("chart.extrapolated"), [(series, series.extrapolated) for series in listed])
    _name_once(chart, words("chart.impossible"), [(series, series.impossible) for series in listed])
    _name_once(chart, words("chart.full_span"), [(series, series.full_span) for series in listed])
    bars = [end for series in listed for bar in visible_bars(chart, series) for end in bar]
    if bars:
        chart.label(words("chart.bars"), bars, ink=MUTED, reach=3.0)


def _name_once(chart: Plot, text: str, marked: Sequence[tuple[Series, tuple[Spot, ...]]]) -> None:
    anchors = [chart.spot(*spot, right=series.look.right) for series, spots in marked for spot in spots]
    if anchors:
        chart.label(text, anchors, reach=4.0)


def say_points_only(chart: Plot, words: Words, *listed: Series) -> None:
    """Said in the frame when there are points but no curve."""
    if any(series.curve for series in listed):
        return
    frame = chart.labels.frame
    middle = (frame.left + frame.right) / 2
    heights = (frame.top - 4.0, frame.bottom + 8.0, (frame.top + frame.bottom) / 2)
    chart.label(words("chart.too_few"), [(middle, height) for height in heights], ink=MUTED)


# The two charts: torque against speed, and current, power factor and efficiency against shaft power.
#
# Series differ by dash pattern and marker shape; every line and text is dark enough to be read in grey print. Tested
# points are filled, extrapolated ones hollow at the end of a dotted stub, impossible ones crossed out.


_PERCENT = Form("percent", "%")
_CURRENT = Look()
_POWER_FACTOR = Look((5.0, 2.0), "^", right=True)
_EFFICIENCY = Look((7.0, 1.6, 1.2, 1.6), "s", right=True)


@dataclass(frozen=True)
class Frame:
    """Where a chart goes: lower left corner, width and height, and its text size. [pt]"""

    x: float
    y: float
    width: float
    height: float
    size: float

    @property
    def ticks_across(self) -> int:
        """How many ticks fit without crowding."""
        return max(3, min(7, int(self.width / (5.5 * self.size))))

    @property
    def ticks_up(self) -> int:
        """How many ticks fit without crowding."""
        return max(3, min(7, int(self.height / (3.2 * self.size))))


def draw_torque_chart(canvas: Any, content: Content, frame: Frame) -> None:
    """The chart of torque against speed onto a canvas."""
    torque_drawing(content, frame).onto(canvas, frame.x, frame.y)


def draw_load_chart(canvas: Any, content: Content, frame: Frame) -> None:
    """The chart over shaft power onto a canvas."""
    load_drawing(content, frame).onto(canvas, frame.x, frame.y)


def torque_drawing(content: Content, frame: Frame) -> Drawing:
    """Torque against speed with the plate's rating marked."""
    results, words = content.results, content.words
    speed, torque = axis(content, "speed", "speed"), axis(content, "torque", "torque")
    load = series_of(content, speed, torque, results.curves.torque_speed, _CURRENT)
    rating = plate_rating(content, speed, torque)
    lead = lead_point(content, speed, torque)
    seen = [*load.spots, *(mark.spot for mark in (rating, lead) if mark)]
    mark = content.figures.mark
    across = scale(_called(content, speed), [x for x, _ in seen], most_ticks=frame.ticks_across, mark=mark)
    up = scale(_called(content, torque), [y for _, y in seen], from_zero=True, most_ticks=frame.ticks_up, mark=mark)
    up = replace(up, short=words("chart.in_unit", unit=torque.form.sign))

    def fill(chart: Plot) -> None:
        crosses = draw_trace(chart, *trace(results, speed, torque))
        draw_series(chart, load)
        if rating:
            mark_plate(chart, rating.spot)
        if lead:
            ring(chart, lead.spot)
        name_spots(chart, rating, lead)
        name_doubtful(chart, words, load)
        name_faults(chart, words, crosses)
        say_points_only(chart, words, load)

    return _filled(frame, Scales(across, up), fill)


def _called(content: Content, axis: Axis) -> str:
    """The title of an axis: its quantity and unit."""
    return content.words("chart.axis", quantity=content.words(f"chart.{axis.name}"), unit=axis.form.sign)


def load_drawing(content: Content, frame: Frame) -> Drawing:
    """Current on the left axis, power factor and efficiency in per cent on the right, over shaft power."""
    plate = content.results.nameplate
    power, current = axis(content, "shaft_power", "shaft_power"), axis(content, "current", "current")
    listed = _load_series(content, power, current)
    rated = rated_range(plate, power)

    def fill(chart: Plot) -> None:
        for at in rated:
            upright(chart, at)
        if len(rated) == 2:
            hatch(chart, *rated)
        for item in listed:
            draw_series(chart, item)
        name_rated(chart, rated, rated_label(content, power))
        name_series(chart, *listed)
        name_doubtful(chart, content.words, *listed)
        say_points_only(chart, content.words, *listed)

    return _filled(frame, _load_scales(content, frame, listed, (power, current)), fill)


def _load_series(content: Content, power: Axis, current: Axis) -> list[Series]:
    """The series that have something to show."""
    curve = content.results.curves.load
    wanted = (
        (current, _CURRENT),
        (Axis("power_factor", _PERCENT), _POWER_FACTOR),
        (Axis("efficiency", _PERCENT), _EFFICIENCY),
    )
    listed = [series_of(content, power, up, curve, look) for up, look in wanted]
    return [item for item in listed if item.spots]


def _load_scales(content: Content, frame: Frame, listed: list[Series], axes: tuple[Axis, Axis]) -> Scales:
    """Shaft power across, current up on the left, per cent on the right where there is a ratio to show."""
    (power, current), words, mark = axes, content.words, content.figures.mark
    x = [spot[0] for item in listed for spot in item.spots] + list(rated_range(content.results.nameplate, power))
    across = scale(_called(content, power), x, from_zero=True, most_ticks=frame.ticks_across, mark=mark)
    amperes = [spot[1] for item in listed if not item.look.right for spot in item.spots]
    ratios = [item for item in listed if item.look.right]
    names = words("chart.and").join(item.name for item in ratios)
    names = names[:1].upper() + names[1:]
    percent = [0.0, 100.0, *(spot[1] for item in ratios for spot in item.spots)]
    titled = words("chart.axis", quantity=names, unit="%")
    right = scale(titled, percent, from_zero=True, most_ticks=frame.ticks_up, mark=mark)
    called = _called(content, current)
    left = scale(called, amperes or [1.0], from_zero=True, most_ticks=frame.ticks_up, mark=mark)
    if not amperes:
        left = Scale("", left.low, left.high, ())
    return Scales(across, left, replace(right, short=words("chart.in_unit", unit="%")) if ratios else None)


def _filled(frame: Frame, scales: Scales, fill: Callable[[Plot], None]) -> Drawing:
    """A drawing of the axes with what ``fill`` puts into it."""
    drawing = Drawing(frame.width, frame.height)
    fill(plot(drawing, frame.size, scales))
    return drawing
