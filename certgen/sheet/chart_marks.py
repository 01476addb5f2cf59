"""Marks and labels on a pair of axes: series, the plate's rating, what is doubtful."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from certgen.sheet.axes import ACCENT, INK, MUTED, Plot
from certgen.sheet.series import Labelled, Series, Spot

TOO_FEW = "points only: too few for a curve"

#: Size of a marker, and its part where many points stand close. [pt]
_MARK = 3.6
_CROWDED, _SMALLER = 20, 0.7
_HOLLOW = {"markerfacecolor": "white", "markeredgecolor": INK, "markeredgewidth": 0.8}
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
    chart.markers(series.tested, look.marker, size, right=look.right, markeredgewidth=0.0)
    chart.markers(series.extrapolated, look.marker, _MARK * 1.3, right=look.right, **_HOLLOW)
    chart.markers(series.impossible, look.marker, _MARK, right=look.right, **_HOLLOW)
    chart.markers(series.impossible, "x", _MARK * 1.9, right=look.right, markeredgewidth=0.9)


def mark_plate(chart: Plot, spot: Spot) -> None:
    """The plate's rating: a hollow diamond."""
    look: dict[str, Any] = {"markerfacecolor": "none", "markeredgecolor": ACCENT, "markeredgewidth": 1.1}
    chart.markers([spot], "D", _MARK * 1.7, **look)


def ring(chart: Plot, spot: Spot) -> None:
    """The point whose figures lead the page: a ring round it."""
    look: dict[str, Any] = {"markerfacecolor": "none", "markeredgecolor": INK, "markeredgewidth": 0.7}
    chart.markers([spot], "o", _MARK * 2.5, **look)


def upright(chart: Plot, x: float) -> None:
    """A fine line over the whole height."""
    bottom, top = chart.left.get_ylim()
    chart.line([(x, bottom), (x, top)], color=ACCENT, linewidth=0.7)


def hatch(chart: Plot, start: float, end: float) -> None:
    """Slanting lines between two uprights."""
    left, bottom = chart.spot(start, chart.left.get_ylim()[0])
    right, top = chart.spot(end, chart.left.get_ylim()[1])
    wide = right - left
    spots: list[Spot] = []
    for step in range(1, int((top - bottom + wide) / _HATCH_SPACING) + 1):
        y = bottom - wide + step * _HATCH_SPACING  # where this line meets the left upright, or would
        low, high = max(y, bottom), min(y + wide, top)
        ends = [(left + low - y, low), (left + high - y, high)]
        spots += [*ends, (float("nan"), float("nan"))]
        chart.labels.avoid_line(ends)
    if spots:
        x_values, y_values = chart.left.transData.inverted().transform(spots).T
        chart.left.plot(x_values, y_values, color=MUTED, linewidth=0.25, zorder=0.5)


def name_spots(chart: Plot, rating: Labelled | None, lead: Labelled | None) -> None:
    """The plate's rating and the leading point by their names."""
    for labelled, ink in ((rating, ACCENT), (lead, INK)):
        if labelled:
            chart.label(labelled.text, [chart.spot(*labelled.spot)], ink=ink, reach=6.0)


def name_rated(chart: Plot, rated: tuple[float, ...], text: str) -> None:
    """What the upright and the hatched range mean, beside the upright."""
    if rated:
        bottom, top = chart.left.get_ylim()
        parts = (0.12, 0.2, 0.3, 0.5, 0.7, 0.9)
        anchors = [chart.spot(rated[0], bottom + part * (top - bottom)) for part in parts]
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
    name_doubtful(chart, *listed)


def name_doubtful(chart: Plot, *listed: Series) -> None:
    """What hollow and crossed points are, said once."""
    _name_once(chart, "extrapolated", [(series, series.extrapolated) for series in listed])
    _name_once(chart, "impossible", [(series, series.impossible) for series in listed])


def _name_once(chart: Plot, text: str, marked: Sequence[tuple[Series, tuple[Spot, ...]]]) -> None:
    anchors = [chart.spot(*spot, right=series.look.right) for series, spots in marked for spot in spots]
    if anchors:
        chart.label(text, anchors, reach=4.0)


def say_points_only(chart: Plot, *listed: Series) -> None:
    """Said in the frame when there are points but no curve."""
    if any(series.curve for series in listed):
        return
    frame = chart.labels.frame
    middle = (frame.left + frame.right) / 2
    heights = (frame.top - 4.0, frame.bottom + 8.0, (frame.top + frame.bottom) / 2)
    chart.label(TOO_FEW, [(middle, height) for height in heights], ink=MUTED)
