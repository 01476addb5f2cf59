"""Whether logs over time can be used: times that rise, and often enough for the low-pass of a sweep."""

from __future__ import annotations

import numpy as np

from certgen.document.build import Reader
from certgen.job.table import MOST_ROWS, TableSource
from certgen.physics.smoothing import longest_step
from certgen.readings.model import Table

#: Rows fewer than this tell no fall of speed.
_LEAST_ROWS = 2
#: Part of the steps between rows that may be too long; the sweep has gaps there and no points.
_LONG_STEPS = 0.1


def check_points(source: TableSource | None, table: Table, reader: Reader) -> None:
    """Keep it as a mistake that a long log is taken for single readings, each of which would be computed by itself."""
    if source is not None and source.steady is None and source.sweep is None and table.rows > MOST_ROWS:
        what = f"the file has {table.rows} rows, and each would be a reading of its own"
        instead = f"give at most {MOST_ROWS}, or write 'steady:' below a load test that is a log"
        reader.wrong_at(source.path, what, instead)


def check_log(source: TableSource, table: Table | None, reader: Reader) -> None:
    """Keep what is wrong with the times of a sweep or a run-down."""
    if table is None or "time" not in table.columns:
        return
    time, path = table.column("time"), f"{source.path}.columns.time"
    if not np.isfinite(time).all():
        row = int(np.flatnonzero(~np.isfinite(time))[0]) + 1
        reader.wrong_at(path, f"row {row} has no time", "give every row its time, or leave the row out")
    elif not (np.diff(time) > 0.0).all():
        row = int(np.flatnonzero(np.diff(time) <= 0.0)[0]) + 2
        what = f"the time of row {row} is not later than that of the row before"
        reader.wrong_at(path, what, "put the rows into the order of their times, each time once")
    elif table.rows < _LEAST_ROWS:
        reader.wrong_at(source.path, "one row tells no change of speed", "give at least two rows")
    elif source.sweep is not None and source.sweep.bandwidth is not None:  # else told already
        _check_rate(source, table, reader)


def _check_rate(source: TableSource, table: Table, reader: Reader) -> None:
    assert source.sweep is not None  # the caller has seen it
    bandwidth = source.sweep.bandwidth
    steps, longest = np.diff(table.column("time")), longest_step(bandwidth)
    if np.mean(steps > longest * (1.0 + 1e-9)) <= _LONG_STEPS:
        return
    usual = float(np.quantile(steps, 1.0 - _LONG_STEPS))
    what = f"{bandwidth:g} Hz needs a row every {longest:.2g} s, and the log has one every {usual:.2g} s"
    most = longest_step(1.0) / usual
    instead = f"write a bandwidth of {most:.2g} Hz or less, and sweep slowly enough for it"
    reader.wrong_at(f"{source.path}.sweep.bandwidth", what, instead)
