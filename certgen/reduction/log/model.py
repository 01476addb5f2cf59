"""What a log is taken apart into: reasons to leave samples out, plateaus, and stretches left out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from certgen.messages.catalogue import Message
from certgen.physics.domain import Array, Index, Mask
from certgen.readings.model import Readings

if TYPE_CHECKING:
    from certgen.physics.samples import SampleMean

#: Columns that steadiness is judged by.
STEADIED = frozenset({"speed", "scale", "scale_2", "torque"})
#: For each sample the reason it is left out, as the number of a ``Reason``.
Reasons = NDArray[np.int8]


class Reason(IntEnum):
    """Why a sample is left out of the result; ``USED`` where it is not."""

    USED = 0
    BACKWARDS = 1
    DROPPED_OUT = 2
    FULL_SPAN = 3
    PULSE_MISSED = 4
    PULSE_DOUBLED = 5
    OUTLIER = 6
    LOAD_LOST = 7
    STALLED = 8
    STANDSTILL = 9
    UNSTEADY = 10
    NOT_CHOSEN = 11

    @property
    def message(self) -> Message:
        """What happened, in a few words."""
        return Message(f"left_out.{self.name.lower()}")


#: The reasons that are a fault of a single sample, whatever the stretch it lies in.
OF_SAMPLES = (
    Reason.BACKWARDS, Reason.DROPPED_OUT, Reason.FULL_SPAN, Reason.PULSE_MISSED, Reason.PULSE_DOUBLED, Reason.OUTLIER,
)  # fmt: skip
#: The reasons that are faults at all; the others are how any test goes.
FAULTS = (*OF_SAMPLES, Reason.LOAD_LOST, Reason.STALLED)


def marked(why: Reasons, *reasons: Reason) -> Mask:
    """Which samples have one of some reasons; as plain numbers, which an array is compared with far faster.

    Parameters
    ----------
    why : array, shape (n,)
        Numbers of reasons.
    reasons : Reason
        One at least.
    """
    return np.asarray(np.logical_or.reduce([why == int(reason) for reason in reasons]))


@dataclass(frozen=True, eq=False)
class Signals:
    """What steadiness is judged by, each shape (n,): time [s], speed [rad/s], and the load as it was shown.

    ``indications`` are the columns the load is made of: one scale, two balances, or a torque sensor. ``evidence`` are
    columns that tell a stall or a lost load from a lost signal, where they were read. [SI]
    """

    time: Array
    speed: Array
    load: Array
    indications: tuple[Array, ...]
    evidence: Mapping[str, Array]

    @property
    def count(self) -> int:
        """How many samples."""
        return self.time.size


@dataclass(frozen=True)
class Bands:
    """How steady is steady: hold [s], and parts of the mean either way [1]; ``at`` pins stretches. [s]"""

    hold: float
    speed: float
    torque: float
    at: tuple[tuple[float, float], ...] | None = None


@dataclass(frozen=True)
class Upset:
    """A load that fell off by itself: its first sample and the one after its last, and the load before and within.

    ``cause`` names the likely one: ``coupling``, ``brake`` (its current ran out), ``coupling_or_brake``, or ``sensor``
    where the speed did not move. Loads as shown.
    """

    start: int
    stop: int
    held: float
    left: float
    came_back: bool
    cause: str


@dataclass(frozen=True)
class LostLoad:
    """An upset as it is reported: from when to when [s], the part of the load [1] that was left, and its likely cause.

    Where the load did not come back it stayed so to the end of the log, ``to_the_end``, or until another was set.
    """

    start: float
    end: float
    part_left: float
    came_back: bool
    cause: str
    to_the_end: bool = False


@dataclass(frozen=True)
class Plateau:
    """One steady stretch of a log that became a load point.

    ``start`` and ``end`` [s] are those of its first and last sample; ``means`` maps a column to the mean of the ``used``
    ones among its ``samples``. ``steady`` is false for a pinned stretch in which speed or load kept no band.
    ``at_full_scale`` names columns without a mean, since their meter stood at full scale.
    """

    start: float
    end: float
    samples: int
    used: int
    means: Mapping[str, SampleMean]
    pinned: bool = False
    steady: bool = True
    at_full_scale: tuple[str, ...] = ()


def by_column(plateau: Plateau) -> Mapping[str, SampleMean]:
    """The means of a plateau without that of time."""
    return {name: mean for name, mean in plateau.means.items() if name != "time"}


@dataclass(frozen=True)
class LeftOut:
    """Samples left out for one reason, from the first to the last of them. [s]"""

    reason: Reason
    count: int
    start: float
    end: float


@dataclass(frozen=True, eq=False)
class Trace:
    """What is drawn of a log, thinned: time [s], speed [rad/s] and torque at the shaft [N*m], and the faults."""

    time: Array
    speed: Array
    torque: Array
    fault_time: Array
    fault_speed: Array
    fault_torque: Array


@dataclass(frozen=True, eq=False)
class ReducedLog:
    """A log as load points.

    ``readings`` are those of the job with one row a plateau in place of the log; ``reasons`` has the number of a
    ``Reason`` for each sample. ``reached_span`` says that a load was held beyond what scale or sensor can show.
    """

    readings: Readings
    bands: Bands
    samples: int
    used: int
    seconds: float
    seconds_used: float
    plateaus: tuple[Plateau, ...]
    left_out: tuple[LeftOut, ...]
    trace: Trace
    reasons: Reasons
    lost_loads: tuple[LostLoad, ...] = ()
    reached_span: bool = False


# Runs of neighbouring samples, and a few samples that stand for many.


#: Samples looked at where a typical value is all that is wanted, in stretches of so many neighbours.
_ENOUGH, _STRETCH = 8192, 64


@dataclass(frozen=True, eq=False)
class Runs:
    """Runs of true samples: index of the first of each, and of the one after its last."""

    starts: Index
    stops: Index

    @property
    def count(self) -> int:
        """How many runs."""
        return self.starts.size

    def pairs(self) -> Iterator[tuple[int, int]]:
        """Each run as (start, stop)."""
        return zip(self.starts.tolist(), self.stops.tolist(), strict=True)


def runs_of(mask: Mask) -> Runs:
    """The runs of true values of a mask of shape (n,)."""
    if not mask.size:
        return Runs(np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp))
    turns = np.flatnonzero(mask[1:] != mask[:-1]) + 1
    edges = np.concatenate(([0] if mask[0] else [], turns, [mask.size] if mask[-1] else [])).astype(np.intp)
    return Runs(edges[::2], edges[1::2])


def thinned(values: Array, enough: int = _ENOUGH) -> Array:
    """All of a few values, else stretches of neighbours spread evenly over them, about as many as are enough."""
    if values.size <= enough:
        return values
    starts = np.linspace(0, values.size - _STRETCH, enough // _STRETCH).astype(np.intp)
    return np.asarray(values[starts[:, None] + np.arange(_STRETCH)].ravel())


# Samples left out, as a list a person can read: one entry for each reason and stretch.


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
    left_out: list[LeftOut] = []
    for reason in Reason:
        which = marked(why, reason)
        if reason != Reason.USED and which.any():
            left_out += _of_reason(reason, which, time, hold)
    return tuple(sorted(left_out, key=lambda entry: (entry.start, entry.reason)))


def _of_reason(reason: Reason, which: Mask, time: Array, hold: float) -> list[LeftOut]:
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
