"""The runs of a log through the speeds, down and up again, and the times at which each passes a speed."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: A run goes through at least this part of the range of speeds; smaller turns are hunting. Common practice, no source.
LEAST_RUN = 0.2
#: ... and through at least this part of the highest speed; less is no sweep. Common practice, no source.
LEAST_SPAN = 0.02


@dataclass(frozen=True, eq=False)
class Run:
    """Part of a smoothed log in which the speed goes one way: times [s] and speeds [rad/s], shape (n,).

    Only instants at which the speed went further than ever before in the run are kept, so that speeds are strictly
    falling or strictly rising.
    """

    time: Array
    speed: Array

    @property
    def falls(self) -> bool:
        """Whether the speed falls in this run."""
        return bool(self.speed[-1] < self.speed[0])

    @property
    def span(self) -> float:
        """Range of its speeds [rad/s]."""
        return float(abs(self.speed[-1] - self.speed[0]))

    def time_at(self, speed: Array) -> Array:
        """When the run passes speeds of shape (m,) [rad/s]; ``nan`` where it does not. [s]"""
        sign = -1.0 if self.falls else 1.0
        inner = np.interp(sign * speed, sign * self.speed, self.time, left=np.nan, right=np.nan)
        return np.asarray(inner)


def find_runs(time: Array, speed: Array) -> tuple[Run, ...]:
    """The runs of a smoothed log, in order.

    Parameters
    ----------
    time : array, shape (n,)
        Times, rising. [s]
    speed : array, shape (n,)
        Smoothed speeds, ``nan`` where there is none. [rad/s]

    Returns
    -------
    tuple of Run
        Between turning points of the speed; a turn of less than a fifth of the whole range, or than a fiftieth of the
        highest speed, is none.
    """
    known = np.isfinite(speed)
    time, speed = time[known], speed[known]
    if speed.size < 2:
        return ()
    least = max(LEAST_RUN * float(np.ptp(speed)), LEAST_SPAN * float(speed.max()))
    ends = _turning_points(speed, least) if least > 0.0 else [0]
    runs = [_one_way(time[a : b + 1], speed[a : b + 1]) for a, b in itertools.pairwise(ends)]
    return tuple(run for run in runs if run.span >= least)


def _turning_points(speed: Array, least: float) -> list[int]:
    """Indices of the ends and of each extreme from which the speed comes back by at least ``least``."""
    turns = []
    low = high = 0
    wanted = 0  # 1: coming up to a maximum; -1: going down to a minimum; 0: not known yet
    for index, value in enumerate(speed):
        if value > speed[high]:
            high = index
        if value < speed[low]:
            low = index
        if wanted >= 0 and speed[high] - value >= least:
            turns.append(high)
            low, wanted = index, -1
        elif wanted <= 0 and value - speed[low] >= least:
            turns.append(low)
            high, wanted = index, 1
    last = low if wanted < 0 else high
    return [*turns, last] if turns and last > turns[-1] else turns


def _one_way(time: Array, speed: Array) -> Run:
    sign = -1.0 if speed[-1] < speed[0] else 1.0
    furthest = np.maximum.accumulate(sign * speed)
    new = np.concatenate(([True], np.diff(furthest) > 0.0))
    return Run(time[new], speed[new])
