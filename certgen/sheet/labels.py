"""Labels in a chart: each at the spot near its mark where it covers least, never over another label if avoidable."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Spot = tuple[float, float]

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
    obstacles: list[Spot] = field(default_factory=list)
    placed: list[Rectangle] = field(default_factory=list)
    _seen: Array | None = None  # the obstacles as an array, made anew when there are more

    def avoid_line(self, spots: Sequence[Spot]) -> None:
        """Keep clear of a line through these spots."""
        self.obstacles.extend(spots[:1])
        for (x0, y0), (x1, y1) in pairwise(spots):
            steps = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / _SPACING))
            self.obstacles.extend(
                (x0 + (x1 - x0) * step / steps, y0 + (y1 - y0) * step / steps) for step in range(1, steps + 1)
            )

    def avoid_mark(self, spot: Spot, radius: float) -> None:
        """Keep clear of a marker."""
        x, y = spot
        self.obstacles.extend([spot, (x - radius, y), (x + radius, y), (x, y - radius), (x, y + radius)])

    def place(
        self, anchors: Sequence[Spot], size: tuple[float, float], reach: float, rivals: Sequence[Spot] = ()
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


def _distances(corners: Array, size: tuple[float, float], spots: Sequence[Spot]) -> Array:
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
