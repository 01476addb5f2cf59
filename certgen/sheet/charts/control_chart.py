"""The control chart of a trend: values in the order of their tests, centre, limits, and the tests that break a rule."""

from __future__ import annotations

import math

from certgen.sheet.charts.axes import ACCENT, INK, MUTED, Frame, Plot, plot
from certgen.sheet.charts.model import Axis, axis_of, round_ticks
from certgen.sheet.list_content import TrendContent
from certgen.sheet.pdf.drawing import Drawing, Spot

#: Size of a marker and of the ring round a marked one, weights and dashes of lines. [pt]
_MARK, _RING, _THIN = 3.6, 8.0, 0.5
_LIMIT, _ZONE = (6.0, 2.5), (1.0, 2.5)


def control_drawing(content: TrendContent, frame: Frame) -> Drawing:
    """The chart in a frame."""
    drawing = Drawing(frame.width, frame.height)
    chart = plot(drawing, frame.size, *_axes(content, frame))
    spots = _spots(content)
    _draw_limits(chart, content)
    chart.line(spots, weight=_THIN)
    chart.markers(spots, "o", _MARK)
    _mark_signals(chart, content, spots)
    _name_limits(chart, content)
    return drawing


def _spots(content: TrendContent) -> list[Spot]:
    """Each value over the number of its test, counted from 1."""
    form = content.form
    return [(float(index), form.value(test.value)) for index, test in enumerate(content.trend.tests, start=1)]


def _levels(content: TrendContent) -> dict[str, float]:
    """Centre and limits by the key of their name, in the unit printed."""
    limits, form = content.trend.limits, content.form
    if limits is None:
        return {}
    found = {"upper": limits.upper, "centre": limits.centre, "lower": limits.lower}
    return {name: form.value(value) for name, value in found.items()}


def _axes(content: TrendContent, frame: Frame) -> tuple[Axis, Axis]:
    """The tests in their order across, the values upwards."""
    words, form, mark = content.words, content.form, content.figures.mark
    count = len(content.trend.tests)
    step = max(1, math.ceil(count / frame.ticks_across))
    ticks = tuple(float(index) for index in range(1, count + 1, step))
    called = content.name[:1].upper() + content.name[1:]
    label = words("chart.axis", quantity=called, unit=form.sign) if form.sign else called
    values = [value for _, value in _spots(content)] + list(_levels(content).values())
    return Axis(words("trend.order"), "", 0.5, count + 0.5, ticks, mark), _tight(label, values, frame, mark)


def _tight(label: str, values: list[float], frame: Frame, mark: str) -> Axis:
    """An axis no wider than its values, where they differ: scatter is what this chart is about."""
    low, high = min(values), max(values)
    if not high > low:
        return axis_of(label, "", values, most=frame.ticks_up, mark=mark)
    room = 0.12 * (high - low)
    return Axis(label, "", low - room, high + room, round_ticks(low - room, high + room, frame.ticks_up), mark)


def _draw_limits(chart: Plot, content: TrendContent) -> None:
    """Centre and limits over the whole width and where one and two standard deviations lie."""
    across, limits, form = chart.across, content.trend.limits, content.form
    if limits is None:
        return
    for times in (-2.0, -1.0, 1.0, 2.0):
        level = form.value(limits.centre + times * limits.sigma)
        chart.line([(across.low, level), (across.high, level)], ink=MUTED, weight=_THIN, dashes=_ZONE)
    for name, level in _levels(content).items():
        dashes = () if name == "centre" else _LIMIT
        chart.line([(across.low, level), (across.high, level)], ink=ACCENT, weight=_THIN, dashes=dashes)


def _name_limits(chart: Plot, content: TrendContent) -> None:
    """Centre and limits by their names, where they cover least."""
    across, form = chart.across, content.form
    for name, level in _levels(content).items():
        text = f"{content.words(f'trend.{name}')} {form.number(level, content.decimals)}"
        ends = [
            chart.spot(across.low + part * (across.high - across.low), level) for part in (0.97, 0.05, 0.8, 0.5, 0.2)
        ]
        chart.label(text, ends, ink=ACCENT, reach=2.0)


def _mark_signals(chart: Plot, content: TrendContent, spots: list[Spot]) -> None:
    """A ring round each test that broke a rule, with its certificate's number."""
    for spot, test in zip(spots, content.trend.tests, strict=True):
        if test.broken:
            chart.markers([spot], "o", _RING, fill="", edge=INK, weight=0.8)
            chart.label(test.number, [chart.spot(*spot)], reach=5.0)
