"""A load test logged continuously, reduced to the rows that a bench would have written down."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.job.table import Steady
from certgen.physics.domain import Array, Index, Mask
from certgen.readings.model import Readings, Table
from certgen.reduction.log.events import lost_loads, mark_lost_loads, mark_standing, mark_upsets
from certgen.reduction.log.faulty_samples import bridged, mark_faulty_samples, unreadable
from certgen.reduction.log.means import Stretch, mark_strays, plateau_of, table_of
from certgen.reduction.log.model import (
    FAULTS,
    Bands,
    LostLoad,
    Plateau,
    Reason,
    Reasons,
    ReducedLog,
    Signals,
    Trace,
    Upset,
    listed,
    marked,
    runs_of,
)
from certgen.reduction.log.spans import load_columns, meters_at_full_scale, spans_of, without_overloads
from certgen.reduction.log.spikes import mark_spikes
from certgen.reduction.log.steady import (
    OF_HOLD,
    Bins,
    bands_of,
    bins_of,
    calm_bins,
    is_steady,
    merged,
    scatter_of_bins,
    steady_stretches,
    usual_interval,
)
from certgen.reduction.log.upsets import Loaded, apart, taken_out, upsets_of
from certgen.reduction.speed import find_poles, shaft_speeds, shaft_synchronous_speed, supply_frequency
from certgen.reduction.torque import shaft_torque

# What is drawn of a log: a few hundred of its samples, and its faults.


#: Samples drawn of a log, and faults.
_DRAWN, _FAULTS_DRAWN = 400, 60


def trace_of(readings: Readings, why: Reasons, bins: Bins, rig: Rig, gravity: float | None) -> Trace:
    """A log thinned for drawing: more samples where speed and load change, some where they do not.

    Parameters
    ----------
    readings : Readings
        The log and its zero readings. [SI]
    why : array, shape (n,)
        Reasons to leave samples out.
    bins : Bins
        The log in bins.
    rig : Rig
        The bench, which makes torque of load.
    gravity : float or None
        Gravity at the bench. [m/s^2]

    Returns
    -------
    Trace
        The same samples for the same log, the first and the last among them. [SI]
    """
    drawn = _good_ones(bins.first[_spread(bins)], why)
    faults = np.flatnonzero(marked(why, *FAULTS))
    if faults.size > _FAULTS_DRAWN:
        faults = faults[np.linspace(0, faults.size - 1, _FAULTS_DRAWN).astype(np.intp)]
    time, speed, torque = _drawn(readings, drawn, rig, gravity)
    fault_time, fault_speed, fault_torque = _drawn(readings, faults, rig, gravity)
    seen = np.isfinite(fault_speed) & np.isfinite(fault_torque)
    return Trace(time, speed, torque, fault_time[seen], fault_speed[seen], fault_torque[seen])


def _spread(bins: Bins) -> Index:
    """Bins evenly spread along the path of speed and load, scatter not counted, and over time."""
    if bins.count <= _DRAWN:
        return np.arange(bins.count)
    path = np.full(bins.count - 1, 1.0 / bins.count)
    for means in (bins.speed, bins.load):
        span = float(np.ptp(means))
        if span > 0.0:
            path += np.maximum(np.abs(np.diff(means)) - 4.0 * scatter_of_bins(means), 0.0) / span
    along = np.concatenate(([0.0], np.cumsum(path)))
    return np.unique(np.searchsorted(along, np.linspace(0.0, along[-1], _DRAWN)).clip(0, bins.count - 1))


def _good_ones(rows: Index, why: Reasons) -> Index:
    """Those of the samples that are no faults."""
    return rows[~marked(why[rows], *FAULTS)]


def _drawn(readings: Readings, rows: Index, rig: Rig, gravity: float | None) -> tuple[Array, Array, Array]:
    """Time, speed as read, and torque at the shaft of some samples."""
    table = readings.load_test
    if not rows.size:
        return np.empty(0), np.empty(0), np.empty(0)
    few = Table({name: values[rows] for name, values in table.columns.items()}, ("",) * rows.size)
    taken = Readings(few, readings.zero, readings.zero_2)
    ratio = rig.drive.ratio if rig.drive.kind == "belt" and rig.drive.ratio and rig.tachometer.on == "absorber" else 1.0
    return few.column("time"), few.column("speed") * ratio, shaft_torque(taken, rig, gravity).at_shaft


# A load test logged continuously, reduced to the rows that a bench would have written down.


#: Part of a pinned stretch without its load at which it is refused.
_MOST_UPSET = 0.5
#: Part of a stretch's samples at the end of the span above which the mean of the others is too low: left out whole.
_MOST_AT_SPAN = 0.02
#: Bins that a hold is cut into to look for upsets, whatever the scatter: the shortest, the longest.
_SHORTEST, _LONGEST = 20, 5
#: Columns that tell a stall or a lost load from a lost signal.
_EVIDENCE = {"current": ("current", "current_a"), "brake_current": ("brake_current",)}


def reduced_log(job: Job, rig: Rig, readings: Readings) -> ReducedLog | None:
    """The load test as one row a plateau, where the job says that it is a log.

    Parameters
    ----------
    job : Job
        Says how steady a plateau is, or pins them. [SI]
    rig : Rig
        What shows the load, and how much it can show.
    readings : Readings
        The log of n samples as the load test. [SI]

    Returns
    -------
    ReducedLog or None
        Plateaus, and everything left out with its reason; ``None`` where each row is a load point as it stands.
    """
    source = job.readings.load_test if job.readings is not None else None
    if source is None or source.steady is None:
        return None
    if not readings.load_test.rows:
        return None
    load_test, over = without_overloads(readings.load_test, rig)
    readings = replace(readings, load_test=load_test)
    log = _cleaned(readings, rig, source.steady, over, _synchronous_speed_read(job, rig, load_test))
    upsets, out, steady = _without_upsets(log, source.meant)
    stretches = _pinned(log) if log.bands.at else _searched(log, out, steady)
    found = _put_together(readings, rig, job.conditions.local_gravity, log, stretches)
    return replace(found, lost_loads=_reported(log, upsets))


@dataclass(frozen=True, eq=False)
class _Log:
    """A log with the reasons to leave samples out so far, which are added to; faulty samples are bridged."""

    signals: Signals
    why: Reasons
    time: Array
    speed: Array
    load: Array
    interval: float
    bands: Bands
    bins: Bins


def _synchronous_speed_read(job: Job, rig: Rig, table: Table) -> float | None:
    """Synchronous speed as the tachometer reads it, by plate and supply; ``None`` where they do not tell. [rad/s]"""
    measured = table.columns.get("frequency", np.empty(0))
    usual = float(np.nanmedian(measured)) if np.isfinite(measured).any() else math.nan
    frequency, _ = supply_frequency(job, np.array([usual]))
    at_shaft = shaft_synchronous_speed(find_poles(job, math.nan, float(frequency[0])), frequency, job)
    of_shaft, _ = shaft_speeds(np.ones(1), rig)
    speed = float(at_shaft[0] / of_shaft[0])
    return speed if math.isfinite(speed) and speed > 0.0 else None


def _cleaned(readings: Readings, rig: Rig, steady: Steady, over: Mask | None, synchronous: float | None) -> _Log:
    signals = signals_of(readings.load_test, rig)
    why = mark_faulty_samples(signals, spans_of(rig), over, synchronous)
    time = bridged(signals.time, ~np.isfinite(signals.time) | marked(why, Reason.BACKWARDS))
    speed, load = bridged(signals.speed, why != 0), bridged(signals.load, unreadable(why))
    interval = usual_interval(time)
    bands = bands_of(steady, interval)
    if mark_spikes(why, time, speed, load, interval=interval, hold=bands.hold):
        speed, load = bridged(signals.speed, why != 0), bridged(signals.load, unreadable(why))
    return _Log(signals, why, time, speed, load, interval, bands, calm_bins(time, speed, load, bands))


def signals_of(table: Table, rig: Rig) -> Signals:
    """Time, speed and load of a log as its columns show them. [SI]"""
    shown = tuple(table.column(name) for name in load_columns(rig))
    evidence = {
        what: table.columns[name] for what, names in _EVIDENCE.items() for name in names if name in table.columns
    }
    load = shown[0] if len(shown) == 1 else shown[0] - shown[1]
    return Signals(table.column("time"), table.column("speed"), load, shown, evidence)


def _pinned(log: _Log) -> list[Stretch]:
    """The stretches the job names, in order; none where the load was lost or the motor stalled for most of it."""
    stretches = []
    for start, end in sorted(log.bands.at or ()):
        first, last = int(np.searchsorted(log.time, start)), int(np.searchsorted(log.time, end, side="right"))
        if last <= first or np.mean(marked(log.why[first:last], Reason.LOAD_LOST, Reason.STALLED)) > _MOST_UPSET:
            continue
        inside = int(np.searchsorted(log.bins.first, first)), int(np.searchsorted(log.bins.first, last))
        steady = inside[1] > inside[0] and is_steady(log.bins, log.bands, inside)
        stretches.append(Stretch(first, last, pinned=True, steady=steady))
    return stretches


def _searched(log: _Log, out: Mask, steady: Sequence[tuple[int, int]]) -> list[Stretch]:
    """Steady stretches, those found already where nothing is left out; the parts of a load before and after it was lost
    are one."""
    if not out.any():
        return [Stretch(*stretch) for stretch in _in_samples(log.bins, steady)]
    rows = np.flatnonzero(~out)
    if not rows.size:
        return []
    steps = np.diff(log.time, prepend=log.time[0])
    joined = np.cumsum(np.where(out, 0.0, steps))[rows]  # a clock that stood while the load was off
    speed, load = log.speed[rows], log.load[rows]
    kept = replace(log, why=log.why[rows], time=joined, speed=speed, load=load)
    kept = replace(kept, bins=calm_bins(joined, speed, load, log.bands))
    return [Stretch(int(rows[start]), int(rows[stop - 1]) + 1) for start, stop in _in_samples(kept.bins, _steady(kept))]


def _steady(log: _Log) -> list[tuple[int, int]]:
    """Steady stretches in bins, none where the shaft stands."""
    standing = np.logical_or.reduceat(marked(log.why, Reason.STALLED, Reason.STANDSTILL), log.bins.first)
    return steady_stretches(log.bins, log.bands, ~standing & ~_blind(log))


def _in_samples(bins: Bins, stretches: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    return [(int(bins.first[start]), bins.stop(stop - 1)) for start, stop in stretches]


def _without_upsets(log: _Log, meant: Sequence[tuple[float, float]]) -> tuple[list[Upset], Mask, list[tuple[int, int]]]:
    """Mark stalls and lost loads; the upsets, the samples that no load point may hold, steady stretches with them."""
    why, signals = log.why, log.signals
    mark_standing(why, signals, log.speed, log.load)
    stretches = _steady(log)
    current = signals.evidence.get("brake_current")
    loaded = Loaded(log.time, log.speed, log.load, log.interval, log.bins, log.bands, current, meant)
    upsets = [upset for upset in _found_in_any_bins(loaded, stretches) if not _stopped(log, upset)]
    mark_upsets(why, upsets)
    short = lost_loads(why, (log.speed, log.load), log.bands, log.interval)
    short = [event for event in short if not loaded.was_meant(event.start, event.stop) and why[event.start] == 0]
    upsets += mark_lost_loads(why, short, _in_samples(log.bins, stretches), signals, log.load)
    upsets.sort(key=lambda upset: upset.start)
    out = taken_out(loaded, upsets)
    why[out & (why == 0)] = Reason.UNSTEADY
    return upsets, out, stretches


def _found_in_any_bins(loaded: Loaded, stretches: Sequence[tuple[int, int]]) -> list[Upset]:
    """Upsets seen in the log's bins, and by shorter and longer ones.

    A load held for a moment before it fell shows in short bins alone, a small fall among much scatter in long ones.
    """
    upsets = upsets_of(loaded, stretches)
    samples = _in_samples(loaded.bins, stretches)
    hold, shortest = loaded.bands.hold, loaded.bins
    if shortest.width > hold / _SHORTEST * (1.0 + 1e-9):
        shortest = bins_of(loaded.time, loaded.speed, loaded.load, (hold, _SHORTEST))
    for bins in (shortest, merged(shortest, max(hold / _LONGEST, shortest.width))):
        if bins.count != loaded.bins.count:
            first = bins.first
            at = [(int(np.searchsorted(first, start)), int(np.searchsorted(first, stop))) for start, stop in samples]
            upsets += upsets_of(replace(loaded, bins=bins), at)
    return apart(upsets)


def _stopped(log: _Log, upset: Upset) -> bool:
    """Whether the load went because the shaft came to stand, as it does when a motor is switched off."""
    soon = int(np.searchsorted(log.time, log.time[upset.start] + log.bands.hold, side="right"))
    return bool(marked(log.why[upset.start : min(soon, upset.stop)], Reason.STALLED, Reason.STANDSTILL).any())


def _reported(log: _Log, upsets: Sequence[Upset]) -> tuple[LostLoad, ...]:
    return tuple(
        LostLoad(
            float(log.time[upset.start]),
            float(log.time[upset.stop - 1]),
            max(0.0, upset.left / upset.held),
            upset.came_back,
            upset.cause,
            to_the_end=upset.stop >= log.time.size,
        )
        for upset in upsets
    )


def _blind(log: _Log) -> Mask:
    """Bins without one good sample that belong to a stretch of them too long to be bridged."""
    bins = log.bins
    empty = ~np.logical_or.reduceat(log.why == 0, bins.first)
    blind = np.zeros(bins.count, dtype=bool)
    for start, stop in runs_of(empty).pairs():
        if bins.time[stop - 1] - bins.time[start] + bins.width > OF_HOLD * log.bands.hold:
            blind[start:stop] = True
    return blind


def _held_for(why: Reasons, time: Array, stretch: Stretch) -> float:
    """From the first to the last sample used of a stretch, without the time the load was lost. [s]"""
    part, when = why[stretch.start : stretch.stop], time[stretch.start : stretch.stop]
    used = np.flatnonzero(part == 0)
    lost = runs_of(marked(part, Reason.LOAD_LOST))
    away = sum(float(when[min(stop, when.size - 1)] - when[start]) for start, stop in lost.pairs())
    return float(when[used[-1]] - when[used[0]]) - away


def _put_together(
    readings: Readings, rig: Rig, gravity: float | None, log: _Log, stretches: list[Stretch]
) -> ReducedLog:
    why, time, table = log.why, log.time, readings.load_test
    inside = np.zeros(why.size, dtype=bool)
    plateaus: list[Plateau] = []
    kept: list[Stretch] = []
    at_end = meters_at_full_scale(table.columns, rig)
    for whole in stretches:
        part = why[whole.start : whole.stop]
        if np.mean(marked(part, Reason.FULL_SPAN)) > _MOST_AT_SPAN:
            part[part == 0] = Reason.FULL_SPAN
            continue
        stretch = mark_strays(why, table, whole)
        ended = {name for name, at in at_end.items() if np.mean(at[stretch.start : stretch.stop]) > _MOST_AT_SPAN}
        plateau = plateau_of(why, table, time, stretch, without=ended)
        if plateau is not None:
            inside[stretch.start : stretch.stop] = True
            plateaus.append(plateau)
            kept.append(stretch)
    why[~inside & (why == 0)] = Reason.NOT_CHOSEN if log.bands.at else Reason.UNSTEADY
    return ReducedLog(
        readings=replace(readings, load_test=table_of(plateaus, table, kept)),
        bands=log.bands,
        samples=why.size,
        used=int(np.count_nonzero(why == 0)),
        seconds=float(time[-1] - time[0]),
        seconds_used=sum(_held_for(why, time, stretch) for stretch in kept),
        plateaus=tuple(plateaus),
        left_out=listed(why, time, log.bands.hold),
        trace=trace_of(readings, why, log.bins, rig, gravity),
        reasons=why,
        reached_span=float(np.count_nonzero(marked(why, Reason.FULL_SPAN))) * log.interval > OF_HOLD * log.bands.hold,
    )
