"""Samples of a log that are not what was there: dropped out, clipped, frozen, a pulse too few or too many, outliers."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array, Index, Mask
from certgen.physics.samples import hampel, successive_scatter
from certgen.reduction.log.model import Reason, Reasons, Signals, runs_of, thinned

#: Samples that tell the scatter of a block, and most blocks that a log is cut into.
_BLOCK, _BLOCKS = 256, 1024
#: Neighbours either side of a sample that may be an outlier.
_HALF_WIDTH = 5
#: A step from sample to sample of so many standard deviations is worth a closer look.
_SUSPECT = 5.0
#: Parts of the greatest value below which nothing is called an outlier.
_TRIFLE = 5e-5
#: A speed read at a sample over that of its neighbours where a pulse was missed, or counted twice.
_HALVED, _DOUBLED = (0.45, 0.55), (1.8, 2.2)
#: A speed that changes by more than this from sample to sample may be so; load and speed are the same within the second.
_DROP, _SAME, _MOST_CHANGES = 0.65, 0.15, 2000
#: Parts of synchronous speed between which an induction motor runs under load, and the part of the greatest load below
#: which a load may change unseen.
_RUNS, _TRIFLING_LOAD = (0.7, 1.05), 0.03
#: A run of equal samples less likely than this in the whole log is no chance.
_UNLIKELY = 1e-6
_SHORTEST_RUN = 5
#: Steps of its display by which a channel must usually move before equal samples mean anything.
_LIVELY = 3.0
#: Parts of their usual value from which speed and load do not come to zero in one step.
_FAR_FROM_ZERO = (0.5, 0.1)
#: Part of the changes that turn back where they are scatter; of white noise it is two thirds.
_TO_AND_FRO = 0.25
#: Part of the greatest load below which a scale may well stand still.
_LIGHT = 0.02
#: A maximum shown so often, and so many times more often than the values just below it, is the end of the span.
_CLIPPED, _CLIPPED_TIMES = 10, 5
_ROUNDING = 1e-9
#: A load below this part of that of its neighbours, while the shaft ran faster, was lost.
_LOST = 0.6


def mark_faulty_samples(
    signals: Signals, spans: tuple[float | None, ...], over: Mask | None = None, synchronous: float | None = None
) -> Reasons:
    """The reason to leave out each sample that cannot be what was there.

    Parameters
    ----------
    signals : Signals
        Speed and load over time, n samples. [SI]
    spans : tuple of float or None
        Greatest value that each indication of the load can show, where the rig states it. [as the indication]
    over : array, shape (n,), optional
        Samples in which the instrument said that it was overloaded.
    synchronous : float or None
        Synchronous speed as the tachometer reads it, where it is known. [rad/s]

    Returns
    -------
    array, shape (n,)
        Numbers of ``Reason``, 0 for a sample that may be used.

    References
    ----------
    Outliers: L. Davies and U. Gather, J. Amer. Statist. Assoc. 88 (1993) 782 (Hampel identifier). What else is a fault
    is common practice, no source.
    """
    why = np.zeros(signals.count, dtype=np.int8)
    if not signals.count:
        return why
    _mark(why, _backwards(signals.time), Reason.BACKWARDS)
    if over is not None:
        _mark(why, over & np.isfinite(signals.speed), Reason.FULL_SPAN)
    _mark(why, ~np.isfinite(signals.speed) | ~np.isfinite(signals.load), Reason.DROPPED_OUT)
    for shown, span in zip(signals.indications, spans, strict=True):
        _mark(why, _at_full_span(shown, span), Reason.FULL_SPAN)
    _mark_zeros(why, signals)
    for values in (signals.speed, signals.load):
        _mark_frozen(why, values, is_load=values is signals.load)
    speed, load = bridged(signals.speed, why != 0), bridged(signals.load, unreadable(why))
    if _mark_wrong_pulses(why, speed, load, synchronous):
        speed = bridged(speed, why != 0)
    _mark_outliers(why, speed, load)
    return why


def unreadable(why: Reasons) -> Mask:
    """Samples whose load says nothing; one at the end of its span is at least near what was there. Shape (n,)."""
    return np.asarray((why != 0) & (why != int(Reason.FULL_SPAN)))


def bridged(values: Array, bad: Mask) -> Array:
    """Values with the bad ones replaced by a line between their good neighbours; all zero where none is good."""
    runs = runs_of(bad)
    if not runs.count:
        return values
    beside = np.concatenate((runs.starts - 1, runs.stops))
    beside = np.unique(beside[(beside >= 0) & (beside < values.size)])
    if not beside.size:
        return np.zeros_like(values)
    filled = values.copy()
    rows = np.flatnonzero(bad)
    filled[rows] = np.interp(rows, beside, values[beside])
    return filled


def _mark(why: Reasons, which: Mask, reason: Reason) -> None:
    """Give the samples a reason that have none yet."""
    if which.any():
        why[which & (why == 0)] = reason


def _backwards(time: Array) -> Mask:
    if (time[1:] >= time[:-1]).all():  # nor is any missing
        return np.zeros(time.size, dtype=bool)
    known = np.where(np.isnan(time), -np.inf, time)
    return np.asarray(~(time >= np.maximum.accumulate(known)))


def _at_full_span(shown: Array, span: float | None) -> Mask:
    clipped = np.zeros(shown.size, dtype=bool)
    if span is not None:
        clipped |= shown >= span * (1.0 - _ROUNDING)
    step, usual = _steps(shown)
    most = float(np.nanmax(shown, initial=-math.inf))
    if most > 0.0 and usual >= _LIVELY * step and _scatters(shown):
        at_most = shown == most
        count = int(np.count_nonzero(at_most))
        if count >= _CLIPPED:
            just_below = int(np.count_nonzero(shown >= most - 1.5 * step)) - count
            if count > _CLIPPED_TIMES * just_below:
                clipped |= at_most
    return clipped


def _steps(values: Array) -> tuple[float, float]:
    """Least and usual size of a change from sample to sample, of those that change at all."""
    changes = np.abs(np.diff(thinned(values)))
    changes = changes[changes > 0.0]
    return (float(changes.min()), float(np.median(changes))) if changes.size else (0.0, -1.0)


def _mark_zeros(why: Reasons, signals: Signals) -> None:
    """A channel at zero between two samples far from it, while the other channels go on as before."""
    speed, load = signals.speed, signals.load
    for values, other, least in ((speed, load, _FAR_FROM_ZERO[0]), (load, speed, _FAR_FROM_ZERO[1])):
        runs = runs_of((values == 0.0) & (why == 0))
        if not runs.count:
            continue
        usual = _usual_size(values, why)
        for start, stop in runs.pairs():
            if _is_dropped(values, other, (start, stop), least * usual) and not _takes_current(signals, start, stop):
                _mark_run(why, start, stop, Reason.DROPPED_OUT)


def _usual_size(values: Array, why: Reasons) -> float:
    """Median size of the samples that may be used and are not zero; 0 for none."""
    some = thinned(np.where(why == 0, values, 0.0))
    known = some[some != 0.0]
    return float(np.median(np.abs(known))) if known.size else 0.0


def _is_dropped(values: Array, other: Array, run: tuple[int, int], least: float) -> bool:
    """Whether a run of zeros begins and ends in one step, and the other channel does not move with it."""
    start, stop = run
    if start == 0 or stop == values.size:
        return False
    edges = abs(values[start - 1]), abs(values[stop])
    if min(edges) < least:
        return False
    before, within, after = other[start - 1], other[(start + stop) // 2], other[stop]
    apart = abs(within - before)
    return bool(apart <= max(0.25 * max(abs(before), abs(after)), 1.5 * abs(after - before)))


def _takes_current(signals: Signals, start: int, stop: int) -> bool:
    """Whether the motor took far more current than before: it stalled indeed."""
    current = signals.evidence.get("current")
    if current is None:
        return False
    return bool(current[(start + stop) // 2] > 1.5 * current[start - 1])


def _mark_run(why: Reasons, start: int, stop: int, reason: Reason) -> None:
    part = why[start:stop]
    part[part == 0] = reason


def _mark_frozen(why: Reasons, values: Array, *, is_load: bool) -> None:
    """Runs of equal samples of a channel that otherwise scatters."""
    same = values[1:] == values[:-1]
    if not np.count_nonzero(same):
        return
    step, usual = _steps(values)
    if usual < _LIVELY * step or not _scatters(values):
        return
    runs = runs_of(same)
    lengths = runs.stops - runs.starts + 1
    different = values.size - int((lengths - 1).sum())  # samples, and runs of equal ones
    repeated = (runs.count + 1.0) / (different + 2.0)
    if repeated > 0.5:
        return
    longest = 1.0 + math.log(_UNLIKELY / different) / math.log(repeated)
    greatest = float(np.nanmax(np.abs(values)))
    for run in np.flatnonzero(lengths >= max(longest, _SHORTEST_RUN)):
        start, stop = int(runs.starts[run]), int(runs.stops[run]) + 1
        if is_load and abs(values[start]) <= _LIGHT * greatest:
            continue
        if not is_load and values[start] == 0.0:
            continue
        at_most = is_load and values[start] == np.nanmax(values)
        _mark_run(why, start, stop, Reason.FULL_SPAN if at_most else Reason.DROPPED_OUT)


def _scatters(values: Array) -> bool:
    """Whether a channel goes to and fro from sample to sample; a change of load goes one way."""
    changes = np.diff(thinned(values))
    changes = np.sign(changes[(changes != 0.0) & np.isfinite(changes)])
    return changes.size > 1 and float(np.mean(changes[1:] != changes[:-1])) >= _TO_AND_FRO


def _mark_wrong_pulses(why: Reasons, speed: Array, load: Array, synchronous: float | None) -> bool:
    """Mark runs in which the speed is half or twice what it was at once, while the load stays; whether any.

    Of any length where the synchronous speed shows which of the two is right [rad/s], of up to half of the log otherwise.
    """
    change = np.flatnonzero((speed[1:] < _DROP * speed[:-1]) | (_DROP * speed[1:] > speed[:-1])) + 1
    change = change[np.minimum(speed[change], speed[change - 1]) > 0.0]
    if not 0 < change.size <= _MOST_CHANGES:
        return False
    trifle = _TRIFLING_LOAD * float(np.max(np.abs(load)))
    edges = [_Edge(int(at), *_beside(speed, int(at)), *_beside(load, int(at)), trifle) for at in change]
    marked, done = False, 0
    for place, edge in enumerate(edges):
        if edge.reason is None or edge.at <= done:
            continue
        runs = None if synchronous is None else (_runs(edge.was, synchronous), _runs(edge.then, synchronous))
        if runs == (False, True):
            _mark_run(why, _since(speed, done, edge), edge.at, edge.reason_before)
            marked, done = True, edge.at
            continue
        back = next((other for other in edges[place + 1 :] if edge.ends_at(other)), None)
        stop = speed.size if back is None else back.at
        if runs == (True, False):
            stop = _until(speed, stop, edge)
        # Most of a log is what it is; and a motor that starts passes half its speed as well.
        elif stop - edge.at > 0.5 * speed.size or (back is None and not _keeps(speed[edge.at :], edge.then)):
            continue
        _mark_run(why, edge.at, stop, edge.reason)
        marked, done = True, stop
    return marked


def _runs(speed: float, synchronous: float) -> bool:
    """Whether an induction motor runs at a speed under load."""
    return _RUNS[0] * synchronous <= speed <= _RUNS[1] * synchronous


def _until(speed: Array, stop: int, edge: _Edge) -> int:
    """The sample after the last about the level behind an edge, before another sample."""
    off = np.flatnonzero(np.abs(speed[edge.at : stop] - edge.then) > _SAME * edge.then)
    lasting = off[:-1][np.diff(off) == 1]  # two in a row
    return edge.at + int(lasting[0]) if lasting.size else stop


def _since(speed: Array, start: int, edge: _Edge) -> int:
    """The first of the samples about the level before an edge, after another sample."""
    off = np.flatnonzero(np.abs(speed[start : edge.at] - edge.was) > _SAME * edge.was)
    lasting = off[1:][np.diff(off) == 1]
    return start + int(lasting[-1]) + 1 if lasting.size else start


@dataclass(frozen=True)
class _Edge:
    """A sudden change of speed at a sample: speed and load before and from then on, and a load too light to tell."""

    at: int
    was: float
    then: float
    load_was: float
    load_then: float
    trifle: float

    @property
    def reason(self) -> Reason | None:
        """Whether pulses were missed or counted twice from here on; none where the load changed with the speed."""
        return None if self._load_changed else self._told_by(self.then, self.was)

    @property
    def reason_before(self) -> Reason:
        """The same of the samples before."""
        return self._told_by(self.was, self.then) or Reason.OUTLIER

    @property
    def _load_changed(self) -> bool:
        same = max(_SAME * max(abs(self.load_was), abs(self.load_then)), self.trifle)
        return abs(self.load_then - self.load_was) > same

    @staticmethod
    def _told_by(wrong: float, right: float) -> Reason | None:
        ratio = wrong / right if right > 0.0 else 0.0
        if _HALVED[0] < ratio < _HALVED[1]:
            return Reason.PULSE_MISSED
        return Reason.PULSE_DOUBLED if _DOUBLED[0] < ratio < _DOUBLED[1] else None

    def ends_at(self, other: _Edge) -> bool:
        """Whether the speed is there again at another edge."""
        return abs(other.then - self.was) <= _SAME * self.was and abs(other.was - self.then) <= _SAME * self.then


def _beside(values: Array, at: int) -> tuple[float, float]:
    """Median of the three samples before one, and of it with the next two."""
    return float(np.median(values[max(0, at - 3) : at])), float(np.median(values[at : at + 3]))


def _keeps(values: Array, level: float) -> bool:
    """Whether nearly all samples lie about a level."""
    return bool(np.mean(np.abs(values - level) <= _SAME * level) > 0.95)


def _mark_outliers(why: Reasons, speed: Array, load: Array) -> None:
    """Outliers among their neighbours; a speed halved or doubled by its cause."""
    (at_speed, beside), (at_load, load_beside) = _outliers(speed), _outliers(load)
    _mark_short_losses(why, (speed, at_speed, beside), (load, at_load, load_beside))
    if at_speed.size:
        ratio = np.divide(speed[at_speed], beside, out=np.ones_like(beside), where=beside != 0.0)
        reasons = reasons_by_ratio(ratio)
        why[at_speed] = np.where(why[at_speed] == 0, reasons, why[at_speed])
    if at_load.size:
        reasons = np.where(load[at_load] == 0.0, Reason.DROPPED_OUT, Reason.OUTLIER).astype(np.int8)
        why[at_load] = np.where(why[at_load] == 0, reasons, why[at_load])


def reasons_by_ratio(ratio: Array) -> Reasons:
    """Why speeds are off: by their ratio to what was there [1], shape (n,)."""
    reasons = np.full(ratio.size, Reason.OUTLIER, dtype=np.int8)
    reasons[(ratio > _HALVED[0]) & (ratio < _HALVED[1])] = Reason.PULSE_MISSED
    reasons[(ratio > _DOUBLED[0]) & (ratio < _DOUBLED[1])] = Reason.PULSE_DOUBLED
    reasons[ratio == 0.0] = Reason.DROPPED_OUT
    return reasons


def _mark_short_losses(why: Reasons, of_speed: tuple[Array, Index, Array], of_load: tuple[Array, Index, Array]) -> None:
    """Outliers of speed and load at once, the one up and the other down: the load was off for a moment."""
    (speed, at_speed, beside), (load, at_load, load_beside) = of_speed, of_load
    up = at_speed[speed[at_speed] > beside]
    down = at_load[np.abs(load[at_load]) < _LOST * np.abs(load_beside)]
    both = np.intersect1d(up, down)
    why[both] = np.where(why[both] == 0, Reason.LOAD_LOST, why[both])


def _outliers(values: Array) -> tuple[Index, Array]:
    """Index of the outliers of one channel, and the median of the neighbours of each."""
    nothing = np.empty(0, dtype=np.intp), np.empty(0)
    if values.size < 2 * _HALF_WIDTH + 1:
        return nothing
    scatter = _local_scatter(values)
    block = _block_length(values.size)
    steps = np.abs(np.diff(values))
    jumps = np.flatnonzero(steps > _SUSPECT * float(scatter.min()))
    jumps = jumps[steps[jumps] > _SUSPECT * scatter[(jumps + 1) // block]]
    if not jumps.size:
        return nothing
    near = np.unique((jumps[:, None] + np.arange(1 - _HALF_WIDTH, 1 + _HALF_WIDTH)).ravel())
    # With neighbours on one side only, the first samples of a change of load look like outliers.
    near = near[(near >= _HALF_WIDTH) & (near < values.size - _HALF_WIDTH)]
    if not near.size:
        return nothing
    outlying, beside = hampel(values, near, half_width=_HALF_WIDTH, least_scatter=scatter[near // block])
    return near[outlying], beside[outlying]


def _block_length(count: int) -> int:
    """Samples in a block of so many."""
    return max(_BLOCK, -(-count // _BLOCKS))


def _local_scatter(values: Array) -> Array:
    """Scatter from sample to sample in every block of samples; nowhere less than that of most blocks.

    Not less than one step of the display, either, nor than a trifle of the greatest value.
    """
    length = _block_length(values.size)
    whole = values.size // length
    blocks = [successive_scatter(values[: whole * length].reshape(whole, length)[:, :_BLOCK])] if whole else []
    rest = values[whole * length :][:_BLOCK]
    if rest.size > 2 * _HALF_WIDTH or not whole:
        blocks.append(successive_scatter(rest)[None])
    elif rest.size:
        blocks.append(blocks[0][-1:])
    scatter = np.concatenate(blocks)
    least = max(float(np.median(scatter)), _steps(values)[0], _TRIFLE * float(np.max(np.abs(values))))
    return np.asarray(np.maximum(scatter, least))
