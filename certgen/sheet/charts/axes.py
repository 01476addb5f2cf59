"""A pair of axes in the look of the sheet: round ticks, plain rules, room for its own labels and no more."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from certgen.physics.domain import Array
from certgen.sheet.charts.model import round_ticks, tick_texts
from certgen.sheet.pdf.drawing import Drawing, Letters, Line, Mark, Spot
from certgen.sheet.pdf.fonts import REGULAR, width

# Labels in a chart: each at the spot near its mark where it covers least, never over another label if avoidable.


LabelSpot = tuple[float, float]

#: Room kept between a label and everything else, and how far apart obstacles stand along a line. [pt]
_CLEAR = 1.2
_SPACING = 3.0
#: Costs of covering another label, of leaving the frame (both a point of area or length), of covering an obstacle,
#: and of each point of distance.
_LABEL_COST = 50.0
_FRAME_COST = 80.0
_OBSTACLE_COST = 12.0
_DISTANCE_COST = 0.25
#: How much nearer a label must stand to its own line than to another's, and the cost of each point short of that.
_RIVAL_LEAD = 4.0
_RIVAL_COST = 6.0
#: Candidates looked at together, the cheapest first.
_BATCH = 48


@dataclass(frozen=True)
class Rectangle:
    """A rectangle by its lower left and upper right corner."""

    left: float
    bottom: float
    right: float
    top: float


@dataclass
class Labels:
    """What the labels of one chart must keep clear of, and those placed so far."""

    frame: Rectangle
    obstacles: list[LabelSpot] = field(default_factory=list)
    placed: list[Rectangle] = field(default_factory=list)
    _seen: Array | None = None  # the obstacles as an array, made anew when there are more

    def avoid_line(self, spots: Sequence[LabelSpot]) -> None:
        """Keep clear of a line through these spots."""
        self.obstacles.extend(spots[:1])
        for (x0, y0), (x1, y1) in pairwise(spots):
            steps = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / _SPACING))
            self.obstacles.extend(
                (x0 + (x1 - x0) * step / steps, y0 + (y1 - y0) * step / steps) for step in range(1, steps + 1)
            )

    def avoid_mark(self, spot: LabelSpot, radius: float) -> None:
        """Keep clear of a marker."""
        x, y = spot
        self.obstacles.extend([spot, (x - radius, y), (x + radius, y), (x, y - radius), (x, y + radius)])

    def place(
        self, anchors: Sequence[LabelSpot], size: tuple[float, float], reach: float, rivals: Sequence[LabelSpot] = ()
    ) -> Rectangle:
        """The best rectangle for a label of this width and height near one of its anchors, nearer than to a rival."""
        width, height = size
        candidates, distances = _around(np.asarray(anchors, dtype=float), width, height, reach)
        least = _DISTANCE_COST * distances + self._room_costs(candidates, size)
        chosen, lowest = 0, math.inf
        order = np.argsort(least, kind="stable")
        for start in range(0, order.size, _BATCH):
            batch = order[start : start + _BATCH]
            if least[batch[0]] >= lowest:
                break  # what is still to come costs more, whatever it covers
            costs = least[batch] + self._obstacle_costs(candidates[batch], size)
            if rivals:
                lead = _distances(candidates[batch], size, rivals) - _distances(candidates[batch], size, anchors)
                costs += _RIVAL_COST * np.clip(_RIVAL_LEAD - lead, 0.0, None)
            best = int(np.argmin(costs))
            if costs[best] < lowest:
                chosen, lowest = int(batch[best]), float(costs[best])
        left, bottom = candidates[chosen].tolist()
        self.placed.append(Rectangle(left, bottom, left + width, bottom + height))
        return self.placed[-1]

    def _obstacle_costs(self, corners: Array, size: tuple[float, float]) -> Array:
        """Cost of what each rectangle covers, by its lower left corner."""
        left, bottom = corners[:, :1], corners[:, 1:]
        if self._seen is None or self._seen.shape[1] != len(self.obstacles):
            self._seen = np.asarray(self.obstacles, dtype=float).reshape(-1, 2).T
        x, y = self._seen
        inside = (x > left - _CLEAR) & (x < left + size[0] + _CLEAR)
        inside &= (y > bottom - _CLEAR) & (y < bottom + size[1] + _CLEAR)
        cost: Array = _OBSTACLE_COST * inside.sum(axis=1).astype(np.float64)
        return cost

    def _room_costs(self, corners: Array, size: tuple[float, float]) -> Array:
        """Cost of covering other labels and of leaving the frame."""
        left, bottom = corners[:, 0], corners[:, 1]
        right, top = left + size[0], bottom + size[1]
        cost: Array = np.zeros(left.size)
        for other in self.placed:
            wide = np.minimum(right, other.right) - np.maximum(left, other.left) + 2 * _CLEAR
            high = np.minimum(top, other.top) - np.maximum(bottom, other.bottom) + 2 * _CLEAR
            cost += _LABEL_COST * np.clip(wide, 0.0, None) * np.clip(high, 0.0, None)
        beyond = [self.frame.left - left, right - self.frame.right, self.frame.bottom - bottom, top - self.frame.top]
        for part in beyond:
            cost += _FRAME_COST * np.clip(part, 0.0, None)
        return cost


def _distances(corners: Array, size: tuple[float, float], spots: Sequence[LabelSpot]) -> Array:
    """Distance of each rectangle, by its lower left corner, to the nearest of some spots."""
    x, y = np.asarray(spots, dtype=float).T
    left, bottom = corners[:, 0][:, None], corners[:, 1][:, None]
    across = np.maximum(np.maximum(left - x, x - left - size[0]), 0.0)
    up = np.maximum(np.maximum(bottom - y, y - bottom - size[1]), 0.0)
    nearest: Array = np.sqrt((across * across + up * up).min(axis=1))
    return nearest


#: Directions in which a label may stand from its anchor, and how far, in parts of its reach.
_DIRECTIONS = np.array(
    [
        (across, up, far)
        for far in (1.0, 2.0, 4.0, 7.0)
        for across in (-1.0, -0.5, 0.0, 0.5, 1.0)
        for up in (-1.0, -0.5, 0.0, 0.5, 1.0)
        if max(abs(across), abs(up)) == 1.0
    ]
)


def _around(anchors: Array, width: float, height: float, reach: float) -> tuple[Array, Array]:
    """Lower left corners of rectangles round each anchor, and their distances."""
    across, up, far = _DIRECTIONS.T
    gap = reach * far
    left = anchors[:, :1] + across * (gap + width / 2) - width / 2
    bottom = anchors[:, 1:] + up * (gap + height / 2) - height / 2
    return np.column_stack((left.ravel(), bottom.ravel())), np.tile(gap * np.hypot(across, up), len(anchors))


# A pair of axes in the look of the sheet: round ticks, plain rules, room for its own labels and no more.


INK, ACCENT, MUTED = "ink", "accent", "muted"
LINE = 1.1
_SPINE = 0.5
#: Least span of an axis in parts of its largest value, so that scatter is not drawn as a trend.
_LEAST_SPAN = 0.03
_TICK = 2.4
#: Part of an upright axis that its label may take; a longer one would seem to belong to the tick at the end.
_LABEL_ROOM = 0.85
_PAD = 1.8
#: Height of figures, and depth of letters below the line, in parts of the text size.
_FIGURES, _DEPTH = 0.71, 0.24


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


@dataclass(frozen=True)
class Scale:
    """One axis: its label, limits and ticks, in the unit printed."""

    label: str
    low: float
    high: float
    ticks: tuple[float, ...]  # none: nothing belongs to this axis, and it is not drawn
    short: str = ""  # what to write where the label is longer than the axis
    mark: str = "."  # before the decimals

    @property
    def texts(self) -> tuple[str, ...]:
        """The ticks as printed."""
        return tick_texts(self.ticks, self.mark)

    def part(self, value: float) -> float:
        """How far a value lies along the axis, from 0 to 1."""
        return (value - self.low) / (self.high - self.low)


def scale(
    label: str, values: Sequence[float], *, from_zero: bool = False, most_ticks: int = 6, mark: str = "."
) -> Scale:
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
    return Scale(label, low, high, round_ticks(low, high, most_ticks), mark=mark)


@dataclass(frozen=True)
class Scales:
    """The axes of a chart."""

    across: Scale
    up: Scale
    right: Scale | None = None


@dataclass(frozen=True)
class Plot:
    """Axes ready to be drawn on, with what its labels must keep clear of."""

    drawing: Drawing
    scales: Scales
    labels: Labels
    size: float
    frame: Rectangle = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "frame", self.labels.frame)

    def spot(self, x: float, y: float, *, right: bool = False) -> Spot:
        """A value pair as a spot in the drawing. [pt]"""
        up = self.scales.right if right and self.scales.right else self.scales.up
        frame = self.frame
        return (
            frame.left + self.scales.across.part(x) * (frame.right - frame.left),
            frame.bottom + up.part(y) * (frame.top - frame.bottom),
        )

    def line(
        self,
        spots: Sequence[Spot],
        *,
        right: bool = False,
        dashes: tuple[float, ...] = (),
        ink: str = INK,
        weight: float = LINE,
    ) -> None:
        """A line through value pairs, which labels keep clear of."""
        self.stroke([self.spot(x, y, right=right) for x, y in spots], dashes=dashes, ink=ink, weight=weight)

    def stroke(
        self, placed: Sequence[Spot], *, dashes: tuple[float, ...] = (), ink: str = INK, weight: float = LINE
    ) -> None:
        """A line through spots of the drawing, which labels keep clear of."""
        if placed:
            self.drawing.shapes.append(Line(tuple(placed), weight, ink, dashes))
            self.labels.avoid_line(placed)

    def markers(
        self,
        spots: Sequence[Spot],
        shape: str,
        size: float,
        *,
        right: bool = False,
        fill: str = INK,
        edge: str = "",
        weight: float = 0.0,
    ) -> None:
        """Markers at value pairs, which labels keep clear of."""
        for x, y in spots:
            spot = self.spot(x, y, right=right)
            self.drawing.shapes.append(Mark(spot, shape, size, fill, edge, weight))
            self.labels.avoid_mark(spot, size / 2 + 0.5)

    def label(
        self, text: str, anchors: Sequence[Spot], *, ink: str = INK, reach: float = 5.0, rivals: Sequence[Spot] = ()
    ) -> None:
        """A text near one of its anchors, and nearer to them than to a rival's."""
        lines = text.split("\n")
        wide = max(width(line, REGULAR, self.size) for line in lines)
        high = 0.96 * self.size + (len(lines) - 1) * 1.15 * self.size
        place = self.labels.place(anchors, (wide, high), reach, rivals)
        for index, line in enumerate(lines):
            y = place.top - 0.75 * self.size - index * 1.15 * self.size
            self.drawing.shapes.append(Letters((place.left, y), line, self.size, ink))


