"""A pair of axes in the look of the sheet: round ticks, plain rules, room for its own labels and no more."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from certgen.physics.domain import Array
from certgen.sheet.charts.model import Axis
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
_TICK = 2.4
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
class Plot:
    """Axes ready to be drawn on, with what its labels must keep clear of."""

    drawing: Drawing
    across: Axis
    up: Axis
    labels: Labels
    size: float
    frame: Rectangle = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "frame", self.labels.frame)

    def spot(self, x: float, y: float) -> Spot:
        """A value pair as a spot in the drawing. [pt]"""
        frame = self.frame
        return (
            frame.left + self.across.part(x) * (frame.right - frame.left),
            frame.bottom + self.up.part(y) * (frame.top - frame.bottom),
        )

    def line(
        self, spots: Sequence[Spot], *, dashes: tuple[float, ...] = (), ink: str = INK, weight: float = LINE
    ) -> None:
        """A line through value pairs, which labels keep clear of."""
        placed = [self.spot(x, y) for x, y in spots]
        if placed:
            self.drawing.shapes.append(Line(tuple(placed), weight, ink, dashes))
            self.labels.avoid_line(placed)

    def markers(
        self,
        spots: Sequence[Spot],
        shape: str,
        size: float,
        *,
        fill: str = INK,
        edge: str = "",
        weight: float = 0.0,
    ) -> None:
        """Markers at value pairs, which labels keep clear of."""
        for x, y in spots:
            spot = self.spot(x, y)
            self.drawing.shapes.append(Mark(spot, shape, size, fill, edge, weight))
            self.labels.avoid_mark(spot, size / 2 + 0.5)

    def label(self, text: str, anchors: Sequence[Spot], *, ink: str = INK, reach: float = 5.0) -> None:
        """A text near one of its anchors."""
        place = self.labels.place(anchors, (width(text, REGULAR, self.size), 0.96 * self.size), reach)
        self.drawing.shapes.append(Letters((place.left, place.top - 0.75 * self.size), text, self.size, ink))


def plot(drawing: Drawing, size: float, across: Axis, up: Axis) -> Plot:
    """Axes that fill the drawing but for their tick labels and titles."""
    frame = Rectangle(
        _widest(up, size) + _TICK + 2 * _PAD + 1.35 * size,
        2.45 * size + _TICK + _PAD,
        drawing.width - (0.5 * _widest(across, size) + 1.0),
        drawing.height - 0.6 * size,
    )
    _dress_across(drawing, frame, across, size)
    _dress_up(drawing, frame, up, size)
    return Plot(drawing, across, up, Labels(frame), size)


def _widest(axis: Axis, size: float) -> float:
    return max((width(text, REGULAR, size) for text in axis.texts), default=0.0)


def _dress_across(drawing: Drawing, frame: Rectangle, axis: Axis, size: float) -> None:
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


def _dress_up(drawing: Drawing, frame: Rectangle, axis: Axis, size: float) -> None:
    """Rule, ticks, their labels and the title of the upright axis."""
    shapes, x = drawing.shapes, frame.left
    shapes.append(Line(((x, frame.bottom), (x, frame.top)), _SPINE, MUTED))
    for tick, text in zip(axis.ticks, axis.texts, strict=True):
        y = frame.bottom + axis.part(tick) * (frame.top - frame.bottom)
        shapes.append(Line(((x, y), (x - _TICK, y)), _SPINE, MUTED))
        start = x - (_TICK + _PAD) - width(text, REGULAR, size)
        shapes.append(Letters((start, y - 0.5 * _FIGURES * size), text, size, INK))
    middle = 0.5 * (frame.bottom + frame.top) - 0.5 * width(axis.label, REGULAR, size)
    shapes.append(Letters((0.95 * size, middle), axis.label, size, INK, upward=True))
