"""Where speed and load of a log hold still."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from certgen.job.table import Steady
from certgen.physics.domain import Array, Index, Mask
from certgen.physics.samples import CONSISTENT
from certgen.reduction.log.model import Bands, runs_of

# A log in short stretches of equal length: what is slow enough to be steadiness shows in their means.


#: Bins that one hold is cut into, where the log is dense enough: fewer, the more it scatters.
_IN_A_HOLD = (20, 10, 5, 4)
#: Scatter of the bins that the bands must hold.
_CALM = 3.0
#: Intervals that tell the usual one.
_MANY = 10_000
#: Samples that may be missing in a row before a stretch counts as interrupted; or this part of the hold.
_MISSING, OF_HOLD = 3.5, 0.5
#: Hold where none is stated: so long, or so many samples. Common practice, no source.
_HOLD, _SAMPLES = 5.0, 10.0
#: Bands where none are stated. Common practice, no source.
_SPEED_BAND, _TORQUE_BAND = 0.005, 0.02


@dataclass(frozen=True, eq=False)
class Bins:
    """Means of m short stretches: index of the first sample of each, its time [s], speed [rad/s] and load.

    ``width`` is their length [s]; ``broken`` is true for a bin that a gap in the log parts from the one before.
    """

    first: Index
    time: Array
    speed: Array
    load: Array
    broken: Mask
    width: float
    samples: int

    @property
    def count(self) -> int:
        """How many bins."""
        return self.first.size

    def stop(self, last: int) -> int:
        """The sample after the last one of a bin."""
        return int(self.first[last + 1]) if last + 1 < self.count else self.samples


def usual_interval(time: Array) -> float:
    """Median time from sample to sample [s]; 0 where all stand at one time."""
    every = max(1, time.size // _MANY)
    steps = time[1::every] - time[:-1:every]
    steps = steps[steps > 0.0]
    return float(np.median(steps)) if steps.size else 0.0


def bands_of(stated: Steady, interval: float) -> Bands:
    """The bands as stated, and the usual ones for what is left out; ``interval`` is that of the samples [s]."""
    return Bands(
        stated.hold or max(_HOLD, _SAMPLES * interval),
        stated.speed_band or _SPEED_BAND,
        stated.torque_band or _TORQUE_BAND,
        stated.at,
    )


def calm_bins(time: Array, speed: Array, load: Array, bands: Bands) -> Bins:
    """Bins of a twentieth of the hold, or as much longer as it takes their means to scatter less than the bands.

    Parameters
    ----------
    time, speed, load : array, shape (n,)
        The log, time not falling, nothing missing. [s], [rad/s], [as shown]
    bands : Bands
        Hold [s] and bands. [1]

    Returns
    -------
    Bins
        A quarter of the hold at most, however much the log scatters.
    """
    for parts in _IN_A_HOLD:
        bins = bins_of(time, speed, load, (bands.hold, parts))
        level = float(np.max(np.abs(bins.load)))
        calm = _CALM * scatter_of_bins(bins.load) <= bands.torque * level
        if calm and _CALM * scatter_of_bins(bins.speed) <= bands.speed * float(np.max(np.abs(bins.speed))):
            break
    return bins


def bins_of(time: Array, speed: Array, load: Array, size: tuple[float, int]) -> Bins:
    """Means of speed and load in bins of a part of the hold, or of a sample where samples lie further apart.

    Parameters
    ----------
    time, speed, load : array, shape (n,)
        The log, time not falling, nothing missing. [s], [rad/s], [as shown]
    size : tuple of (float, int)
        How long a steady stretch must hold [s], and the number of bins in it.
    """
    interval, (hold, parts) = usual_interval(time), size
    width = max(hold / parts, interval)
    number = time - time[0]
    number /= width
    number += 1e-6
    np.floor(number, out=number)
    first = np.concatenate(([0], np.flatnonzero(number[1:] != number[:-1]) + 1))
    counts = np.diff(np.append(first, time.size))
    starts = time[first]
    last = time[np.append(first[1:], time.size) - 1]
    broken = np.concatenate(([True], starts[1:] - last[:-1] > max(_MISSING * interval, OF_HOLD * hold)))
    return Bins(
        first,
        starts,
        np.add.reduceat(speed, first) / counts,
        np.add.reduceat(load, first) / counts,
        broken,
        width,
        time.size,
    )


def merged(bins: Bins, width: float) -> Bins:
    """The same log in bins of a greater width [s], each of several whole ones."""
    number = np.floor((bins.time - bins.time[0]) / width + 1e-6)
    start = np.concatenate(([0], np.flatnonzero(number[1:] != number[:-1]) + 1))
    counts = np.diff(np.append(bins.first, bins.samples))
    samples = np.add.reduceat(counts, start)
    speed, load = (np.add.reduceat(means * counts, start) / samples for means in (bins.speed, bins.load))
    return Bins(bins.first[start], bins.time[start], speed, load, bins.broken[start], width, bins.samples)


def scatter_of_bins(means: Array) -> float:
    """Standard deviation of the scatter of bin means, which a ramp does not enter and steps hardly do. [as means]

    References
    ----------
    J. von Neumann, Ann. Math. Statist. 12 (1941) 367 (from memory), with second differences, whose variance is six
    times that of the scatter, and their median in place of the mean square.
    """
    second = np.diff(means, 2)
    return float(CONSISTENT * np.median(np.abs(second)) / np.sqrt(6.0)) if second.size else 0.0


# Where speed and load of a log hold still.


Stretch = tuple[int, int]

#: Part of the hold that the moving window covers: the bins at its ends are cut by the change of load.
_WINDOW = 0.9
_LEAST_WINDOW = 3
#: The load's band is a part of its mean, or of this part of the greatest load where the mean is less.
LEAST_LEVEL = 0.2
#: Part of a band by which the second half of a window may differ from the first: more is a ramp.
_DRIFT = 1.0 / 3.0
#: What scatter adds to the bands, in standard deviations of a bin: to the range of a window, to one bin.
_RANGE_OF_SCATTER, _ONE_BIN = 7.0, 4.0
_HALVES_APART = 5.0
#: Part of the hold that must be left without the ends.
_LEFT = 0.6
#: Bins taken off an end at most, while each differs from so many next ones by so many standard deviations.
_MOST_TRIMMED, _NEXT, _END_BIN = 4, 4, 3.0


def steady_stretches(bins: Bins, bands: Bands, usable: Mask) -> list[Stretch]:
    """Stretches in which speed and load stay within their bands for the hold, in order.

    Parameters
    ----------
    bins : Bins
        The log in m bins.
    bands : Bands
        Hold [s] and bands. [1]
    usable : array, shape (m,)
        Bins that may belong to a plateau.

    Returns
    -------
    list of (int, int)
        First bin and bin after the last. Every bin of a stretch lies within the band about the stretch's median, and
        in any hold the halves differ by less than a third of the band; scatter is allowed for in both.

    References
    ----------
    Common practice, no source.
    """
    channels = _channels(bins, bands)
    window = max(_LEAST_WINDOW, math.ceil(_WINDOW * bands.hold / bins.width - 1e-9))
    calm = np.ones(bins.count, dtype=bool) & usable
    if bins.count < window:
        return []
    steady = _whole_windows(calm, bins.broken, window)
    for means, band, scatter in channels:
        steady &= _still(means, band, scatter, window)
    covered = _covered(steady, window)
    # Two stretches that touch at a gap are two.
    stretches: list[Stretch] = []
    for start, stop in runs_of(covered).pairs():
        for first, last in _parted(bins.broken, start, stop):
            stretches += _within_bands(bins, channels, (first, last), bands.hold)
    trimmed = sorted(_trimmed(bins, channels, stretch) for stretch in stretches)
    return [stretch for stretch in trimmed if _length(bins, *stretch) >= _LEFT * bands.hold]


def is_steady(bins: Bins, bands: Bands, stretch: Stretch) -> bool:
    """Whether every bin of a stretch lies within the bands about the stretch's median."""
    start, stop = stretch
    return all(
        bool(np.all(_near_median(means[start:stop], band[start:stop], scatter)))
        for means, band, scatter in _channels(bins, bands)
    )