def plot(drawing: Drawing, size: float, scales: Scales) -> Plot:
    """Axes that fill the drawing but for their tick labels and titles."""
    across, up, right = scales.across, scales.up, scales.right
    frame = Rectangle(
        _side(up, size),
        2.45 * size + _TICK + _PAD,
        drawing.width - (_side(right, size) if right else 0.5 * _widest(across, size) + 1.0),
        drawing.height - 0.6 * size,
    )
    high = frame.top - frame.bottom
    up, right = _shortened(up, size, high), right and _shortened(right, size, high)
    _dress_across(drawing, frame, across, size)
    _dress_up(drawing, frame, up, size, on_right=False)
    if right is not None:
        _dress_up(drawing, frame, right, size, on_right=True)
    return Plot(drawing, Scales(across, up, right), Labels(frame), size)


def _shortened(axis: Scale, size: float, high: float) -> Scale:
    """The axis with its short label where the long one is too long for its height."""
    too_long = bool(axis.short) and width(axis.label, REGULAR, size) > _LABEL_ROOM * high
    return replace(axis, label=axis.short) if too_long else axis


def _widest(axis: Scale, size: float) -> float:
    return max((width(text, REGULAR, size) for text in axis.texts), default=0.0)


def _side(axis: Scale, size: float) -> float:
    """Room beside the frame for ticks, their labels and the title of an upright axis."""
    return _widest(axis, size) + _TICK + 2 * _PAD + 1.35 * size


