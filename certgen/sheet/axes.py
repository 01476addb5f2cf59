"""A pair of axes in the look of the sheet: round ticks, plain rules, room for its own labels and no more."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from certgen.sheet.fonts import REGULAR, width
from certgen.sheet.labels import Labels, Rectangle, Spot

INK, ACCENT, MUTED = "#171c21", "#21405c", "#545e69"
LINE = 1.1
_SPINE = 0.5
#: Least span of an axis in parts of its largest value, so that scatter is not drawn as a trend.
_LEAST_SPAN = 0.03
_TICK = 2.4
#: Part of an upright axis that its label may take; a longer one would seem to belong to the tick at the end.
_LABEL_ROOM = 0.85
_PAD = 1.8


@dataclass(frozen=True)
class Scale:
    """One axis: its label, limits and ticks, in the unit printed."""

    label: str
    low: float
    high: float
    ticks: tuple[float, ...]  # none: nothing belongs to this axis, and it is not drawn
    short: str = ""  # what to write where the label is longer than the axis

    @property
    def texts(self) -> tuple[str, ...]:
        """The ticks as printed."""
        step = self.ticks[1] - self.ticks[0] if len(self.ticks) > 1 else 1.0
        decimals = max(0, -math.floor(math.log10(step) + 1e-9)) if step > 0 else 0
        return tuple(f"{tick:.{decimals}f}".replace("-", "−") for tick in self.ticks)


def scale(label: str, values: Sequence[float], *, from_zero: bool = False, most_ticks: int = 6) -> Scale:
    """An axis that holds all values with a little room at its ends."""
    low, high = min(values), max(values)
    if from_zero:
        low = min(0.0, low)
    least = _LEAST_SPAN * max(abs(low), abs(high)) or 1.0
    if high - low < least:
        low, high = (low + high - least) / 2.0, (low + high + least) / 2.0
    span = high - low
    high += 0.07 * span
    low -= 0.0 if from_zero and low == 0.0 else 0.07 * span
    return Scale(label, low, high, round_ticks(low, high, most_ticks))


def round_ticks(low: float, high: float, most: int) -> tuple[float, ...]:
    """At most ``most`` ticks at 1, 2 or 5 times a power of ten between two limits."""
    span = high - low
    power = 10.0 ** math.floor(math.log10(span / max(1, most - 1)))
    step = next(power * factor for factor in (1.0, 2.0, 5.0, 10.0, 20.0) if span / (power * factor) <= most - 1)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(index * step for index in range(first, last + 1))


@dataclass(frozen=True)
class Plot:
    """Axes ready to be drawn on, with what its labels must keep clear of."""

    figure: Any
    left: Any
    right: Any
    labels: Labels
    size: float

    def spot(self, x: float, y: float, *, right: bool = False) -> Spot:
        """A value pair as a spot in the figure. [pt]"""
        axes = self.right if right else self.left
        across, up = axes.transData.transform((x, y))
        return float(across), float(up)

    def line(self, spots: Sequence[Spot], *, right: bool = False, dashes: tuple[float, ...] = (), **look: Any) -> None:
        """A line through value pairs, which labels keep clear of."""
        style = (0, dashes) if dashes else "solid"
        self._draw(spots, right, {"color": INK, "linewidth": LINE, "linestyle": style, **look})
        self.labels.avoid_line([self.spot(x, y, right=right) for x, y in spots])

    def markers(self, spots: Sequence[Spot], marker: str, size: float, *, right: bool = False, **look: Any) -> None:
        """Markers at value pairs, which labels keep clear of."""
        style = {"color": INK, "linestyle": "none", "marker": marker, "markersize": size, "clip_on": False}
        self._draw(spots, right, {**style, **look})
        for x, y in spots:
            self.labels.avoid_mark(self.spot(x, y, right=right), size / 2 + 0.5)

    def _draw(self, spots: Sequence[Spot], right: bool, look: dict[str, Any]) -> None:
        axes = self.right if right else self.left
        if spots:
            axes.plot([x for x, _ in spots], [y for _, y in spots], **look)

    def label(
        self, text: str, anchors: Sequence[Spot], *, ink: str = INK, reach: float = 5.0, rivals: Sequence[Spot] = ()
    ) -> None:
        """A text near one of its anchors, and nearer to them than to a rival's."""
        lines = text.split("\n")
        wide = max(width(line, REGULAR, self.size) for line in lines)
        high = 0.96 * self.size + (len(lines) - 1) * 1.15 * self.size
        place = self.labels.place(anchors, (wide, high), reach, rivals)
        look: dict[str, Any] = {"fontsize": self.size, "color": ink, "parse_math": False}
        for index, line in enumerate(lines):
            y = place.top - 0.75 * self.size - index * 1.15 * self.size
            self.figure.text(*self._part(place.left, y), line, horizontalalignment="left", **look)

    def _part(self, x: float, y: float) -> tuple[float, float]:
        wide, high = self.figure.get_size_inches() * self.figure.dpi
        return x / wide, y / high


