"""Final rise and time constant of a run at one load, with the errors of its thermometers and the scatter of its fit."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from certgen.job.model import Job
from certgen.physics.thermal import Exponential, exponential_by_readings
from certgen.readings.model import Table
from certgen.reduction.heat import rises_of
from certgen.reduction.held_run import HeldRun
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, linear
from certgen.reduction.uncertainty.model import Measured
from certgen.reduction.uncertainty.winding_errors import room

Array = NDArray[np.float64]
_SCATTER = "scatter of temperatures about the heating curve"


def run_errors(errors: Errors, job: Job, run: HeldRun, fit: Exponential) -> dict[str, Correlated]:
    """The exponential of a run with its errors.

    Parameters
    ----------
    errors : Errors
        The tables. [SI]
    job : Job
        Its room temperature stands in where the cooling air was not read. [SI]
    run : HeldRun
        The run.
    fit : Exponential
        Its exponential.

    Returns
    -------
    dict
        'final_rise' [K], 'time_constant' [s] and 'remaining_rise' after the last reading [K]. An error
        all readings share moves them together; the scatter about the curve has n - 3 degrees of freedom.
        Times are taken as exact.

    References
    ----------
    JCGM 100:2008, 5.2, 4.2; the fit is differentiated where it stands (Gauss and Newton).
    """
    table = _rows_of(errors, run)

    def rises(measured: Measured) -> Mapping[str, Array]:
        return {"rise": rises_of(measured.readings.load_test, job.conditions.ambient).rise}

    read = errors.of_table(table, rises, at_once=False)["rise"]
    if not np.isfinite(table.column("ambient_temperature")).any() and run.ambient_known:
        read = [linear(value, [(1.0, one), (-1.0, room(errors))]) for value, one in zip(run.rise, read, strict=True)]
    _, by_final, by_constant = exponential_by_readings(run.time, fit)
    freedom = run.time.size - 3
    final = linear(fit.final, zip(by_final, read, strict=True))
    final = errors.scattered(final, _SCATTER, fit.u_final, freedom)
    constant = linear(fit.time_constant, zip(by_constant, read, strict=True))
    left = linear(fit.final - float(run.rise[-1]), [(1.0, final), (-1.0, read[-1])])
    return {
        "final_rise": final,
        "time_constant": errors.scattered(constant, _SCATTER, fit.u_time_constant, freedom),
        "remaining_rise": left,
    }


def _rows_of(errors: Errors, run: HeldRun) -> Table:
    """The rows of a table that a run is made of."""
    table = errors.tables[run.table]
    rows = np.flatnonzero(np.isin(table.column("time"), run.time))
    columns = {name: values[rows] for name, values in table.columns.items()}
    return Table(columns, tuple(table.remarks[row] for row in rows.tolist()))