def _channels(bins: Bins, bands: Bands) -> tuple[tuple[Array, Array, float], ...]:
    """Speed and load with the band of each bin, either way, and their scatter."""
    greatest = float(np.max(np.abs(bins.load), initial=0.0))
    load_band = bands.torque * np.maximum(np.abs(bins.load), LEAST_LEVEL * greatest)
    return (
        (bins.speed, bands.speed * np.abs(bins.speed), scatter_of_bins(bins.speed)),
        (bins.load, load_band, scatter_of_bins(bins.load)),
    )


def _whole_windows(usable: Mask, broken: Mask, window: int) -> Mask:
    """Windows without a bin that is not usable, and without a gap inside; by their first bin."""
    bad = np.concatenate(([0], np.cumsum(~usable)))
    gaps = np.concatenate(([0], np.cumsum(broken)))
    starts = np.arange(usable.size - window + 1)
    return np.asarray((bad[starts + window] == bad[starts]) & (gaps[starts + window] == gaps[starts + 1]))


def _still(means: Array, band: Array, scatter: float, window: int) -> Mask:
    """Windows within the band, whose second half does not differ from the first; by their first bin."""
    lowest, highest = _extremes(means, window)
    here = band[: lowest.size]
    within = highest - lowest <= 2.0 * here + _RANGE_OF_SCATTER * scatter
    total = np.concatenate(([0.0], np.cumsum(means)))
    half = window // 2
    starts = np.arange(lowest.size)
    first = total[starts + half] - total[starts]
    second = total[starts + window] - total[starts + window - half]
    allowed = _DRIFT * here + _HALVES_APART * scatter * math.sqrt(2.0 / half)
    return np.asarray(within & (np.abs(second - first) / half <= allowed))


