"""The rows of a load test on the curves through the others, each row left out in turn, and how far each lies off them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from certgen.assessment.plausibility.row_relations import RowSpace
from certgen.assessment.plausibility.smooth_curve import WIDEST, Curves, fit_without, nearest
from certgen.physics.domain import Array, Index, Mask

#: A row alone beyond the others is judged by a curve carried on: its distance counts for less.
ALONE, ALONE_BEYOND, ALONE_WITHIN = 3.0, 1.5, 4.0
#: Loads that differ by less than this part make no curve.
LEAST_SPREAD = 0.05
#: More rows than this are not all tried as the one left out.
MOST_TRIED = 24
#: A voltage further than this from the others' is no reading of a load test at one voltage. [1]
UNUSUAL_VOLTAGE = 0.08
#: Fewest rows that make a curve and one to hold against it.
FEWEST = 3


@dataclass(frozen=True)
class RowsOnCurve:
    """The rows of a test on their curves, each left out in turn."""

    space: RowSpace
    read: Mapping[str, Array]
    at: Index  #: rows of the table that are on the curve
    scale: Array
    points: Array
    covariance: Array
    curves: Curves
    tried: Index  #: index into ``at`` of the row left out of each set of curves

    @classmethod
    def of(cls, space: RowSpace, read: Mapping[str, Array], at: Index) -> RowsOnCurve | None:
        """The curves through the rows ``at``; None where they make none."""
        chosen = {name: values[at] for name, values in read.items()}
        points = space.place(chosen)
        usable = np.isfinite(points).all(axis=1)
        if usable.sum() < FEWEST:
            return None
        at, points = at[usable], points[usable]
        chosen = {name: values[at] for name, values in read.items()}
        covariance = space.covariance(chosen, points, space.directions(chosen, points))
        scale = np.median(np.abs(points), axis=0) + 1e-9 * np.max(np.abs(points), axis=0)
        if not (np.isfinite(scale).all() and (scale > 0.0).all()):
            return None
        points, covariance = points / scale, _scaled(covariance, scale)
        if np.median(points[:, -1]) <= 0.0:
            return None
        tried = _tried(points, covariance, space)
        kept = np.ones((len(tried), len(at)), dtype=bool)
        kept[np.arange(len(tried)), tried] = False
        spread = _spread_of_loads(points[:, -1], kept) >= LEAST_SPREAD
        tried, kept = tried[spread], kept[spread]
        if len(tried) == 0:
            return None
        curves = fit_without(points, covariance, kept, points[tried, -1], space.bends)
        return cls(space, read, at, scale, points, covariance, curves, tried)

    def readings(self, row: int, count: int = 1) -> dict[str, Array]:
        """The quantities of a row of the table, repeated ``count`` times."""
        return {name: np.repeat(values[row], count) for name, values in self.read.items()}

    def placed(self, readings: Mapping[str, Array]) -> tuple[Array, Array, dict[str, Array]]:
        """Points, covariance and directions of readings on the axes of the curves."""
        points = self.space.place(readings)
        moves = self.space.directions(readings, points)
        covariance = _scaled(self.space.covariance(readings, points, moves), self.scale)
        return points / self.scale, covariance, {name: move / self.scale for name, move in moves.items()}

    def distances(self, which: int, readings: Mapping[str, Array]) -> Array:
        """Distance of each of C sets of readings of a row from the others' curve; infinite where there is none."""
        points, covariance, _ = self.placed(readings)
        finite = (
            np.isfinite(points).all(axis=1)
            & np.isfinite(covariance).all(axis=(1, 2))
            & (np.abs(points) < 1e6).all(axis=1)
        )
        distance = np.full(len(points), np.inf)
        if finite.any():
            free = np.zeros_like(points[finite])
            near = nearest(self.curves, which, points[finite], covariance[finite], free)
            distance[finite] = np.where(np.isfinite(near.distance), near.distance, np.inf)
        return distance

    def distances_at_usual_voltage(self, which: int, readings: Mapping[str, Array]) -> Array:
        """The same for proposed readings; a voltage unlike the others' explains nothing and is infinitely far."""
        distance = self.distances(which, readings)
        if "voltage" in readings:
            usual = np.abs(readings["voltage"] / self.space.voltage - 1.0) < UNUSUAL_VOLTAGE
            distance = np.where(usual, distance, np.inf)
        return distance

    def distance(self, which: int) -> float:
        """Distance of the row as typed, less where the curve had to be carried on to it."""
        place = int(self.tried[which])
        load = self.points[place, -1:]
        beyond = float(load[0] / self.curves.highest[which])
        judged, on = self, which
        if WIDEST < beyond < ALONE_WITHIN:
            kept = np.ones((1, len(self.at)), dtype=bool)
            kept[0, place] = False
            wide = fit_without(self.points, self.covariance, kept, load, self.space.bends, widest=np.inf)
            judged, on = replace(self, curves=wide), 0
        whole = float(judged.distances(on, self.readings(int(self.at[place])))[0])
        return whole / ALONE if ALONE_BEYOND < beyond < ALONE_WITHIN else whole


def _scaled(covariance: Array, scale: Array) -> Array:
    """Covariance in units of the scale; readings without any uncertainty are given a little."""
    scaled: Array = covariance / np.outer(scale, scale) + 1e-10 * np.eye(len(scale))
    return scaled


def _tried(points: Array, covariance: Array, space: RowSpace) -> Index:
    """Rows worth leaving out: all of a test by hand, of a long one those furthest from the curve of all."""
    count = len(points)
    if count <= MOST_TRIED:
        return np.arange(count)
    every = fit_without(points, covariance, np.ones((1, count), dtype=bool), np.array([np.nan]), space.bends)
    far = np.where(np.isfinite(every.row_misfit[0]), every.row_misfit[0], 0.0)
    return np.sort(np.argsort(far)[-MOST_TRIED:])


def _spread_of_loads(load: Array, kept: Mask) -> Array:
    highest = np.where(kept, load, -np.inf).max(axis=1)
    lowest = np.where(kept, load, np.inf).min(axis=1)
    return np.where(highest > 0.0, (highest - lowest) / np.where(highest > 0.0, highest, 1.0), 0.0)
