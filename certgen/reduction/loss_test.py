"""Losses of a test told apart step by step, each step refused with its reason where the readings lack."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.job.model import Job
from certgen.physics.losses import slip_at, stray_load_loss
from certgen.readings.model import Readings
from certgen.reduction.electrical import electrical_input
from certgen.reduction.model import LoadPoints
from certgen.reduction.no_load import NoLoadTest, separate_no_load
from certgen.reduction.segregation import CoreLossRule, LossCurve, Segregated, segregate
from certgen.reduction.too_few import TooFewReadings
from certgen.reduction.winding import winding_state
from certgen.reduction.winding_of_test import WindingOfTest
from certgen.standards.loss_procedure import RATED_VOLTAGE, LossProcedure

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Separated:
    """Every loss but stray load loss, at each load point and for the temperature of the test."""

    points: LoadPoints
    winding: WindingOfTest
    no_load: NoLoadTest
    no_load_basis: str  # in words, which winding temperature the no-load test was taken at
    core_rule: CoreLossRule
    parts: Segregated
    procedure: LossProcedure

    def of(self, points: LoadPoints) -> Segregated:
        """The same losses at other points of the same test, such as one read off the load curve."""
        return _as_tested(points, self.winding.along(points.torque).resistance, self.core_rule, self.procedure)


def lacking(job: Job, readings: Readings, points: LoadPoints) -> list[str]:
    """What a three-phase test lacks to have its losses told apart, each as the end of a sentence.

    Parameters
    ----------
    job : Job
        Rated power of the plate.
    readings : Readings
        The no-load test among them.
    points : LoadPoints
        Their slip.

    Returns
    -------
    list of str
        Empty where nothing is lacking; the winding has its own check, :func:`winding_of_test`.
    """
    found = []
    if readings.sweep is not None:
        found.append("the load points are a sweep's, not loads held one after the other")
    if job.nameplate.power is None:
        found.append("the plate gives no rated power")
    if not np.isfinite(points.slip).any():
        found.append("slip is not known")
    if "no_load" not in readings.others:
        found.append("no-load readings at several voltages (readings.no_load) are missing")
    return found


def separate(
    job: Job, readings: Readings, points: LoadPoints, *, winding: WindingOfTest, procedure: LossProcedure
) -> Separated:
    """Core loss, friction and windage from the no-load test, and with them the losses of each load point.

    Parameters
    ----------
    job : Job
        Rated voltage and gear; the mean voltage of the load test stands in for a plate without voltage. [SI]
    readings : Readings
        The no-load test among them. [SI]
    points : LoadPoints
        The tested points. [SI]
    winding : WindingOfTest
        The stator winding at those points; the no-load test has the state of the lightest of them where its own
        was not read, as it is made on the motor still warm.
    procedure : LossProcedure
        How the no-load test is read and at which voltage core loss is taken.

    Returns
    -------
    Separated
        Losses at the temperature of the test. [W]

    Raises
    ------
    TooFewReadings
        The no-load test is not usable.
    KeyError
        There is none; see :func:`lacking`.
    """
    table = readings.others["no_load"]
    voltages = points.voltage[points.voltage > 0.0]
    if not voltages.size:
        raise TooFewReadings("the voltage was not read")
    rated_voltage = job.nameplate.voltage or float(voltages.mean())
    light = winding.lightest
    otherwise = float(winding.state.resistance[light]), float(winding.state.temperature[light])
    no_load = separate_no_load(
        electrical_input(table, job.motor.type),
        winding_state(table, winding.readings, otherwise).resistance,
        rated_voltage=rated_voltage,
        low_voltage=procedure.low_voltage,
        voltage_nearness=procedure.voltage_nearness,
        least_low_voltages=procedure.least_low_voltages,
    )
    own = {"winding_temperature", "winding_resistance"} & table.columns.keys()
    basis = "its own readings" if own else f"the lightest load point's, row {light + 1}, as its own was not read"
    rule = CoreLossRule(no_load, rated_voltage if procedure.core_loss_at == RATED_VOLTAGE else None)
    parts = _as_tested(points, winding.state.resistance, rule, procedure)
    return Separated(points, winding, no_load, basis, rule, parts, procedure)


def _as_tested(points: LoadPoints, resistance: Array, rule: CoreLossRule, procedure: LossProcedure) -> Segregated:
    return segregate(
        points,
        resistance=resistance,
        slip=points.slip,
        core=rule.at(points, resistance),
        friction_windage=rule.no_load.friction_windage,
        exponent=procedure.friction_exponent,
    )


def loss_curve(
    separated: Separated, curve: LoadPoints, *, slope: float, correction: float, reference: float | None
) -> LossCurve:
    """Losses along the load curve at one temperature.

    Parameters
    ----------
    separated : Separated
        Losses of the load points.
    curve : LoadPoints
        The load curve. [SI]
    slope : float
        Stray load loss over torque squared. [W/(N*m)^2]
    correction : float
        Torque added for the brake's own friction. [N*m]
    reference : float or None
        Winding temperature the losses are wanted at; that of the test where it is left out. [K]

    Returns
    -------
    LossCurve
        Input power as tested, and its losses. [W]
    """
    state = separated.winding.along(curve.torque)
    core = separated.core_rule.at(curve, state.resistance)
    resistance, slip = state.resistance, curve.slip
    if reference is not None:
        resistance = separated.winding.readings.at(np.full(curve.count, reference))
        slip = np.asarray(slip_at(curve.slip, resistance / state.resistance))
    parts = segregate(
        curve,
        resistance=resistance,
        slip=slip,
        core=core,
        friction_windage=separated.no_load.friction_windage,
        exponent=separated.procedure.friction_exponent,
    )
    stray = np.asarray(stray_load_loss(slope, curve.torque + correction))
    return LossCurve(curve.input_power, parts, stray, curve.torque)
