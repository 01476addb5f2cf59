"""A log in short stretches of equal length: what is slow enough to be steadiness shows in their means."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.job.log import Steady
from certgen.physics.outliers import CONSISTENT
from certgen.reduction.log.model import Bands

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

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


def scatter_of_bins(means: Array) -> float:
    """Standard deviation of the scatter of bin means, which a ramp does not enter and steps hardly do. [as means]

    References
    ----------
    J. von Neumann, Ann. Math. Statist. 12 (1941) 367 (from memory), with second differences, whose variance is six
    times that of the scatter, and their median in place of the mean square.
    """
    second = np.diff(means, 2)
    return float(CONSISTENT * np.median(np.abs(second)) / np.sqrt(6.0)) if second.size else 0.0
