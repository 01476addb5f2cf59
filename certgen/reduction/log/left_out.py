"""Samples left out, as a list a person can read: one entry for each reason and stretch."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.reduction.log.model import LeftOut, Reason, Reasons, marked
from certgen.reduction.log.runs import runs_of

Array = NDArray[np.float64]

#: More stretches of one reason than this stand in one entry.
_MOST = 40


def listed(why: Reasons, time: Array, hold: float) -> tuple[LeftOut, ...]:
    """Every sample left out, in order of time.

    Parameters
    ----------
    why : array, shape (n,)
        The reason of each sample, 0 where it is used.
    time : array, shape (n,)
        When it was taken. [s]
    hold : float
        Stretches of one reason that lie no further apart than this are one. [s]

    Returns
    -------
    tuple of LeftOut
        Their counts add up to the samples left out.
    """
    found: list[LeftOut] = []
    for reason in Reason:
        which = marked(why, reason)
        if reason != Reason.USED and which.any():
            found += _of_reason(reason, which, time, hold)
    return tuple(sorted(found, key=lambda one: (one.start, one.reason)))


def _of_reason(reason: Reason, which: NDArray[np.bool_], time: Array, hold: float) -> list[LeftOut]:
    runs = runs_of(which)
    apart = time[runs.starts[1:]] - time[runs.stops[:-1] - 1] > hold
    # A stretch that is merely not steady ends where a plateau begins.
    if reason in (Reason.UNSTEADY, Reason.NOT_CHOSEN, Reason.STANDSTILL):
        apart = time[runs.starts[1:]] - time[runs.stops[:-1] - 1] > 0.5 * hold
    heads = np.concatenate(([0], np.flatnonzero(apart) + 1))
    if heads.size > _MOST:
        heads = np.array([0])
    counts = np.add.reduceat(runs.stops - runs.starts, heads)
    tails = np.append(heads[1:], runs.count) - 1
    return [
        LeftOut(reason, int(count), float(time[runs.starts[head]]), float(time[runs.stops[tail] - 1]))
        for head, tail, count in zip(heads, tails, counts, strict=True)
    ]
