"""The two charts: torque against speed, and current, power factor and efficiency against shaft power.

Series differ by dash pattern and marker shape; every line and text is dark enough to be read in grey print. Tested
points are filled, extrapolated ones hollow at the end of a dotted stub, impossible ones crossed out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from typing import Any

from certgen.assessment.results import EXTRAPOLATED, IMPOSSIBLE, Curve, Nameplate, Point, Results
from certgen.sheet.axes import ACCENT, INK, MUTED, Plot, Scale, plot, scale
from certgen.sheet.content import Content, NamedPoint, headline_point, rated_points
from certgen.sheet.figures import Form, forms, plain
from certgen.sheet.labels import Spot

TOO_FEW = "points only: too few for a curve"
_MARK = 3.6
_HATCH_SPACING = 5.0


@dataclass(frozen=True)
class Frame:
    """Where a chart goes: lower left corner, width and height, and its text size. [pt]"""

    x: float
    y: float
    width: float
    height: float
    size: float


@dataclass(frozen=True)
class Series:
    """One quantity over another: points as (x, y) in the units printed, and the drawn curve."""

    name: str
    tested: tuple[Spot, ...]
    impossible: tuple[Spot, ...]
    extrapolated: tuple[Spot, ...]
    curve: tuple[Spot, ...]
    dashes: Any = "solid"
    marker: str = "o"
    right: bool = False

    @property
    def spots(self) -> tuple[Spot, ...]:
        """Everything to be seen."""
        return self.tested + self.impossible + self.extrapolated + self.curve


def draw_torque_chart(canvas: Any, content: Content, frame: Frame) -> None:
    """Torque against speed with the plate's rating marked."""
    results = content.results
    speed = _form(content, "speed", "speed")
    torque = _form(content, "torque", "torque")
    series = _series(results, ("speed", speed), ("torque", torque), results.curves.torque_speed, "load curve")
    rating = _plate_rating(results, speed, torque)
    seen = [*series.spots, *([rating[0]] if rating else [])]
    across = scale(f"Speed in {speed.sign}", [x for x, _ in seen], most_ticks=_most_ticks(frame))
    up = scale(f"Torque in {torque.sign}", [y for _, y in seen], from_zero=True, most_ticks=_most_ticks(frame, up=True))

    def fill(chart: Plot) -> None:
        _draw_series(chart, series)
        if rating:
            _mark(chart, rating[0])
        lead = _lead_spot(results, ("speed", speed), ("torque", torque))
        if lead:
            _ring(chart, lead[0])
        if rating:
            chart.label(rating[1], [chart.spot(*rating[0])], ink=ACCENT, reach=6.0)
        if lead:
            chart.label(lead[1], [chart.spot(*lead[0])], reach=6.0)
        _name_doubtful(chart, series)
        _say_points_only(chart, series)

    _paint(canvas, frame, fill, across, up)


def draw_load_chart(canvas: Any, content: Content, frame: Frame) -> None:
    """Current on the left axis, power factor and efficiency in per cent on the right, over shaft power."""
    results = content.results
    power = _form(content, "shaft_power", "shaft_power")
    current = _form(content, "current", "current")
    percent = Form("percent", "%")
    along, curve = ("shaft_power", power), results.curves.load
    listed = [
        _series(results, along, ("current", current), curve, "current"),
        _series(results, along, ("power_factor", percent), curve, "power factor", dashes=(0, (5, 2)), marker="^", right=True),
        _series(results, along, ("efficiency", percent), curve, "efficiency", dashes=(0, (7, 1.6, 1.2, 1.6)), marker="s", right=True),
    ]
    listed = [series for series in listed if series.spots]
    rated = _rated_range(results.nameplate, power)
    x = [spot[0] for series in listed for spot in series.spots] + list(rated)
    across = scale(f"Shaft power in {power.sign}", x, from_zero=True, most_ticks=_most_ticks(frame))
    left = [spot[1] for series in listed if not series.right for spot in series.spots]
    ticks_up = _most_ticks(frame, up=True)
    up = scale(f"Current in {current.sign}", left or [0.0, 1.0], from_zero=True, most_ticks=ticks_up)
    names = " and ".join(series.name for series in listed if series.right)
    right = None
    if names:
        per_cent = scale(f"{names[:1].upper()}{names[1:]} in %", [0.0, 100.0], from_zero=True, most_ticks=ticks_up)
        right = replace(per_cent, short="in %")

    def fill(chart: Plot) -> None:
        _mark_rated(chart, rated, results.nameplate, power, across)
        for series in listed:
            _draw_series(chart, series)
        _name_rated(chart, rated, results.nameplate, power)
        for series in listed:
            chart.label(series.name, _anchors(chart, series))
        _name_doubtful(chart, *listed)
        _say_points_only(chart, *listed)

    _paint(canvas, frame, fill, across, up, right)


