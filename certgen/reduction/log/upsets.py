"""Loads that fell off and came back: faster than the brake was ever set in this log, however long they stayed off."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array, Mask
from certgen.physics.samples import successive_scatter
from certgen.reduction.log.events import first_above
from certgen.reduction.log.model import Bands, Upset, runs_of
from certgen.reduction.log.steady import LEAST_LEVEL, Bins, Stretch, scatter_of_bins

#: Bins that show a load held before it fell.
_HELD_BINS = 3
#: A fall is at least this part of the load, so many standard deviations of a bin, and this part of the greatest load.
_LEAST_FALL, _OF_SCATTER, _OF_GREATEST = 0.1, 8.0, 0.01
#: A load that was greater by this part of the fall, twice as long before as the fall took, was being taken off, not held.
_GOING_DOWN = 0.3
#: Parts of the load that count as nothing; of a load just reached, below which it fell at once.
_NOTHING, _AT_ONCE = 0.15, 0.3
#: Longest time in which brake current runs out. [s]
_RUN_OUT = 2.5
#: A fall takes less than this part of the time that the brake was ever set in.
_FASTER = 0.7
#: ... and less than this one where it stayed at a part of the load, as the last load of a test does.
_LAST_STEP = 0.35
#: ... or so long where this log does not show the brake being set [s], or for so many samples.
_BY_HAND, _SAMPLES = 0.5, 1.5
#: Loads that differ by this part of the greater show how fast the brake was set.
_SET = 0.1
#: Part of the fall by which a load that stays off may move.
_STAYS = 0.3
#: Rise of the speed in parts of it, over four standard deviations, that the motor's curve makes of a load that falls;
#: the fall that only a tachometer behind a slipping coupling can show.
_SPEED_RISE, _SPEED_FALL, _SPEED_SCATTER = 0.001, 0.01, 4.0
#: Brake current was set when it fell by this part of the part that the load lost, and not to nothing.
_SET_CURRENT, _NO_CURRENT = 0.25, 0.05
#: More falls than this and nothing can be said of any one.
_MOST = 500


@dataclass(frozen=True, eq=False)
class Loaded:
    """A log with its faulty samples bridged: time [s], speed [rad/s] and load, shape (n,), and what else marks a fall.

    ``meant`` are the times in which the job says that the load was changed on purpose. [s]
    """

    time: Array
    speed: Array
    load: Array
    interval: float
    bins: Bins
    bands: Bands
    brake_current: Array | None = None
    meant: Sequence[tuple[float, float]] = ()

    def was_meant(self, start: int, stop: int) -> bool:
        """Whether the job says that the load was changed on purpose in a run of samples."""
        begin, end = float(self.time[start]), float(self.time[stop - 1])
        return any(first <= end and begin <= last for first, last in self.meant)


@dataclass(frozen=True)
class _Fall:
    """A load that fell: last bin it was held in, first without it, first with it again; loads before and within."""

    last: int
    first: int
    back: int
    held: float
    left: float
    came_back: bool
    is_step: bool  # neither did it come back nor stay so, nor was it to nothing


def upsets_of(log: Loaded, stretches: Sequence[Stretch]) -> list[Upset]:
    """Loads that fell off by themselves.

    Parameters
    ----------
    log : Loaded
        The log of n samples.
    stretches : sequence of (int, int)
        Steady stretches of its bins, which tell how fast the brake was set from one load to the next.

    Returns
    -------
    list of Upset
        In order, not overlapping. A fall is an upset when it took less time than any change of load that is none, and
        the load then came back to what it was, fell to nothing, or stayed off; or when the brake stayed excited.

    References
    ----------
    Common practice, no source.
    """
    load = np.abs(log.bins.load)
    scatter = scatter_of_bins(load)
    falls = _falls(log, load, scatter)
    timed = [(fall, *_times_of(log, fall)) for fall in falls if not fall.is_step]
    timed = [one for one in timed if not _was_going_down(log, *one[:3])]
    if not timed:
        return []
    held_on = [_brake_holds(log, fall, start, stop) for fall, _, start, stop in timed]
    # A load that the brake current, or the job, says was set shows how fast setting is.
    unset = [fall for (fall, _, start, stop), on in zip(timed, held_on, strict=True) if not log.was_meant(start, stop)]
    quickest = _quickest_setting(log, load, scatter, stretches, unset)
    if quickest is None:  # then loads taken off slowly tell it
        taken = [seconds for _, seconds, _, _ in timed] + [_times_of(log, fall)[0] for fall in falls if fall.is_step]
        quickest = min((seconds for seconds in taken if seconds > 2.0 * _by_hand(log)), default=None)
    upsets = []
    for (fall, seconds, start, stop), on in zip(timed, held_on, strict=True):
        if log.was_meant(start, stop) or on is False:
            continue
        if on or _is_faster(log, fall, seconds, quickest):
            cause = _cause(log, start, stop, seconds, on)
            upsets.append(Upset(start, stop, fall.held, fall.left, fall.came_back, cause))
    return apart(upsets)


def _was_going_down(log: Loaded, fall: _Fall, seconds: float, start: int) -> bool:
    """Whether a fall is the end of a longer one: the load was greater twice as long before as the fall took."""
    at = int(np.searchsorted(log.bins.time, log.time[start] - 2.0 * max(seconds, log.bins.width), side="right")) - 1
    return at >= 0 and bool(abs(log.bins.load[at]) - fall.held > _GOING_DOWN * (fall.held - fall.left))


def _is_faster(log: Loaded, fall: _Fall, seconds: float, quickest: float | None) -> bool:
    """Whether a fall took clearly less time than the brake was ever set in."""
    if quickest is not None:
        is_last_step = not fall.came_back and fall.left > _NOTHING * fall.held
        return seconds <= (_LAST_STEP if is_last_step else _FASTER) * quickest
    return fall.came_back and seconds <= _by_hand(log)


def _by_hand(log: Loaded) -> float:
    """Time that setting a brake by hand takes at least, as far as this log can show it. [s]"""
    return max(_BY_HAND, _SAMPLES * log.interval if log.interval <= 1.0 else 0.0)


def apart(upsets: list[Upset]) -> list[Upset]:
    """In order, without those that begin inside another."""
    kept: list[Upset] = []
    for upset in sorted(upsets, key=lambda each: each.start):
        if not kept or upset.start >= kept[-1].stop:
            kept.append(upset)
    return kept


# Where the load fell, bin by bin.


def _falls(log: Loaded, load: Array, scatter: float) -> list[_Fall]:
    greatest = float(np.max(load, initial=0.0))
    if greatest == 0.0 or load.size < _HELD_BINS + 2:
        return []
    band = log.bands.torque
    windows = np.lib.stride_tricks.sliding_window_view(load[:-2], _HELD_BINS)
    level = np.median(windows, axis=1)
    deep = np.maximum(_LEAST_FALL * level, max(_OF_SCATTER * scatter, _OF_GREATEST * greatest))
    held = np.ptp(windows, axis=1) <= 2.0 * band * np.maximum(level, LEAST_LEVEL * greatest) + 7.0 * scatter
    next_two = np.minimum(load[_HELD_BINS:-1], load[_HELD_BINS + 1 :])
    now = load[_HELD_BINS - 1 : -2]
    falls = held & (next_two < level - deep)
    falls |= (next_two < _AT_ONCE * now) & (now - next_two > 2.0 * deep) & (now > 0.1 * greatest)
    runs = runs_of(falls)
    if not 0 < runs.count <= _MOST:
        return []
    found: list[_Fall] = []
    for at in runs.starts.tolist():
        reached = level[at] if held[at] else now[at]
        found.append(_fall_from(log, load, scatter, (at + _HELD_BINS - 1, float(reached), float(deep[at]))))
    return found


def _fall_from(log: Loaded, load: Array, scatter: float, seen: tuple[int, float, float]) -> _Fall:
    """The fall after a bin, followed to where the load came back."""
    last, level, deep = seen
    before = load[max(0, last - 19) : last + 1]
    near = before[np.abs(before - level) <= 0.5 * deep]
    held = float(np.median(near)) if near.size else level
    first = last + 1 if load[last + 1] < held - 0.5 * deep else last + 2
    within = max(2, math.ceil(_RUN_OUT / log.bins.width))
    band = max(2.0 * log.bands.torque * max(held, LEAST_LEVEL * float(load.max())), 4.0 * scatter)
    back = first_above(load, first, held - min(band, 0.5 * deep))
    left = float(load[first : min(back, first + within)].min())
    settled = load[back + 1 : back + 5]
    # A load that goes on rising was set; one that was there again may be taken off, or lost, soon after.
    beyond = float(np.median(settled)) - held if settled.size else 0.0
    returned = back < load.size and beyond <= max(2.0 * band, 0.1 * (held - left))
    if returned:
        if back - first > within:
            left = float(np.median(load[first:back]))
        return _Fall(last, first, back, held, left, came_back=True, is_step=False)
    if left <= _NOTHING * held:  # until something is set anew
        off = first + int(np.argmin(load[first : min(back, first + within)]))
        end = first_above(load, off, left + _STAYS * (held - left))
        return _Fall(last, first, end, held, left, came_back=False, is_step=False)
    rest = load[first + within :]
    moved = rest > left + _STAYS * (held - left)
    moved |= (rest < left - _STAYS * (held - left)) & (rest > _NOTHING * held)
    return _Fall(last, first, load.size, held, left, came_back=False, is_step=bool(moved.any()))


# How fast it fell, sample by sample, and how fast the brake was set.


def _times_of(log: Loaded, fall: _Fall) -> tuple[float, int, int]:
    """Seconds that the fall took, or the return where that was faster; its first sample, the first with the load again.

    From a tenth of the change to nine tenths of it.
    """
    bins = log.bins
    within = max(2, math.ceil(_RUN_OUT / bins.width))
    begin = int(bins.first[max(0, fall.last - 1)])
    end = bins.stop(min(fall.first + within, bins.count - 1))
    seconds, high, _ = _change(log, (begin, end), fall.held, fall.left)
    start = min(high + 1, log.time.size - 1)
    if fall.back >= bins.count:
        return seconds, start, log.time.size
    begin = max(int(bins.first[max(fall.back - 2, fall.first)]), start + 1)
    end = bins.stop(min(fall.back + 1, bins.count - 1))
    if fall.came_back:
        wide = int(bins.first[max(fall.back - within, fall.first)]), bins.stop(min(fall.back + 2, bins.count - 1))
        seconds = min(seconds, _change(log, wide, fall.left, fall.held)[0])
    values = np.abs(log.load[begin:end])
    goal = fall.held if fall.came_back else fall.left + _STAYS * (fall.held - fall.left)
    off = np.flatnonzero(values < goal - (0.1 * (fall.held - fall.left) if fall.came_back else 0.0))
    stop = begin + (int(off[-1]) + 1 if off.size and fall.came_back else 0)
    if not fall.came_back:
        above = np.flatnonzero(values >= goal)
        stop = begin + int(above[0]) if above.size else end
    return seconds, start, max(stop, start + 1)


def _change(log: Loaded, part: tuple[int, int], before: float, after: float) -> tuple[float, int, int]:
    """How long a change of load took between a tenth and nine tenths of it [s], and the samples at these."""
    start, stop = part
    values = _smooth(np.abs(log.load[start:stop]), 0.05 * abs(after - before))
    gone = (values - before) / (after - before)
    over = np.flatnonzero(gone >= 0.9)
    low = int(over[0]) if over.size else gone.size - 1
    not_yet = np.flatnonzero(gone[: low + 1] <= 0.1)
    high = int(not_yet[-1]) if not_yet.size else 0
    return float(log.time[start + low] - log.time[start + high]), start + high, start + low


def _smooth(values: Array, scatter: float) -> Array:
    """Medians of as many neighbours as it takes for their scatter to be no more than this, of 25 at most.

    A median leaves a step as steep as it is, which a mean does not.
    """
    of_one = float(successive_scatter(values)) if values.size > 1 else 0.0
    count = min(math.ceil((of_one / scatter) ** 2) if scatter > 0.0 else 1, 25, values.size)
    if count < 2:
        return values
    half = count // 2
    padded = np.pad(values, half, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1))


def _quickest_setting(
    log: Loaded, load: Array, scatter: float, stretches: Sequence[Stretch], falls: Sequence[_Fall]
) -> float | None:
    """Shortest time that the brake was set in, from a load to another and up to the first; none for none. [s]"""
    within = max(2, math.ceil(_RUN_OUT / log.bins.width))
    ends = [(fall.last, fall.first + within) for fall in falls] + [
        (fall.back - within, fall.back + 4) for fall in falls
    ]
    firsts, lasts = np.array(ends, dtype=float).reshape(-1, 2).T
    seconds = []
    if stretches:
        lost = next((fall for fall in falls if fall.last < stretches[0][0] < fall.back), None)
        seconds += _first_setting(log, load, stretches[0] if lost is None else (lost.last, lost.last + 1))
    for (begin, one), (other, end) in itertools.pairwise(stretches):
        before, after = float(np.median(load[begin:one])), float(np.median(load[other:end]))
        if abs(after - before) < max(_SET * max(before, after), _OF_SCATTER * scatter):
            continue
        if not np.any((firsts < other + 1) & (lasts > one - 2)):
            part = int(log.bins.first[max(begin, one - 2)]), log.bins.stop(min(other + 1, end - 1))
            seconds.append(_change(log, part, before, after)[0])
    return min(seconds, default=None)


def _first_setting(log: Loaded, load: Array, stretch: Stretch) -> list[float]:
    """How long the brake took to be set to the first load of a motor that ran already. [s]"""
    begin, end = stretch
    if begin < 2:
        return []
    held, ran = float(np.median(load[begin:end])), float(np.median(log.bins.speed[begin:end]))
    lowest = begin - 1 - int(np.argmin(load[:begin][::-1]))
    if load[lowest] > 0.5 * held or log.bins.speed[lowest] < 0.9 * ran:
        return []
    part = int(log.bins.first[lowest]), log.bins.stop(min(begin + 1, end - 1))
    return [_change(log, part, float(load[lowest]), held)[0]]


# What else the log says of a fall.


def _brake_holds(log: Loaded, fall: _Fall, start: int, stop: int) -> bool | None:
    """Whether the brake current stayed while the load went; false where it was set, none where it does not tell."""
    current = log.brake_current
    if current is None or start < 2:
        return None
    before = current[max(0, start - 20) : start]
    within = current[start:stop]
    if not np.isfinite(before).any() or not np.isfinite(within).any():
        return None
    was, then = float(np.nanmedian(before)), float(np.nanmedian(within))
    if was <= 0.0:
        return None
    part = 1.0 - then / was
    if part < _SET_CURRENT * (1.0 - fall.left / fall.held):
        return True
    return False if then > _NO_CURRENT * was else None


def _cause(log: Loaded, start: int, stop: int, seconds: float, brake_holds: bool | None) -> str:
    """The likely cause: key of what a message says."""
    ran = log.speed[max(0, start - 20) : start]
    runs = log.speed[start:stop]
    before, within = (float(np.median(part)) if part.size else math.nan for part in (ran, runs))
    scatter = float(np.std(ran)) if ran.size > 1 else 0.0
    scatter *= math.sqrt(1.0 / max(ran.size, 1) + 1.0 / max(runs.size, 1))
    change = within - before
    if change < -max(_SPEED_FALL * abs(before), _SPEED_SCATTER * scatter):
        return "coupling"
    if abs(change) <= max(_SPEED_RISE * abs(before), _SPEED_SCATTER * scatter):
        return "sensor"
    if brake_holds:
        return "coupling"
    return "brake" if seconds > max(_BY_HAND, 3.0 * log.interval) else "coupling_or_brake"


def taken_out(log: Loaded, upsets: Sequence[Upset]) -> Mask:
    """Samples of upsets with one bin on either side, in which the load may still have moved: shape (n,)."""
    out = np.zeros(log.time.size, dtype=bool)
    margin = max(1, round(log.bins.width / log.interval)) if log.interval > 0.0 else 1
    for upset in upsets:
        out[max(0, upset.start - margin) : upset.stop + margin] = True
    return out
