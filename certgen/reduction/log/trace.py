"""What is drawn of a log: a few hundred of its samples, and its faults."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.job.rig import Rig
from certgen.readings.model import Readings, Table
from certgen.reduction.log.bins import Bins, scatter_of_bins
from certgen.reduction.log.model import FAULTS, Reasons, Trace, marked
from certgen.reduction.torque import shaft_torque

Array = NDArray[np.float64]
Index = NDArray[np.intp]

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
    _, fault_speed, fault_torque = _drawn(readings, faults, rig, gravity)
    seen = np.isfinite(fault_speed) & np.isfinite(fault_torque)
    return Trace(time, speed, torque, fault_speed[seen], fault_torque[seen])


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