def _dress_across(drawing: Drawing, frame: Rectangle, axis: Scale, size: float) -> None:
    """Rule, ticks, their labels and the title of the level axis."""
    shapes = drawing.shapes
    shapes.append(Line(((frame.left, frame.bottom), (frame.right, frame.bottom)), _SPINE, MUTED))
    for tick, text in zip(axis.ticks, axis.texts, strict=True):
        x = frame.left + axis.part(tick) * (frame.right - frame.left)
        shapes.append(Line(((x, frame.bottom), (x, frame.bottom - _TICK)), _SPINE, MUTED))
        y = frame.bottom - _TICK - _PAD - _FIGURES * size
        shapes.append(Letters((x - 0.5 * width(text, REGULAR, size), y), text, size, INK))
    middle = 0.5 * (frame.left + frame.right) - 0.5 * width(axis.label, REGULAR, size)
    shapes.append(Letters((middle, _DEPTH * size), axis.label, size, INK))


def _dress_up(drawing: Drawing, frame: Rectangle, axis: Scale, size: float, *, on_right: bool) -> None:
    """Rule, ticks, their labels and the title of an upright axis; nothing for an axis without ticks."""
    if not axis.ticks:
        return
    shapes, x = drawing.shapes, frame.right if on_right else frame.left
    out = 1.0 if on_right else -1.0
    shapes.append(Line(((x, frame.bottom), (x, frame.top)), _SPINE, MUTED))
    for tick, text in zip(axis.ticks, axis.texts, strict=True):
        y = frame.bottom + axis.part(tick) * (frame.top - frame.bottom)
        shapes.append(Line(((x, y), (x + out * _TICK, y)), _SPINE, MUTED))
        start = x + out * (_TICK + _PAD) - (0.0 if on_right else width(text, REGULAR, size))
        shapes.append(Letters((start, y - 0.5 * _FIGURES * size), text, size, INK))
    middle = 0.5 * (frame.bottom + frame.top) - 0.5 * width(axis.label, REGULAR, size)
    baseline = drawing.width - _DEPTH * size if on_right else 0.95 * size
    shapes.append(Letters((baseline, middle), axis.label, size, INK, upward=True))
