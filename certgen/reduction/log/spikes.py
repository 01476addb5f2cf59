"""Levels that one channel jumps to and back from while the other stays: a sensor or its cable, not the motor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array
from certgen.physics.samples import successive_scatter
from certgen.reduction.log.model import Reason, Reasons

#: Samples whose median is the level beside a jump.
_BESIDE = 3
#: A jump is this part of the level beside it, in speed and in load, and so many standard deviations of a sample; it is made
#: from one sample to the next by this part of it. Common practice, no source.
_OF_SPEED, _OF_LOAD, _OF_SCATTER, _AT_ONCE = 0.01, 0.1, 8.0, 0.7
#: Parts of the jump by which the level is the same afterwards, and by which samples within lie about theirs.
_BACK, _WITHIN = 0.25, 0.3
#: The other channel stays when its level moves by no more than so many standard deviations of a median, or this part.
_STAYS_SCATTER, _STAYS = 4.0, 0.02
#: Part of the change of speed that the motor's own curve would make of a load, below which the load was none.
_OF_EXPECTED = 0.3
#: Steps that tell the scatter.
_ENOUGH = 10_000
#: Samples that tell the median of a part of the log.
_OF_PART = 100
#: A logger slower than this [s] does not show a jump; more jumps than this and nothing can be said of any one.
_SLOWEST, _MOST = 1.0, 400
#: Longest part of a log that is a spike.
_LONGEST = 0.5


@dataclass(frozen=True)
class _Jump:
    """From a level to another at a sample."""

    at: int
    was: float
    then: float

    @property
    def size(self) -> float:
        return self.then - self.was


def mark_spikes(why: Reasons, time: Array, speed: Array, load: Array, *, interval: float, hold: float) -> bool:
    """Mark samples in which one channel alone stands at another level for longer than a few samples.

    Parameters
    ----------
    why : array, shape (n,)
        Reasons so far; those of samples without one are set.
    time, speed, load : array, shape (n,)
        Of the log, with faulty samples bridged. [s], [rad/s], [as shown]
    interval : float
        Usual time between samples. [s]
    hold : float
        How long a load is held to be a point [s]: a greater load that lasts longer was set, unless the speed follows the
        load everywhere else in this log and not here.

    Returns
    -------
    bool
        Whether any was marked. A load that falls is an upset instead.

    References
    ----------
    Common practice, no source.
    """
    if not 0.0 < interval <= _SLOWEST:
        return False
    size = np.abs(load)
    marked = False
    slope = _speed_over_load(speed, size)
    for start, stop in _levels(speed, _OF_SPEED, rising_only=False):
        if _stays(size, start, stop):
            marked |= _mark(why, start, stop)
    for start, stop in _levels(size, _OF_LOAD, rising_only=True):
        if _speed_tells_none(speed, size, (start, stop), slope, lasted=float(time[stop - 1] - time[start]) - hold):
            marked |= _mark(why, start, stop)
    return marked


def _mark(why: Reasons, start: int, stop: int) -> bool:
    part = why[start:stop]
    free = part == 0
    part[free] = Reason.OUTLIER
    return bool(free.any())


def _levels(values: Array, least: float, *, rising_only: bool) -> list[tuple[int, int]]:
    """Runs of samples that begin with a jump and end with the same one back: first sample, and the one after the last."""
    jumps = _jumps(values, least)
    found: list[tuple[int, int]] = []
    for place, jump in enumerate(jumps):
        if (found and jump.at < found[-1][1]) or (rising_only and jump.size < 0.0):
            continue
        for back in jumps[place + 1 :]:
            if back.at - jump.at > _LONGEST * values.size:
                break
            if abs(back.then - jump.was) <= _BACK * abs(jump.size) and abs(back.was - jump.then) <= _BACK * abs(
                jump.size
            ):
                within = np.abs(values[jump.at : back.at] - jump.then) <= _WITHIN * abs(jump.size)
                if np.mean(within) > 0.95:
                    found.append((jump.at, back.at))
                break
    return found


def _scatter(values: Array) -> float:
    """Scatter from sample to sample, by some thousands of its steps."""
    every = max(1, values.size // _ENOUGH)
    count = min(values[:-1:every].size, values[1::every].size)
    pairs = np.stack([values[:-1:every][:count], values[1::every][:count]])
    return float(np.median(successive_scatter(pairs, axis=0))) if count else 0.0


def _jumps(values: Array, least: float) -> list[_Jump]:
    steps = np.abs(np.diff(values))
    scatter = _scatter(values)
    greatest = float(np.max(np.abs(values), initial=0.0))
    rows = np.flatnonzero(steps > _AT_ONCE * max(_OF_SCATTER * scatter, 0.2 * least * greatest)) + 1
    if not 0 < rows.size <= _MOST:
        return []
    beside = np.arange(_BESIDE)
    was = np.median(values[np.maximum(rows[:, None] - 1 - beside, 0)], axis=1)
    then = np.median(values[np.minimum(rows[:, None] + beside, values.size - 1)], axis=1)
    size = np.abs(then - was)
    enough = np.maximum(least * np.maximum(np.abs(was), np.abs(then)), _OF_SCATTER * scatter)
    made = (size > enough) & (steps[rows - 1] > _AT_ONCE * size)
    return [_Jump(*one) for one in zip(rows[made].tolist(), was[made].tolist(), then[made].tolist(), strict=True)]


def _levels_beside(values: Array, start: int, stop: int) -> tuple[float, float, float]:
    """Medians of as many samples before, within and behind as lie within, of twenty at most."""
    count = min(max(stop - start, _BESIDE), 20)
    return (
        float(np.median(values[max(0, start - count) : start])),
        float(np.median(values[start:stop])),
        float(np.median(values[stop : stop + count])),
    )


def _stays(values: Array, start: int, stop: int) -> bool:
    """Whether a channel goes on as before through some samples."""
    before, within, behind = _levels_beside(values, start, stop)
    tolerance = max(_STAYS_SCATTER * _scatter(values) / np.sqrt(min(stop - start, 20)), _STAYS * before)
    return bool(abs(within - before) <= tolerance and abs(within - behind) <= tolerance)


def _speed_tells_none(speed: Array, load: Array, run: tuple[int, int], slope: float, *, lasted: float) -> bool:
    """Whether the speed says that a greater load was none; ``lasted`` is how much longer it lasted than a hold. [s]"""
    start, stop = run
    before, within, behind = _levels_beside(load, start, stop)
    ran, runs, ran_on = _levels_beside(speed, start, stop)
    expected = slope * (within - 0.5 * (before + behind))
    moved = runs - 0.5 * (ran + ran_on)
    tolerance = _STAYS_SCATTER * _scatter(speed) / np.sqrt(min(stop - start, 20))
    if abs(ran_on - ran) > max(tolerance, _OF_EXPECTED * abs(expected)):
        return False  # the motor was switched off, or loaded anew
    if expected < -2.0 * tolerance:
        return bool(moved > _OF_EXPECTED * expected)
    return bool(lasted < 0.0 and abs(moved) <= tolerance)


def _speed_over_load(speed: Array, load: Array) -> float:
    """How the speed falls with the load in this log [rad/s per unit of load]: median over pairs of its parts; 0 if not."""
    parts = min(200, load.size // 5)
    if parts < 10:
        return 0.0
    length = load.size // parts
    every = max(1, length // _OF_PART)
    ran, held = (np.median(values[: parts * length].reshape(parts, -1)[:, ::every], axis=1) for values in (speed, load))
    running = ran > 0.5 * float(np.median(ran))
    ran, held = ran[running], held[running]
    apart = held[:, None] - held[None, :]
    far = apart > 0.2 * float(np.max(held, initial=0.0))
    if not far.any():
        return 0.0
    return min(0.0, float(np.median((ran[:, None] - ran[None, :])[far] / apart[far])))
