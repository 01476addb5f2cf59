"""The winding over a load test: resistance and temperature of each load point, and what they rest on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.job.model import THREE_PHASE, Job
from certgen.physics.losses import three_phase_winding_loss
from certgen.readings.model import Readings
from certgen.reduction.model import LoadPoints
from certgen.reduction.too_few import TooFewReadings
from certgen.reduction.winding import (
    WindingReadings,
    WindingState,
    hot_state,
    state_over_torque,
    winding_readings,
    winding_state,
)

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class WindingOfTest:
    """The stator winding, or the armature of a direct-current motor, over the load test."""

    torque: Array  # of each load point, N*m
    readings: WindingReadings
    state: WindingState  # at each load point
    basis: str  # in words, what it rests on

    @property
    def lightest(self) -> int:
        """Row of the lightest load at which the winding is known."""
        known = np.flatnonzero(np.isfinite(self.state.resistance) & np.isfinite(self.torque))
        return int(known[np.argmin(np.abs(self.torque[known]))])

    def along(self, torque: Array) -> WindingState:
        """The winding at other torques of the same test [N*m]."""
        return state_over_torque(self.torque, self.state, torque)

    def stator_loss(self, point: LoadPoints) -> Array:
        """Loss of a three-phase winding at a point read off the load curve [W]."""
        return np.asarray(three_phase_winding_loss(point.current, self.along(point.torque).resistance))


def winding_of_test(
    job: Job, readings: Readings, torque: Array, *, hot: float | None, constant: float
) -> WindingOfTest:
    """Resistance and temperature of the winding at each load point.

    Parameters
    ----------
    job : Job
        Kind of motor and resistance cold and hot. [SI]
    readings : Readings
        The load test, of n rows. [SI]
    torque : array, shape (n,)
        Torque of its rows. [N*m]
    hot : float or None
        Resistance of the warm winding at the instant of switching off. [ohm]
    constant : float
        Temperature below 0 degC at which the linear law gives no resistance, as a positive number. [degC]

    Returns
    -------
    WindingOfTest
        The winding, with what its resistance rests on. [SI]

    Raises
    ------
    TooFewReadings
        Nothing tells the resistance under load.
    """
    table = readings.load_test
    three_phase = job.motor.type == THREE_PHASE
    winding = winding_readings(job.readings.winding, hot, constant=constant, three_phase=three_phase)
    state = winding_state(table, winding, hot_state(winding))
    if not (np.isfinite(state.resistance) & np.isfinite(torque)).any():
        lacking = "readings.winding.cold" if winding.cold is None else "winding_temperature or winding_resistance"
        raise TooFewReadings(f"the winding resistance under load is not known: {lacking} was not read")
    if "winding_resistance" in table.columns:
        basis = "resistance read at each load"
    elif "winding_temperature" in table.columns and winding.cold is not None:
        basis = "cold resistance brought to the winding temperature read at each load"
    else:
        basis = "hot resistance after the test, taken for every load"
    return WindingOfTest(torque, winding, state, basis)
