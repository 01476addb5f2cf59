"""Losses of a direct-current motor as far as its no-load test tells them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.job.model import Job
from certgen.physics.losses import constant_loss, residual_loss, winding_loss
from certgen.readings.model import Readings
from certgen.reduction.electrical import electrical_input
from certgen.reduction.model import LoadPoints
from certgen.reduction.too_few import TooFewReadings
from certgen.reduction.winding import winding_state
from certgen.reduction.winding_of_test import WindingOfTest

Array = NDArray[np.float64]


@dataclass(frozen=True)
class DirectCurrentLosses:
    """At one load: armature, then core with friction and windage, then what is left. [W]"""

    armature: float
    constant: float
    rest: float


def direct_current_losses(
    job: Job, readings: Readings, point: LoadPoints, *, winding: WindingOfTest, voltage_nearness: float
) -> DirectCurrentLosses:
    """Armature loss under load and constant loss of the no-load test.

    Parameters
    ----------
    job : Job
        Rated voltage. [SI]
    readings : Readings
        The no-load test among them: voltage and current, or input power. [SI]
    point : LoadPoints
        The load, one row. [SI]
    winding : WindingOfTest
        Resistance between the terminals over the load test.
    voltage_nearness : float
        Part of rated voltage by which the no-load test may miss it. [1]

    Returns
    -------
    DirectCurrentLosses
        Constant loss at rated voltage and no-load speed; what is left holds the brush contact and stray loss, and
        the change of the constant loss with speed. [W]

    Raises
    ------
    TooFewReadings
        No no-load test, or none at rated voltage.

    Notes
    -----
    All current is taken as the armature's. A shunt field's current stands in both tests; its loss is in the
    constant loss.

    References
    ----------
    U. A. Bakshi and M. V. Bakshi, DC Machines and Synchronous Machines, chapter 3, example 3.14, page 36.
    """
    table = readings.others.get("no_load")
    if table is None:
        raise TooFewReadings("a no-load reading (readings.no_load) is missing")
    electrical = electrical_input(table, job.motor.type)
    light = winding.lightest
    otherwise = float(winding.state.resistance[light]), float(winding.state.temperature[light])
    resistance = winding_state(table, winding.readings, otherwise).resistance
    loss = np.asarray(constant_loss(electrical.active, winding_loss(electrical.current, resistance)))
    constant = _at_voltage(electrical.voltage, loss, job.nameplate.voltage or float(point.voltage[0]), voltage_nearness)
    armature = float(np.asarray(winding_loss(point.current, winding.along(point.torque).resistance))[0])
    rest = residual_loss(float(point.input_power[0]), float(point.shaft_power[0]), armature, constant)
    return DirectCurrentLosses(armature, constant, float(rest))


def _at_voltage(voltage: Array, loss: Array, wanted: float, nearness: float) -> float:
    known = np.isfinite(voltage) & np.isfinite(loss)
    order = np.argsort(voltage[known], kind="stable")
    volts, watts = voltage[known][order], loss[known][order]
    if not volts.size or not volts[0] * (1.0 - nearness) <= wanted <= volts[-1] * (1.0 + nearness):
        raise TooFewReadings(f"readings.no_load has no reading of volts and amperes at {wanted:.4g} V")
    return float(np.interp(wanted, volts, watts))