def _extremes(values: Array, window: int) -> tuple[Array, Array]:
    """Lowest and highest of every window, by doubling what is looked over."""
    lowest, highest, done = values, values, 1
    while done < window:
        step = min(done, window - done)
        lowest = np.minimum(lowest[:-step], lowest[step:])
        highest = np.maximum(highest[:-step], highest[step:])
        done += step
    return lowest, highest


def _covered(steady: Mask, window: int) -> Mask:
    """The bins that some steady window covers."""
    change = np.zeros(steady.size + window, dtype=np.int64)
    change[: steady.size] += steady
    change[window:] -= steady
    return np.asarray(np.cumsum(change)[: steady.size + window - 1] > 0)


def _parted(broken: Mask, start: int, stop: int) -> list[Stretch]:
    cuts = (np.flatnonzero(broken[start + 1 : stop]) + start + 1).tolist()
    edges = [start, *cuts, stop]
    return list(itertools.pairwise(edges))


def _near_median(means: Array, band: Array, scatter: float) -> Mask:
    middle = np.median(means)
    return np.asarray(np.abs(means - middle) <= np.median(band) + _ONE_BIN * scatter)


def _within_bands(
    bins: Bins, channels: tuple[tuple[Array, Array, float], ...], stretch: Stretch, hold: float
) -> list[Stretch]:
    """The longest run within the bands about the median of a stretch, and so on with what lies before and after it."""
    stretches: list[Stretch] = []
    waiting = [stretch]
    while waiting:
        start, stop = waiting.pop()
        if _length(bins, start, stop) < _WINDOW * hold - 1e-9:
            continue
        inside = np.ones(stop - start, dtype=bool)
        for means, band, scatter in channels:
            inside &= _near_median(means[start:stop], band[start:stop], scatter)
        runs = runs_of(_without_holes(inside))
        if not runs.count:
            middle = (start + stop) // 2
            waiting += [(start, middle), (middle, stop)]
            continue
        longest = int(np.argmax(runs.stops - runs.starts))
        first, last = start + int(runs.starts[longest]), start + int(runs.stops[longest])
        if (first, last) == (start, stop):
            stretches.append((first, last))
        else:  # the median of what is left is another
            waiting += [(start, first), (first, last), (last, stop)]
    return stretches


def _without_holes(inside: Mask) -> Mask:
    """The same with single bins outside taken in: among very many, some scatter further than expected of any one."""
    closed = inside.copy()
    closed[1:-1] |= inside[:-2] & inside[2:]
    return closed


def _length(bins: Bins, start: int, stop: int) -> float:
    """From the beginning of the first bin to the end of the last. [s]"""
    return float(bins.time[stop - 1] - bins.time[start]) + bins.width if stop > start else 0.0


def _trimmed(bins: Bins, channels: tuple[tuple[Array, Array, float], ...], stretch: Stretch) -> Stretch:
    """A stretch without the bins at its ends in which the load was still changing, or may have been."""
    start, stop = stretch
    for _ in range(_MOST_TRIMMED):
        if stop - start <= 2 * _NEXT or not _leans(channels, start, slice(start + 1, start + 1 + _NEXT)):
            break
        start += 1
    for _ in range(_MOST_TRIMMED):
        if stop - start <= 2 * _NEXT or not _leans(channels, stop - 1, slice(stop - 1 - _NEXT, stop - 1)):
            break
        stop -= 1
    if stop - start > 2 * _LEAST_WINDOW:  # the bin next to a change of load may hold a part of it
        return (start if start == 0 else start + 1), (stop if stop == bins.count else stop - 1)
    return start, stop


def _leans(channels: tuple[tuple[Array, Array, float], ...], end: int, inner: slice) -> bool:
    """Whether a bin at an end differs from the next ones inwards by more than scatter."""
    return any(abs(float(means[end] - means[inner].mean())) > _END_BIN * scatter for means, _, scatter in channels)
