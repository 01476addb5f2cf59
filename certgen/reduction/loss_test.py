"""Losses of a test told apart step by step, each step refused with its reason where the readings lack."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from certgen.job.model import THREE_PHASE, Job
from certgen.physics.losses import residual_loss, slip_at, stray_load_loss, three_phase_winding_loss
from certgen.physics.mechanics import shaft_power
from certgen.readings.model import Readings
from certgen.reduction.electrical import electrical_input
from certgen.reduction.model import LoadPoints, Reduction
from certgen.reduction.no_load import NoLoadTest, separate_no_load
from certgen.reduction.segregation import (
    CoreLossRule,
    LossCurve,
    Segregated,
    coupled_correction,
    regression_rows,
    segregate,
)
from certgen.reduction.stray import StrayFit, fit_stray
from certgen.reduction.too_few import TooFewReadings
from certgen.reduction.winding import (
    WindingReadings,
    WindingState,
    hot_state,
    state_over_torque,
    winding_readings,
    winding_state,
)
from certgen.standards.loss_procedure import RATED_VOLTAGE, LossProcedure

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class WindingOfTest:
    """The stator winding, or the armature of a direct-current motor, over the load test."""

    torque: Array  # of each load point, N*m
    readings: WindingReadings
    state: WindingState  # at each load point
    basis: str  # in words, what it rests on

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
    if not np.isfinite(state.resistance).any():
        lacking = "readings.winding.cold" if winding.cold is None else "winding_temperature or winding_resistance"
        raise TooFewReadings(f"the winding resistance under load is not known: {lacking} was not read")
    if "winding_resistance" in table.columns:
        basis = "resistance read at each load"
    elif "winding_temperature" in table.columns and winding.cold is not None:
        basis = "cold resistance brought to the winding temperature read at each load"
    else:
        basis = "hot resistance after the test, taken for every load"
    return WindingOfTest(torque, winding, state, basis)


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
        return _parts(points, self.winding.along(points.torque).resistance, self)


def lacking(job: Job, readings: Readings, points: LoadPoints) -> list[str]:
    """What a three-phase test lacks to have its losses told apart, each as the end of a sentence.

    Parameters
    ----------
    job : Job
        Gear and rated power of the plate.
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
    if job.nameplate.gear is not None:
        found.append("the gear's loss cannot be told from the motor's")
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
    rated_voltage = job.nameplate.voltage or float(np.nanmean(points.voltage))
    if not math.isfinite(rated_voltage):
        raise TooFewReadings("the voltage was not read")
    light = int(np.nanargmin(np.where(np.isfinite(winding.state.resistance), np.abs(points.torque), np.nan)))
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
    bare = Separated(points, winding, no_load, basis, rule, _NOTHING, procedure)
    return replace(bare, parts=_parts(points, winding.state.resistance, bare))


_NOTHING = Segregated(*(np.empty(0) for _ in range(4)))


def _parts(points: LoadPoints, resistance: Array, separated: Separated) -> Segregated:
    return segregate(
        points,
        resistance=resistance,
        slip=points.slip,
        core=separated.core_rule.at(points, resistance),
        friction_windage=separated.no_load.friction_windage,
        exponent=separated.procedure.friction_exponent,
    )


def correction_of(separated: Separated, brake_current: Array, rated_power: float) -> float | None:
    """Torque to add for the brake's own friction.

    Parameters
    ----------
    separated : Separated
        Losses of n load points.
    brake_current : array, shape (n,)
        Direct current in the brake; a row with none is taken as the brake coupled and off. [A]
    rated_power : float
        Rated power, of which such a row may have a small part only. [W]

    Returns
    -------
    float or None
        By the row of least torque among them; ``None`` where there is no such row. [N*m]
    """
    points = separated.points
    most = separated.procedure.lightest_coupled_load * rated_power
    off = (brake_current == 0.0) & (points.speed > 0.0) & (points.shaft_power <= most)
    off &= np.isfinite(separated.parts.known) & np.isfinite(points.torque)
    if not off.any():
        return None
    row = int(np.flatnonzero(off)[np.argmin(points.torque[off])])
    return coupled_correction(points, separated.parts, row)


@dataclass(frozen=True, eq=False)
class Regression:
    """The residual losses and the line through them."""

    torque: Array  # with the brake's own friction, N*m
    residual: Array  # W
    fit: StrayFit
    rows: NDArray[np.intp]
    rated_torque: float  # N*m, straight between load points


def regress(separated: Separated, reduction: Reduction, *, rated_power: float, correction: float) -> Regression:
    """Residual loss over torque squared, by the rule of the procedure.

    Parameters
    ----------
    separated : Separated
        Losses of the load points.
    reduction : Reduction
        Its downward branch, where loads were taken both ways: the standards load from the highest down.
    rated_power : float
        Rated power. [W]
    correction : float
        Torque added to every point for the brake's own friction. [N*m]

    Returns
    -------
    Regression
        Residuals and their line. [SI]

    Raises
    ------
    TooFewReadings
        The load points are too few or lie wrongly for the procedure.
    """
    points, procedure = separated.points, separated.procedure
    torque = points.torque + correction
    output = np.asarray(shaft_power(torque, points.speed))
    residual = np.asarray(residual_loss(points.input_power, output, separated.parts.known))
    near = procedure.load_nearness
    load = output / rated_power
    rows = regression_rows(points, residual, load, (procedure.lowest_load - near, procedure.highest_load + near))
    if reduction.sweeps is not None:
        rows = np.intersect1d(rows, reduction.sweeps.downward)
    _check_loads(load[rows], procedure)
    fit = fit_stray(torque, residual, rows, least_correlation=procedure.least_correlation)
    if not math.isfinite(fit.line.correlation):
        raise TooFewReadings("the residual loss is the same at every load")
    order = rows[np.argsort(output[rows])]
    rated_torque = float(np.interp(rated_power, output[order], torque[order]))
    return Regression(torque, residual, fit, rows, rated_torque)


def _check_loads(load: Array, procedure: LossProcedure) -> None:
    above = int((load > 1.0 + procedure.load_nearness).sum())
    below = load.size - above
    if (
        load.size < procedure.least_points
        or below < procedure.least_points_to_rated
        or above < procedure.least_points_above_rated
    ):
        raise TooFewReadings(
            f"{load.size} usable load points from {procedure.lowest_load:.0%} to {procedure.highest_load:.0%} of rated "
            f"load, {above} of them above it; {procedure.title} takes {procedure.least_points}, "
            f"{procedure.least_points_above_rated} of them above"
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
    return LossCurve(curve.input_power, parts, np.asarray(stray_load_loss(slope, curve.torque + correction)))