@dataclass(frozen=True)
class Scales:
    """The axes of a chart."""

    across: Scale
    up: Scale
    right: Scale | None = None


def plot(figure: Any, size: float, scales: Scales) -> Plot:
    """Axes that fill the figure but for their tick labels and titles."""
    across, up, right = scales.across, scales.up, scales.right
    wide, high = (float(side) for side in figure.get_size_inches() * figure.dpi)
    frame = Rectangle(
        _side(up, size),
        2.45 * size + _TICK + _PAD,
        wide - (_side(right, size) if right else 0.5 * _widest(across, size) + 1.0),
        high - 0.6 * size,
    )
    room = (frame.right - frame.left, frame.top - frame.bottom)
    place = (frame.left / wide, frame.bottom / high, room[0] / wide, room[1] / high)
    axes = figure.add_axes(place)
    _dress(axes, size, across, up)
    twin = None
    if right is not None:
        if width(right.label, REGULAR, size) > _LABEL_ROOM * room[1]:
            right = replace(right, label=right.short)
        twin = figure.add_axes(place, sharex=axes)
        _dress(twin, size, across, right, on_right=True)
    return Plot(figure, axes, twin, Labels(frame), size)


def _widest(axis: Scale, size: float) -> float:
    return max((width(text, REGULAR, size) for text in axis.texts), default=0.0)


def _side(axis: Scale, size: float) -> float:
    """Room beside the frame for ticks, their labels and the title of an upright axis."""
    return _widest(axis, size) + _TICK + 2 * _PAD + 1.35 * size


def _dress(axes: Any, size: float, across: Scale, up: Scale, *, on_right: bool = False) -> None:
    """Limits, ticks, titles and rules of one pair of axes."""
    axes.patch.set_visible(False)
    axes.set_xlim(across.low, across.high)
    axes.set_ylim(up.low, up.high)
    axes.tick_params(labelsize=size, length=_TICK, width=_SPINE, pad=_PAD, color=MUTED, labelcolor=INK)
    for name, spine in axes.spines.items():
        upright = name == ("right" if on_right else "left") and bool(up.ticks)
        spine.set_visible(upright or (name == "bottom" and not on_right))
        spine.set_linewidth(_SPINE)
        spine.set_color(MUTED)
    axes.set_yticks(up.ticks, labels=up.texts)
    axes.set_ylabel(up.label, fontsize=size, color=INK, labelpad=_PAD, parse_math=False)
    if on_right:
        axes.yaxis.set_label_position("right")
        axes.yaxis.tick_right()
        axes.xaxis.set_visible(False)
    else:
        axes.set_xticks(across.ticks, labels=across.texts)
        axes.set_xlabel(across.label, fontsize=size, color=INK, labelpad=_PAD, parse_math=False)
