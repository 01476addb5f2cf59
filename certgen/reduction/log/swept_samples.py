"""Samples of a sweep that are not what the motor gave: faults of sensors, and the load lost for a while."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array, Index, Mask
from certgen.physics.samples import successive_scatter
from certgen.reduction.log.faulty_samples import bridged, mark_faulty_samples, unreadable
from certgen.reduction.log.model import Reason, Reasons, Signals
from certgen.reduction.log.steady import usual_interval

#: Samples averaged where a logger is denser than this. [s]
_DENSEST = 0.01
#: Means whose median stands for load and speed on either side of an edge, and the longest time these take. [s]
_BESIDE, _AT_ONCE = 3, 0.1
#: An edge is this part of the greatest load, so many standard deviations of a mean, and so many usual changes.
_LEAST_EDGE, _OF_SCATTER, _OF_CHANGES = 0.15, 8.0, 6.0
#: A load that was gone is back at more than this part of the fall, within this part of the log or so long. [s]
_BACK, _OF_LOG, _LONGEST = 0.5, 0.2, 2.0
#: The speed is on its course again when it changes no faster than so many times as before the load was lost, and so many
#: standard deviations of that rate.
_ON_COURSE, _RATE_SCATTER = 3.0, 6.0
#: Time before an edge in which the course is known. [s]
_BEFORE = 0.3
#: More edges than this and nothing can be said of any one.
_MOST = 500


def mark_swept_samples(signals: Signals, spans: tuple[float | None, ...], over: Mask | None = None) -> Reasons:
    """The reason to leave out each sample of a sweep that is not what the motor gave.

    Parameters
    ----------
    signals : Signals
        Time, speed and load, n samples. [SI]
    spans : tuple of float or None
        Greatest value of each indication of the load, where the rig states it. [as the indication]
    over : array, shape (n,), optional
        Samples in which the instrument said that it was overloaded.

    Returns
    -------
    array, shape (n,)
        Numbers of ``Reason``, 0 for a sample that may be used. A load that falls at once and comes back at once is lost
        from the fall until speed and load are on their course again: a motor that loses its load in a sweep races, and is
        pulled back.

    References
    ----------
    Common practice, no source.
    """
    why = mark_faulty_samples(signals, spans, over)
    if not signals.count:
        return why
    time = bridged(signals.time, ~np.isfinite(signals.time))
    course = _course(time, bridged(signals.speed, why != 0), np.abs(bridged(signals.load, unreadable(why))))
    for first, last in _losses(course):
        part = why[int(course.first[first]) : course.stop(last)]
        part[part == 0] = Reason.LOAD_LOST
    return why


@dataclass(frozen=True, eq=False)
class _Course:
    """A sweep in short means: index of the first sample of each, time [s], speed [rad/s] and size of the load."""

    first: Index
    time: Array
    speed: Array
    load: Array
    interval: float
    samples: int

    def stop(self, mean: int) -> int:
        """The sample after the last one of a mean."""
        return int(self.first[mean + 1]) if mean + 1 < self.first.size else self.samples

    def over(self, seconds: float) -> int:
        """How many means a time is, one at least."""
        return max(1, round(seconds / self.interval)) if self.interval > 0.0 else 1


def _course(time: Array, speed: Array, load: Array) -> _Course:
    interval = usual_interval(time)
    each = max(1, round(_DENSEST / interval)) if interval > 0.0 else 1
    first = np.arange(0, time.size, each)
    counts = np.diff(first, append=time.size)
    when, ran, held = (np.add.reduceat(values, first) / counts for values in (time, speed, load))
    return _Course(first, when, ran, held, each * interval, time.size)


def _losses(course: _Course) -> list[tuple[int, int]]:
    """First and last mean of each load that was lost and came back."""
    falls, rises, rise = _edges_of(course)
    if rises.size > _MOST or falls.size > _MOST:
        return []
    longest = max(_LONGEST, _OF_LOG * float(course.time[-1] - course.time[0]))
    losses: list[tuple[int, int]] = []
    for fall in falls.tolist():
        if losses and fall <= losses[-1][1]:
            continue
        within = rises[(rises > fall) & (course.time[rises] <= course.time[fall] + longest)]
        depth = -float(rise[fall - _BESIDE])
        back = [edge for edge in within.tolist() if float(rise[edge - _BESIDE]) >= _BACK * depth]
        if back:
            losses.append((max(0, fall - _BESIDE), _on_course(course, fall, back[0])))
    return losses


def _edges_of(course: _Course) -> tuple[Index, Index, Array]:
    """Means at which the load falls at once, those at which it rises, and by how much it rises at each from the first."""
    load, nothing = course.load, np.empty(0, dtype=np.intp)
    if load.size < 4 * _BESIDE:
        return nothing, nothing, np.empty(0)
    level = np.median(np.lib.stride_tricks.sliding_window_view(load, _BESIDE), axis=1)
    rise = level[_BESIDE:] - level[:-_BESIDE]  # at mean i + _BESIDE: from then on, less before
    greatest, scatter = float(load.max()), float(successive_scatter(load))
    least = max(_LEAST_EDGE * greatest, _OF_SCATTER * scatter, _OF_CHANGES * float(np.median(np.abs(rise))))
    at_once = max(_AT_ONCE, 2.5 * _BESIDE * course.interval)
    close = course.time[2 * _BESIDE - 1 :] - course.time[: -2 * _BESIDE + 1] <= at_once
    falls, rises = (_steepest(sign * rise, least, close) for sign in (-1.0, 1.0))
    return falls, rises, rise


def _steepest(rise: Array, least: float, close: Mask) -> Index:
    """Means at which a change is greatest among its neighbours, and great enough."""
    steep = (rise > least) & close
    if not steep.any():
        return np.empty(0, dtype=np.intp)
    padded = np.pad(rise, _BESIDE, constant_values=-np.inf)
    highest = np.lib.stride_tricks.sliding_window_view(padded, 2 * _BESIDE + 1).max(axis=1)
    return np.asarray(np.flatnonzero(steep & (rise >= highest)) + _BESIDE)


def _on_course(course: _Course, fall: int, back: int) -> int:
    """The last mean until speed goes on as it did before the fall."""
    reach = min(course.over(_BEFORE), fall)
    before = slice(max(0, fall - _BESIDE - reach), max(1, fall - _BESIDE))
    speed = course.speed
    rate = abs(_slope(course.time[before], speed[before]))
    beside = max(_BESIDE, course.over(0.5 * _AT_ONCE))
    scatter = float(successive_scatter(speed)) * math.sqrt(2.0 / beside)
    last = min(back + _BESIDE, speed.size - 1)
    falling = _slope(course.time[before], speed[before]) < 0.0
    was = float(np.median(speed[before]))
    while last + 2 * beside < speed.size:
        one, two = (float(np.mean(speed[last + step : last + step + beside])) for step in (0, beside))
        seconds = float(course.time[last + beside] - course.time[last])
        calm = abs(two - one) <= max(_ON_COURSE * rate * seconds, _RATE_SCATTER * scatter)
        if calm and (not falling or one <= was + _RATE_SCATTER * scatter):
            break
        last += 1
    return min(last + beside, speed.size - 1)


def _slope(time: Array, values: Array) -> float:
    """Rate of change over a few values."""
    if values.size < 2 or not time[-1] > time[0]:
        return 0.0
    apart = time - time.mean()
    return float(apart @ (values - values.mean()) / (apart @ apart))
