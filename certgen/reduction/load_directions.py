"""Loads taken upwards and downwards in one test: which rows belong to which branch, and how far the branches differ."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.physics.curves import ShapePreserving, distinct, straight_line
from certgen.physics.domain import Array
from certgen.reduction.model import LoadPoints, Sweeps

#: Fewer rows than this, the turning point counted in both, make no branch.
LEAST_ROWS = 3


def find_sweeps(points: LoadPoints) -> Sweeps | None:
    """The rows of the upward and of the downward branch of a load test.

    Parameters
    ----------
    points : LoadPoints
        The tested points in the order they were read. [SI]

    Returns
    -------
    Sweeps or None
        Indices of rows, the turning point in both; ``None`` where torque does not turn exactly once, a branch has
        fewer than three rows, or speed does not fall with torque on either (a test carried past breakdown turns too,
        but there speed falls on).
    """
    usable = np.flatnonzero(np.isfinite(points.torque) & np.isfinite(points.speed) & ~points.impossible)
    torque = points.torque[usable]
    for turn in (int(np.argmax(torque)), int(np.argmin(torque))) if torque.size else ():
        first, second = usable[: turn + 1], usable[turn:]
        if all(_is_branch(points, branch) for branch in (first, second)) and _turns(points.torque, first, second):
            rising = points.torque[first[-1]] > points.torque[first[0]]
            return Sweeps(first, second) if rising else Sweeps(second, first)
    return None


def _is_branch(points: LoadPoints, rows: NDArray[np.intp]) -> bool:
    torque = points.torque[rows]
    if rows.size < LEAST_ROWS or distinct(torque).size < LEAST_ROWS:
        return False
    steps = np.diff(torque)
    if not (np.all(steps >= 0.0) or np.all(steps <= 0.0)):
        return False
    return straight_line(torque, points.speed[rows]).slope < 0.0


def _turns(torque: Array, first: NDArray[np.intp], second: NDArray[np.intp]) -> bool:
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


def _line(points: LoadPoints, rows: NDArray[np.intp], name: str) -> ShapePreserving | None:
    torque, values = points.torque[rows], getattr(points, name)[rows]
    known = np.isfinite(values)
    levels, where = np.unique(torque[known], return_inverse=True)
    if levels.size < LEAST_ROWS:
        return None
    return ShapePreserving(levels, np.bincount(where, weights=values[known]) / np.bincount(where))
