"""The two charts: torque against speed, and current, power factor and efficiency against shaft power.

Series differ by dash pattern and marker shape; every line and text is dark enough to be read in grey print. Tested
points are filled, extrapolated ones hollow at the end of a dotted stub, impossible ones crossed out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from certgen.sheet.axes import Plot, Scale, Scales, plot, scale
from certgen.sheet.chart_marks import (
    draw_series,
    draw_trace,
    hatch,
    mark_plate,
    name_doubtful,
    name_faults,
    name_rated,
    name_series,
    name_spots,
    ring,
    say_points_only,
    upright,
)
from certgen.sheet.content import Content
from certgen.sheet.drawing import Drawing
from certgen.sheet.figures import Form
from certgen.sheet.series import (
    Axis,
    Look,
    Series,
    axis,
    lead_point,
    plate_rating,
    rated_label,
    rated_range,
    series,
    trace,
)

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
    load = series(content, speed, torque, results.curves.torque_speed, _CURRENT)
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
    listed = [series(content, power, up, curve, look) for up, look in wanted]
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
