"""A load test logged continuously, reduced to the rows that a bench would have written down."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from certgen.job.log import Steady
from certgen.job.model import Job
from certgen.job.rig import ROPE, TORQUE_SENSOR, Rig
from certgen.readings.model import Readings, Table
from certgen.reduction.log.bins import OF_HOLD, Bins, bands_of, calm_bins, usual_interval
from certgen.reduction.log.events import lost_loads, mark_lost_loads, mark_standing
from certgen.reduction.log.faulty_samples import bridged, mark_faulty_samples
from certgen.reduction.log.left_out import listed
from certgen.reduction.log.means import Stretch, mark_strays, plateau_of, table_of
from certgen.reduction.log.model import Bands, Plateau, Reason, Reasons, ReducedLog, Signals, marked
from certgen.reduction.log.runs import runs_of
from certgen.reduction.log.steady import is_steady, steady_stretches
from certgen.reduction.log.trace import trace_of

Array = NDArray[np.float64]

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
    log = _cleaned(readings, rig, source.steady)
    stretches = _pinned(log) if log.bands.at else _searched(log)
    return _put_together(readings, rig, job.conditions.local_gravity, log, stretches)


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


def _cleaned(readings: Readings, rig: Rig, steady: Steady) -> _Log:
    signals = _signals(readings.load_test, rig)
    why = mark_faulty_samples(signals, _spans(rig))
    bad = why != 0
    time = bridged(signals.time, ~np.isfinite(signals.time) | marked(why, Reason.BACKWARDS))
    speed, load = bridged(signals.speed, bad), bridged(signals.load, bad)
    interval = usual_interval(time)
    bands = bands_of(steady, interval)
    return _Log(signals, why, time, speed, load, interval, bands, calm_bins(time, speed, load, bands))


def _signals(table: Table, rig: Rig) -> Signals:
    names = {TORQUE_SENSOR: ("torque",), ROPE: ("scale", "scale_2")}.get(rig.absorber.kind, ("scale",))
    shown = tuple(table.column(name) for name in names)
    evidence = {
        what: table.columns[name] for what, names in _EVIDENCE.items() for name in names if name in table.columns
    }
    load = shown[0] if len(shown) == 1 else shown[0] - shown[1]
    return Signals(table.column("time"), table.column("speed"), load, shown, evidence)


def _spans(rig: Rig) -> tuple[float | None, ...]:
    """Greatest indication of each column of the load."""
    if rig.absorber.kind == TORQUE_SENSOR:
        meter = rig.meters.torque if rig.meters is not None else None
        return (None if meter is None else meter.full_scale,)
    span = None if rig.limits.scale is None else rig.limits.scale.value
    return (span, span) if rig.absorber.kind == ROPE else (span,)


def _pinned(log: _Log) -> list[Stretch]:
    """The stretches the job names, in order."""
    found = []
    for start, end in sorted(log.bands.at or ()):
        first, last = int(np.searchsorted(log.time, start)), int(np.searchsorted(log.time, end, side="right"))
        if last > first:
            inside = int(np.searchsorted(log.bins.first, first)), int(np.searchsorted(log.bins.first, last))
            steady = inside[1] > inside[0] and is_steady(log.bins, log.bands, inside)
            found.append(Stretch(first, last, pinned=True, steady=steady))
    return found


def _searched(log: _Log) -> list[Stretch]:
    """Steady stretches, with stalls and lost loads marked."""
    why, bins = log.why, log.bins
    mark_standing(why, log.signals, log.speed, log.load)
    lost = lost_loads(why, (log.speed, log.load), log.bands, log.interval)
    standing = np.logical_or.reduceat(marked(why, Reason.STALLED, Reason.STANDSTILL), bins.first)
    usable = ~standing & ~_blind(log)
    found = [(int(bins.first[start]), bins.stop(stop - 1)) for start, stop in steady_stretches(bins, log.bands, usable)]
    mark_lost_loads(why, lost, found, log.signals)
    return [Stretch(start, stop) for start, stop in found]


def _blind(log: _Log) -> NDArray[np.bool_]:
    """Bins without one good sample that belong to a stretch of them too long to be bridged."""
    bins = log.bins
    empty = ~np.logical_or.reduceat(log.why == 0, bins.first)
    blind = np.zeros(bins.count, dtype=bool)
    for start, stop in runs_of(empty).pairs():
        if bins.time[stop - 1] - bins.time[start] + bins.width > OF_HOLD * log.bands.hold:
            blind[start:stop] = True
    return blind


def _put_together(
    readings: Readings, rig: Rig, gravity: float | None, log: _Log, stretches: list[Stretch]
) -> ReducedLog:
    why, time, table = log.why, log.time, readings.load_test
    inside = np.zeros(why.size, dtype=bool)
    plateaus: list[Plateau] = []
    kept: list[Stretch] = []
    for found in stretches:
        stretch = mark_strays(why, table, found)
        plateau = plateau_of(why, table, time, stretch)
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
        seconds_used=sum(plateau.end - plateau.start for plateau in plateaus),
        plateaus=tuple(plateaus),
        left_out=listed(why, time, log.bands.hold),
        trace=trace_of(readings, why, log.bins, rig, gravity),
    )
