"""What is not sure of speed and supply frequency."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from certgen.document.build import Toleranced
from certgen.job.model import INDUCTION, Job
from certgen.reduction.speed import supply_frequency
from certgen.reduction.uncertainty.limits import toleranced, unstated, within
from certgen.reduction.uncertainty.model import Measured, Shift, UncertainInput
from certgen.reduction.uncertainty.shifts import shift_columns, shift_rows, with_column

Array = NDArray[np.float64]


def speed_inputs(measured: Measured) -> Iterator[UncertainInput]:
    """The tachometer: one pulse more or less in its counting time, and its stated limit of error."""
    tachometer = measured.rig.tachometer
    speed = measured.readings.load_test.column("speed")
    pulses, gate = tachometer.pulses_per_revolution, tachometer.gate
    if not np.isfinite(speed).any():
        return
    if pulses is not None and gate is not None:
        limit = pulse_limit(pulses, gate)
        yield within("tachometer, one pulse", "rad/s", limit, shift_rows("speed", _where_it_turns), shared=False)
    if tachometer.tolerance is not None:
        shift = shift_columns(("speed",), _where_it_turns)
        yield within("tachometer, limit of error", "rad/s", tachometer.tolerance, shift, shared=True)
    elif pulses is None or gate is None:
        part = "gate" if pulses is not None else "tolerance, or pulses_per_revolution and gate"
        shift = shift_columns(("speed",), _where_it_turns)
        greatest = float(np.nanmax(speed))
        yield unstated("tachometer", "rad/s", shift, size=greatest, lacking=f"tachometer.{part} in the rig file")


def pulse_limit(pulses_per_revolution: int, gate: float) -> float:
    """Speed of one pulse in the counting time.

    Parameters
    ----------
    pulses_per_revolution : int
        Pulses p of one turn.
    gate : float
        Counting time t. [s]

    Returns
    -------
    float
        2 pi / (p t): gate and pulses are not in step, so a count may be one off. [rad/s]

    References
    ----------
    Common practice, no source: the error of plus or minus one count of a counter with a gate.
    """
    return 2.0 * math.pi / (pulses_per_revolution * gate)


def _where_it_turns(speed: Array, error: float | Array) -> Array:
    """A shaft at standstill gives no pulses, and is seen to stand."""
    return np.where(speed > 0.0, speed + error, speed)


def frequency_inputs(job: Job, measured: Measured) -> Iterator[UncertainInput]:
    """A supply frequency that was not measured, where slip rests on it; a measured one is its meter's matter."""
    column = measured.readings.load_test.column("frequency")
    used, basis = supply_frequency(job, column)
    if job.motor.type not in INDUCTION or not basis or np.isfinite(column).any():
        return
    stated = Toleranced(float(used[0]))
    if job.conditions.supply_frequency is not None:
        stated = job.conditions.spreads.get("supply_frequency", stated)
    lacking = "conditions.supply_frequency.tolerance in the job file, or a column frequency in the readings"
    yield toleranced("supply frequency", "Hz", stated, _shift_frequency(used), lacking=lacking)


def _shift_frequency(used: Array) -> Shift:
    def shift(measured: Measured, error: float | Array) -> Measured:
        if not np.any(error):
            return measured
        rows = measured.readings.load_test.rows
        return with_column(measured, "frequency", np.full(rows, used[0]) + error)

    return shift
