"""The two charts: torque against speed, and current, power factor and efficiency against shaft power.

Series differ by dash pattern and marker shape; every line and text is dark enough to be read in grey print. Tested
points are filled, extrapolated ones hollow at the end of a dotted stub, impossible ones crossed out.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from typing import Any

from certgen.sheet.axes import Plot, Scale, Scales, plot, scale
from certgen.sheet.chart_marks import (
    draw_series,
    hatch,
    mark_plate,
    name_doubtful,
    name_rated,
    name_series,
    name_spots,
    ring,
    say_points_only,
    upright,
)
from certgen.sheet.content import Content
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
    """Torque against speed with the plate's rating marked."""
    results = content.results
    speed, torque = axis(content, "speed", "speed"), axis(content, "torque", "torque")
    load = series(results, speed, torque, results.curves.torque_speed, _CURRENT)
    rating = plate_rating(results.nameplate, speed, torque)
    lead = lead_point(results, speed, torque)
    seen = [*load.spots, *(mark.spot for mark in (rating, lead) if mark)]
    across = scale(f"Speed in {speed.form.sign}", [x for x, _ in seen], most_ticks=frame.ticks_across)
    up = scale(f"Torque in {torque.form.sign}", [y for _, y in seen], from_zero=True, most_ticks=frame.ticks_up)

    def fill(chart: Plot) -> None:
        draw_series(chart, load)
        if rating:
            mark_plate(chart, rating.spot)
        if lead:
            ring(chart, lead.spot)
        name_spots(chart, rating, lead)
        name_doubtful(chart, load)
        say_points_only(chart, load)

    _paint(canvas, frame, Scales(across, up), fill)


def draw_load_chart(canvas: Any, content: Content, frame: Frame) -> None:
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
        name_rated(chart, rated, rated_label(plate, power))
        name_series(chart, *listed)
        say_points_only(chart, *listed)

    _paint(canvas, frame, _load_scales(frame, listed, rated, (power, current)), fill)


def _load_series(content: Content, power: Axis, current: Axis) -> list[Series]:
    """The series that have something to show."""
    results, curve = content.results, content.results.curves.load
    wanted = (
        (current, _CURRENT),
        (Axis("power_factor", _PERCENT), _POWER_FACTOR),
        (Axis("efficiency", _PERCENT), _EFFICIENCY),
    )
    listed = [series(results, power, up, curve, look) for up, look in wanted]
    return [item for item in listed if item.spots]


def _load_scales(frame: Frame, listed: list[Series], rated: tuple[float, ...], axes: tuple[Axis, Axis]) -> Scales:
    """Shaft power across, current up on the left, per cent on the right where there is a ratio to show."""
    power, current = axes
    x = [spot[0] for item in listed for spot in item.spots] + list(rated)
    across = scale(f"Shaft power in {power.form.sign}", x, from_zero=True, most_ticks=frame.ticks_across)
    amperes = [spot[1] for item in listed if not item.look.right for spot in item.spots]
    ratios = [item for item in listed if item.look.right]
    names = " and ".join(item.name for item in ratios)
    percent = [0.0, 100.0, *(spot[1] for item in ratios for spot in item.spots)]
    right = scale(f"{names.capitalize()} in %", percent, from_zero=True, most_ticks=frame.ticks_up)
    left = scale(f"Current in {current.form.sign}", amperes or [1.0], from_zero=True, most_ticks=frame.ticks_up)
    if not amperes:
        left = Scale("", left.low, left.high, ())
    return Scales(across, left, replace(right, short="in %") if ratios else None)


def _paint(canvas: Any, frame: Frame, scales: Scales, fill: Callable[[Plot], None]) -> None:
    """Draw a figure with what ``fill`` puts into it."""
    from matplotlib.figure import Figure

    from certgen.sheet.canvas_renderer import DPI, CanvasRenderer

    with _plain_look():
        figure = Figure(figsize=(frame.width / DPI, frame.height / DPI), dpi=DPI)
        figure.patch.set_visible(False)
        fill(plot(figure, frame.size, scales))
        figure.draw(CanvasRenderer(canvas, (frame.x, frame.y), (frame.width, frame.height)))


def _plain_look() -> AbstractContextManager[None]:
    """matplotlib without a user's own settings: the same page on every machine."""
    import matplotlib

    settings: Any = {name: value for name, value in matplotlib.rcParamsDefault.items() if name != "backend"}
    return matplotlib.rc_context(settings | {"text.parse_math": False, "lines.scale_dashes": False})
