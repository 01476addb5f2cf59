"""What the losses found one by one leave over at each load, and its regression on torque squared."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.physics.losses import residual_loss
from certgen.physics.mechanics import shaft_power
from certgen.reduction.loss_test import Separated
from certgen.reduction.model import Reduction
from certgen.reduction.segregation import coupled_correction, regression_rows
from certgen.reduction.stray import StrayFit, fit_stray
from certgen.reduction.too_few import TooFewReadings
from certgen.standards.loss_procedure import LossProcedure

Array = NDArray[np.float64]


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
