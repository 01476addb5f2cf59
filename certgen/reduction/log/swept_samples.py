"""Samples of a sweep that are not what the motor gave: faults of sensors, and the load lost for a moment."""

from __future__ import annotations

import numpy as np

from certgen.physics.domain import Array, Index, Mask
from certgen.physics.samples import successive_scatter
from certgen.readings.model import Table
from certgen.reduction.log.faulty_samples import bridged, mark_faulty_samples, unreadable
from certgen.reduction.log.model import Reason, Signals, marked

#: Samples whose median stands for the load on either side of an edge, and the longest time they may take. [s]
_BESIDE, _AT_ONCE = 3, 0.1
#: An edge is this part of the greatest load, so many standard deviations of a sample, and so many usual changes.
_LEAST_EDGE, _OF_SCATTER, _OF_CHANGES = 0.15, 8.0, 6.0
#: A load that was gone is back within this time [s], at this part of what it was before or at more than half of the fall.
_LONGEST, _BACK = 2.0, 0.5
#: More edges than this and nothing can be said of any one.
_MOST = 500


def swept_table(table: Table, signals: Signals, spans: tuple[float | None, ...]) -> tuple[Table, bool]:
    """The rows of a sweep with ``nan`` where a sample is a fault, and whether the load reached the end of the span.

    Parameters
    ----------
    table : Table
        The log, n rows. [SI]
    signals : Signals
        Its time, speed and load.
    spans : tuple of float or None
        Greatest value of each indication of the load, where the rig states it. [as the indication]

    Returns
    -------
    tuple of (Table, bool)
        Rows keep their times. Nothing is filled in: the low-pass leaves a gap where too little is left.

    References
    ----------
    Common practice, no source.
    """
    why = mark_faulty_samples(signals, spans)
    lost = _lost(signals, bridged(signals.load, unreadable(why)))
    bad = (why != 0) | lost
    if not bad.any():
        return table, False
    columns = {
        name: values if name == "time" else np.where(bad, np.nan, values) for name, values in table.columns.items()
    }
    return Table(columns, table.remarks), bool(marked(why, Reason.FULL_SPAN).any())


def _lost(signals: Signals, load: Array) -> Mask:
    """Samples from where the load falls at once to where it is back at once: shape (n,)."""
    out = np.zeros(load.size, dtype=bool)
    time = signals.time
    if load.size < 4 * _BESIDE:
        return out
    windows = np.lib.stride_tricks.sliding_window_view(np.abs(load), _BESIDE)
    level = np.median(windows, axis=1)
    rise = level[_BESIDE:] - level[:-_BESIDE]  # at sample i + _BESIDE: from then on, less before
    greatest = float(np.max(np.abs(load)))
    scatter = float(successive_scatter(load))
    least = max(_LEAST_EDGE * greatest, _OF_SCATTER * scatter, _OF_CHANGES * float(np.median(np.abs(rise))))
    close = time[2 * _BESIDE - 1 :] - time[: -2 * _BESIDE + 1] <= _AT_ONCE
    falls, rises = (_edges(sign * rise, least, close) for sign in (-1.0, 1.0))
    if not 0 < falls.size <= _MOST or not 0 < rises.size <= _MOST:
        return out
    for fall in falls.tolist():
        later = rises[(rises > fall) & (time[rises] <= time[fall] + _LONGEST)]
        depth = -float(rise[fall - _BESIDE])
        back = [edge for edge in later.tolist() if float(rise[edge - _BESIDE]) >= _BACK * depth]
        if back:
            out[max(0, fall - _BESIDE) : back[0] + _BESIDE] = True
    return out


def _edges(rise: Array, least: float, close: Mask) -> Index:
    """Samples at which a change is greatest among its neighbours, and great enough."""
    steep = (rise > least) & close
    if not steep.any():
        return np.empty(0, dtype=np.intp)
    padded = np.pad(rise, _BESIDE, constant_values=-np.inf)
    highest = np.lib.stride_tricks.sliding_window_view(padded, 2 * _BESIDE + 1).max(axis=1)
    return np.asarray(np.flatnonzero(steep & (rise >= highest)) + _BESIDE)