def _paint(
    canvas: Any, frame: Frame, fill: Callable[[Plot], None], across: Scale, up: Scale, right: Scale | None = None
) -> None:
    """Draw a figure with what ``fill`` puts into it."""
    from matplotlib.figure import Figure

    from certgen.sheet.canvas_renderer import DPI, CanvasRenderer

    with _plain_look():
        figure = Figure(figsize=(frame.width / DPI, frame.height / DPI), dpi=DPI)
        figure.patch.set_visible(False)
        fill(plot(figure, frame.size, across, up, right))
        figure.draw(CanvasRenderer(canvas, (frame.x, frame.y), (frame.width, frame.height)))


def _plain_look() -> AbstractContextManager[None]:
    """matplotlib without a user's own settings: the same page on every machine."""
    import matplotlib

    settings = {name: value for name, value in matplotlib.rcParamsDefault.items() if name != "backend"}
    return matplotlib.rc_context({**settings, "text.parse_math": False})


def _most_ticks(frame: Frame, *, up: bool = False) -> int:
    """How many ticks fit without crowding."""
    room = frame.height / (3.2 * frame.size) if up else frame.width / (5.5 * frame.size)
    return max(3, min(7, int(room)))


def _form(content: Content, name: str, kind: str) -> Form:
    """The unit of an axis, by the largest value among the points."""
    values = [abs(item.value) for point in content.results.points if (item := getattr(point, name)) is not None]
    return forms(kind, content.units, max(values, default=0.0))[0]


_Axis = tuple[str, Form]


def _series(results: Results, x: _Axis, y: _Axis, curve: Curve | None, name: str, **look: Any) -> Series:
    """The points and the curve of one quantity over another."""
    tested = [point for point in results.points if not {IMPOSSIBLE, EXTRAPOLATED} & set(point.flags)]
    impossible = [point for point in results.points if IMPOSSIBLE in point.flags]
    beyond = [item.point for item in rated_points(results)] + list(results.points)
    extrapolated = [point for point in beyond if EXTRAPOLATED in point.flags and IMPOSSIBLE not in point.flags]
    line: tuple[Spot, ...] = ()
    if curve is not None and x[0] in curve.columns and y[0] in curve.columns:
        pairs = zip(curve.columns[x[0]], curve.columns[y[0]], strict=True)
        line = tuple((x[1].value(a), y[1].value(b)) for a, b in pairs)
    parts = (_spots(points, x, y) for points in (tested, impossible, extrapolated))
    return Series(name, *parts, line, **look)


def _spots(points: Sequence[Point], x: _Axis, y: _Axis) -> tuple[Spot, ...]:
    pairs = ((getattr(point, x[0]), getattr(point, y[0])) for point in points)
    return tuple((x[1].value(a.value), y[1].value(b.value)) for a, b in pairs if a is not None and b is not None)


def _columns(spots: Sequence[Spot]) -> tuple[list[float], list[float]]:
    return [x for x, _ in spots], [y for _, y in spots]


def _draw_series(chart: Plot, series: Series) -> None:
    """Curve, tested points, impossible points crossed, extrapolated points hollow at the end of a stub."""
    if series.curve:
        chart.line(*_columns(series.curve), right=series.right, linestyle=series.dashes)
    look: dict[str, Any] = {"linestyle": "none", "marker": series.marker, "markersize": _MARK, "right": series.right}
    crowded = len(series.tested) > 20
    chart.line(*_columns(series.tested), **{**look, "markersize": _MARK * (0.7 if crowded else 1.0)}, markeredgewidth=0.0)
    hollow = {"markerfacecolor": "white", "markeredgecolor": INK, "markeredgewidth": 0.8}
    for spot in series.extrapolated:
        if series.curve:
            end = min((series.curve[0], series.curve[-1]), key=lambda at: abs(at[0] - spot[0]))
            chart.line(*_columns([end, spot]), right=series.right, linestyle=(0, (1, 1.8)))
        chart.line(*_columns([spot]), **{**look, "markersize": _MARK * 1.3}, **hollow)
    if series.impossible:
        chart.line(*_columns(series.impossible), **look, **hollow)
        chart.line(
            *_columns(series.impossible), linestyle="none", marker="x", markersize=_MARK * 1.9, markeredgewidth=0.9, right=series.right
        )


def _mark(chart: Plot, spot: Spot) -> None:
    """The plate's rating: a hollow diamond."""
    chart.line(
        *_columns([spot]), linestyle="none", marker="D", markersize=_MARK * 1.5, markerfacecolor="white",
        markeredgecolor=ACCENT, markeredgewidth=1.1,
    )  # fmt: skip


