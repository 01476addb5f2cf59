"""Loads taken upwards and downwards in one test: which rows belong to which branch, and how far the branches differ."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from certgen.physics.curves import ShapePreserving, straight_line
from certgen.physics.domain import Array, Index
from certgen.reduction.load_curve import SAME_LOAD, knots_of
from certgen.reduction.model import LoadPoints, Sweeps

#: Fewer rows than this, the turning point counted in both, make no branch.
LEAST_ROWS = 3


def find_sweeps(points: LoadPoints, scatter: Array | None = None, rows: Index | None = None) -> Sweeps | None:
    """The rows of the upward and of the downward branch of a load test, told apart by the order they were read in.

    Parameters
    ----------
    points : LoadPoints
        The tested points in the order they were read. [SI]
    scatter : array, shape (n,), or None
        Standard uncertainty of each torque against those of other rows: a step back within it breaks no branch. [N*m]
    rows : array of int or None
        The rows meant; all where left out.

    Returns
    -------
    Sweeps or None
        Indices of rows, the turning point in both; ``None`` where torque does not turn exactly once, a branch has
        fewer than three different loads, or speed does not fall with torque on either (a test carried past breakdown
        turns too, but there speed falls on).
    """
    scatter = np.zeros(points.count) if scatter is None else scatter
    read = np.isfinite(points.torque) & np.isfinite(points.speed) & ~points.impossible
    usable = np.flatnonzero(read) if rows is None else rows[read[rows]]
    torque = points.torque[usable]
    for turn in (int(np.argmax(torque)), int(np.argmin(torque))) if torque.size else ():
        first, second = usable[: turn + 1], usable[turn:]
        branches = all(_is_branch(points, branch, scatter) for branch in (first, second))
        if branches and _turns(points.torque, first, second):
            rising = points.torque[first[-1]] > points.torque[first[0]]
            return Sweeps(first, second) if rising else Sweeps(second, first)
    return None


def _is_branch(points: LoadPoints, rows: Index, scatter: Array) -> bool:
    torque = points.torque[rows]
    if rows.size < LEAST_ROWS or len(knots_of(points.torque, scatter, rows)) < LEAST_ROWS:
        return False
    if not any(_goes_up(way * torque, scatter[rows]) for way in (1.0, -1.0)):
        return False
    return straight_line(torque, points.speed[rows]).slope < 0.0


def _goes_up(torque: Array, scatter: Array) -> bool:
    """Whether no torque is clearly below one read before it."""
    highest = np.maximum.accumulate(torque)
    at_highest = scatter[[int(np.argmax(torque[: row + 1])) for row in range(torque.size)]]
    return bool(np.all(highest - torque <= SAME_LOAD * np.hypot(scatter, at_highest)))


def _turns(torque: Array, first: Index, second: Index) -> bool:
    rises = (torque[first[-1]] - torque[first[0]], torque[second[-1]] - torque[second[0]])
    return bool(rises[0] * rises[1] < 0.0)


@dataclass(frozen=True)
class Gap:
    """Where two branches of a load test differ most in one quantity."""

    torque: float  # N*m
    upward: float
    downward: float


def widest_gap(points: LoadPoints, sweeps: Sweeps, name: str) -> Gap | None:
    """The greatest difference of a quantity between the branches at equal torque.

    Parameters
    ----------
    points : LoadPoints
        The tested points. [SI]
    sweeps : Sweeps
        Their branches.
    name : str
        Which quantity.

    Returns
    -------
    Gap or None
        At the tested torque, of either branch and within both, where the branches lie furthest apart; ``None`` where
        the quantity was not read on both. [SI]

    References
    ----------
    F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238, for values between tested points.
    """
    lines = [_line(points, rows, name) for rows in (sweeps.upward, sweeps.downward)]
    upward, downward = lines
    if upward is None or downward is None:
        return None
    low, high = max(upward.x[0], downward.x[0]), min(upward.x[-1], downward.x[-1])
    both = np.union1d(upward.x, downward.x)
    common = both[(both >= low) & (both <= high)]
    if not common.size:
        return None
    up, down = np.asarray(upward(common)), np.asarray(downward(common))
    widest = int(np.argmax(np.abs(up - down)))
    return Gap(float(common[widest]), float(up[widest]), float(down[widest]))


def _line(points: LoadPoints, rows: Index, name: str) -> ShapePreserving | None:
    torque, values = points.torque[rows], getattr(points, name)[rows]
    known = np.isfinite(values)
    levels, where = np.unique(torque[known], return_inverse=True)
    if levels.size < LEAST_ROWS:
        return None
    return ShapePreserving(levels, np.bincount(where, weights=values[known]) / np.bincount(where))
