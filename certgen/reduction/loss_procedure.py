"""Losses of a test separated step by step, each step refused with its reason where readings are missing."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.physics.curves import Line, straight_line
from certgen.physics.domain import Array, Index
from certgen.physics.losses import residual_loss, slip_at, stray_load_loss
from certgen.physics.mechanics import shaft_power
from certgen.readings.model import Readings
from certgen.reduction.electrical import electrical_input
from certgen.reduction.loss_segregation import (
    CoreLossRule,
    LossCurve,
    Segregated,
    coupled_correction,
    regression_rows,
    segregate,
)
from certgen.reduction.model import LoadPoints, Reduction, TooFewReadings
from certgen.reduction.no_load import NoLoadTest, separate_no_load
from certgen.reduction.winding import WindingOfTest, winding_state
from certgen.standards.procedures import RATED_VOLTAGE, LossProcedure


@dataclass(frozen=True, eq=False)
class Separated:
    """Every loss but stray load loss, at each load point and for the temperature of the test."""

    points: LoadPoints
    winding: WindingOfTest
    no_load: NoLoadTest
    no_load_basis: Message  # which winding temperature the no-load test was taken at
    core_rule: CoreLossRule
    parts: Segregated
    procedure: LossProcedure

    def of(self, points: LoadPoints) -> Segregated:
        """The same losses at other points of the same test, such as one read off the load curve."""
        return _as_tested(points, self.winding.along(points.torque).resistance, self.core_rule, self.procedure)


def missing_inputs(job: Job, readings: Readings, points: LoadPoints) -> tuple[Message, ...]:
    """What is missing from a three-phase test to have its losses separated, each as the end of a sentence.

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
    tuple of Message
        Empty where nothing is missing; the winding has its own check, :func:`winding_of_test`.
    """
    missing = []
    if readings.sweep is not None:
        missing.append(Message("losses.of_a_sweep"))
    if job.nameplate.power is None:
        missing.append(Message("losses.no_rated_power"))
    if not np.isfinite(points.slip).any():
        missing.append(Message("losses.no_slip"))
    if "no_load" not in readings.others:
        missing.append(Message("losses.no_no_load_test"))
    return tuple(missing)


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
        There is none; see :func:`missing_inputs`.
    """
    table = readings.others["no_load"]
    voltages = points.voltage[points.voltage > 0.0]
    if not voltages.size:
        raise TooFewReadings(Message("losses.no_voltage"))
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
    basis = Message("no_load.own_winding") if own else Message("no_load.lightest_winding", row=light + 1)
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


# Stray load loss by regression: residual loss of the load points over torque squared.


@dataclass(frozen=True)
class StrayFit:
    """The straight line of residual loss [W] over torque squared [(N*m)^2], and whether its rule accepts it."""

    line: Line
    rows: tuple[int, ...]  # indices of the load points it rests on
    removed: int | None  # index of the one load point left out
    accepted: bool
    second_correlation: float | None  # once the worst point is left out, where that was tried


def fit_stray(torque: Array, residual: Array, rows: Index, *, least_correlation: float) -> StrayFit:
    """Fit residual loss over torque squared under one rule of acceptance.

    Parameters
    ----------
    torque : array, shape (n,)
        Torque at the shaft, of every load point. [N*m]
    residual : array, shape (n,)
        Input less output less every loss found otherwise. [W]
    rows : array of int, shape (m,)
        Load points of the regression.
    least_correlation : float
        Least correlation accepted; as it is signed, a falling line never is. [1]

    Returns
    -------
    StrayFit
        Where the correlation is too low, the point furthest from the line is left out, once; the second line
        stands if it is accepted, otherwise the first, refused.

    Raises
    ------
    ValueError
        Fewer than three points, or all of one torque.

    References
    ----------
    IEEE Std 112, method B; IEC 60034-2-1:2014, method 2-1-1B; both from memory.
    """
    if rows.size < 3:
        raise ValueError(f"a regression needs three load points, got {rows.size}")
    first = _line(torque, residual, rows)
    all_rows = tuple(int(row) for row in rows)
    if first.correlation >= least_correlation:
        return StrayFit(first, all_rows, None, accepted=True, second_correlation=None)
    off = np.abs(residual[rows] - (first.intercept + first.slope * torque[rows] ** 2))
    worst = int(np.argmax(off))
    left = np.delete(rows, worst)
    second = _line(torque, residual, left)
    if second.correlation >= least_correlation:
        kept = tuple(int(row) for row in left)
        return StrayFit(second, kept, int(rows[worst]), accepted=True, second_correlation=second.correlation)
    return StrayFit(first, all_rows, None, accepted=False, second_correlation=second.correlation)


def _line(torque: Array, residual: Array, rows: Index) -> Line:
    return straight_line(torque[rows] ** 2, residual[rows])


# What the losses found one by one leave over at each load, and its regression on torque squared.


def brake_off_row(separated: Separated, brake_current: Array, rated_power: float) -> int | None:
    """The row of least torque with the brake coupled and off, whose load is at most a small part of rated power [W].

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
    int or None
        Its index; ``None`` where there is no such row.
    """
    points = separated.points
    most = separated.procedure.lightest_coupled_load * rated_power
    off = (brake_current == 0.0) & (points.speed > 0.0) & (points.shaft_power <= most)
    off &= np.isfinite(separated.parts.known + separated.no_load.core_loss(points.voltage) + points.torque)
    return int(np.flatnonzero(off)[np.argmin(points.torque[off])]) if off.any() else None


def correction_of(separated: Separated, brake_current: Array, rated_power: float) -> float | None:
    """Torque to add for the brake's own friction [N*m], by :func:`brake_off_row` with its parameters; else ``None``."""
    row = brake_off_row(separated, brake_current, rated_power)
    return None if row is None else coupled_correction(separated.points, separated.parts, row, separated.no_load)


@dataclass(frozen=True, eq=False)
class Regression:
    """The residual losses and the line through them."""

    torque: Array  # with the brake's own friction, N*m
    residual: Array  # W
    fit: StrayFit
    rows: Index
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
        raise TooFewReadings(Message("stray.same_residual"))
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
            Message(
                "stray.few_loads",
                count=load.size,
                lowest=procedure.lowest_load,
                highest=procedure.highest_load,
                above=above,
                procedure=procedure.title,
                least=procedure.least_points,
                least_above=procedure.least_points_above_rated,
            )
        )