def _ring(chart: Plot, spot: Spot) -> None:
    """The point whose figures lead the page: a ring round it."""
    chart.line(
        *_columns([spot]), linestyle="none", marker="o", markersize=_MARK * 2.5, markerfacecolor="none",
        markeredgecolor=INK, markeredgewidth=0.7,
    )  # fmt: skip


def _name_doubtful(chart: Plot, *listed: Series) -> None:
    """What hollow and crossed points are, said once in the frame."""
    for text, of in (("extrapolated", "extrapolated"), ("impossible", "impossible")):
        spots = [chart.spot(*spot, right=series.right) for series in listed for spot in getattr(series, of)]
        if spots:
            chart.label(text, spots, reach=4.0)


def _plate_rating(results: Results, speed: Form, torque: Form) -> tuple[Spot, str] | None:
    """The plate's speed and torque, and what to write beside them."""
    from certgen.physics.mechanics import torque_at

    plate = results.nameplate
    if plate.power is None or plate.speed is None:
        return None
    newton_metres = float(torque_at(plate.power, plate.speed))
    spot = (speed.value(plate.speed), torque.value(newton_metres))
    return spot, f"plate: {_three(spot[1])} {torque.sign}\nat {plain(spot[0])} {speed.sign}"


def _three(value: float) -> str:
    return f"{value:.3g}" if abs(value) < 1000.0 else f"{value:.0f}"


def _lead_spot(results: Results, x: _Axis, y: _Axis) -> tuple[Spot, str] | None:
    """The point whose figures lead the page, where it is read off the curve."""
    named: NamedPoint | None = headline_point(results)
    spots = _spots([named.point], x, y) if named and named.point not in results.points else ()
    return (spots[0], f"at {named.name.lower()}") if spots and named else None


def _rated_range(plate: Nameplate, power: Form) -> tuple[float, ...]:
    """Rated power, and its product with the service factor where that is more."""
    if plate.power is None:
        return ()
    rated = power.value(plate.power)
    factor = plate.service_factor or 1.0
    return (rated, rated * factor) if factor > 1.0 else (rated,)


def _mark_rated(chart: Plot, rated: tuple[float, ...], plate: Nameplate, power: Form, across: Scale) -> None:
    """An upright at rated power, and the range up to the service factor hatched by fine lines."""
    bottom, top = chart.left.get_ylim()
    for x in rated:
        chart.line([x, x], [bottom, top], color=ACCENT, linewidth=0.7, linestyle="solid", avoid=True)
    if len(rated) == 2:
        _hatch(chart, *rated)


def _hatch(chart: Plot, start: float, end: float) -> None:
    """Slanting lines between two uprights."""
    left, bottom = chart.spot(start, chart.left.get_ylim()[0])
    right, top = chart.spot(end, chart.left.get_ylim()[1])
    wide = right - left
    spots: list[Spot] = []
    for step in range(1, int((top - bottom + wide) / _HATCH_SPACING) + 1):
        y = bottom - wide + step * _HATCH_SPACING  # where this line meets the left upright, or would
        low, high = max(y, bottom), min(y + wide, top)
        spots += [(left + low - y, low), (left + high - y, high), (float("nan"), float("nan"))]
    x, y_values = chart.left.transData.inverted().transform(spots).T
    chart.left.plot(x, y_values, color=MUTED, linewidth=0.25, zorder=0.5)


def _name_rated(chart: Plot, rated: tuple[float, ...], plate: Nameplate, power: Form) -> None:
    """What the upright and the hatched range mean."""
    if not rated:
        return
    text = f"rated {plain(rated[0])} {power.sign}"
    if len(rated) == 2:
        text += f"\nhatched: to service\nfactor {plain(plate.service_factor or 1.0)}"
    bottom, top = chart.left.get_ylim()
    anchors = [chart.spot(rated[0], bottom + part * (top - bottom)) for part in (0.12, 0.2, 0.3, 0.5, 0.7, 0.9)]
    chart.label(text, anchors, ink=ACCENT, reach=3.0)


def _anchors(chart: Plot, series: Series) -> list[Spot]:
    """Where along a series its name may stand."""
    along = series.curve or series.tested or series.spots
    step = max(1, len(along) // 12)
    return [chart.spot(*spot, right=series.right) for spot in along[::step]]


def _say_points_only(chart: Plot, *listed: Series) -> None:
    """Said in the frame when there are points but no curve."""
    if any(series.curve for series in listed):
        return
    frame = chart.labels.frame
    middle = (frame.left + frame.right) / 2
    chart.label(TOO_FEW, [(middle, frame.top - 4.0), (middle, frame.bottom + 8.0), (middle, (frame.top + frame.bottom) / 2)], ink=MUTED)
