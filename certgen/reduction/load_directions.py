"""Loads taken upwards and downwards in one test: which rows belong to which branch, and how far the branches differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from certgen.physics.curves import straight_line
from certgen.physics.domain import Array, Index, quotient
from certgen.reduction.load_curve import SAME_LOAD, Derive, LoadCurve, fit_load_curve, knots_of
from certgen.reduction.model import LoadPoints, Sweeps
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, derivatives, nominal, of_errors, single
from certgen.reduction.uncertainty.model import UncertainInput
from certgen.reduction.uncertainty.propagation import along_curve

#: Fewer rows than this, the turning point counted in both, make no branch.
LEAST_ROWS = 3
EFFICIENCY = "efficiency"


def find_sweeps(points: LoadPoints, scatter: Array | None = None, rows: Index | None = None) -> Sweeps | None:
    """The rows of the upward and of the downward branch of a load test, separated by the order they were read in.

    Parameters
    ----------
    points : LoadPoints
        The tested points in the order they were read. [SI]
    scatter : array, shape (n,), or None
        Standard uncertainty of each torque against those of other rows: a step back within it breaks no branch. [N*m]
    rows : array of int or None
        The rows meant; all where left out.

    Returns
    -------
    Sweeps or None
        Indices of rows, the turning point in both; ``None`` where torque does not turn exactly once, a branch has
        fewer than three different loads, or speed does not fall with torque on either (a test carried past breakdown
        turns too, but there speed falls on).
    """
    scatter = np.zeros(points.count) if scatter is None else scatter
    read = np.isfinite(points.torque) & np.isfinite(points.speed) & ~points.impossible
    usable = np.flatnonzero(read) if rows is None else rows[read[rows]]
    torque = points.torque[usable]
    for turn in (int(np.argmax(torque)), int(np.argmin(torque))) if torque.size else ():
        first, second = usable[: turn + 1], usable[turn:]
        branches = all(_is_branch(points, branch, scatter) for branch in (first, second))
        if branches and _turns(points.torque, first, second):
            rising = points.torque[first[-1]] > points.torque[first[0]]
            return Sweeps(first, second) if rising else Sweeps(second, first)
    return None


def _is_branch(points: LoadPoints, rows: Index, scatter: Array) -> bool:
    torque = points.torque[rows]
    if rows.size < LEAST_ROWS or len(knots_of(points.torque, scatter, rows)) < LEAST_ROWS:
        return False
    if not any(_goes_up(way * torque, scatter[rows]) for way in (1.0, -1.0)):
        return False
    return straight_line(torque, points.speed[rows]).slope < 0.0


def _goes_up(torque: Array, scatter: Array) -> bool:
    """Whether no torque is clearly below one read before it."""
    highest = np.maximum.accumulate(torque)
    at_highest = scatter[[int(np.argmax(torque[: row + 1])) for row in range(torque.size)]]
    return bool(np.all(highest - torque <= SAME_LOAD * np.hypot(scatter, at_highest)))


def _turns(torque: Array, first: Index, second: Index) -> bool:
    rises = (torque[first[-1]] - torque[first[0]], torque[second[-1]] - torque[second[0]])
    return bool(rises[0] * rises[1] < 0.0)


@dataclass(frozen=True)
class Gap:
    """Where two branches of a load test differ most in one quantity, and how far, with the errors of the difference."""

    torque: float  # N*m
    upward: float
    downward: float
    difference: Correlated  # downward less upward


def branch_curves(points: LoadPoints, sweeps: Sweeps, derive: Derive, scatter: Array) -> tuple[LoadCurve, ...]:
    """The load curve of the upward and that of the downward branch; empty where one has none.

    Parameters
    ----------
    points : LoadPoints
        The tested points. [SI]
    sweeps : Sweeps
        Their branches.
    derive, scatter
        As of :func:`certgen.reduction.load_curve.fit_load_curve`.
    """
    curves = [fit_load_curve(points, derive, rows=rows, scatter=scatter) for rows in (sweeps.upward, sweeps.downward)]
    found = tuple(one for one in curves if one is not None)
    return found if len(found) == len(curves) else ()


def widest_gap(curves: Sequence[LoadCurve], name: str, errors: Errors | None = None) -> Gap | None:
    """The greatest difference of a quantity between the branches at equal torque.

    Parameters
    ----------
    curves : sequence of LoadCurve
        Of the upward and of the downward branch.
    name : str
        Which quantity: an interpolated one, or 'efficiency'.
    errors : Errors or None
        Those of the test.

    Returns
    -------
    Gap or None
        At the tested torque, of either branch and within both, where the branches lie furthest apart; ``None`` where
        the quantity was not read on both. [SI]

    Notes
    -----
    Errors that both branches share take no part in the difference. A scale's hysteresis is shared within a branch and
    turned round between them.

    References
    ----------
    JCGM 100:2008, 5.2 (correlated errors of a difference).
    """
    if not curves:
        return None
    upward, downward = curves
    low, high = (choose(upward.torque[end], downward.torque[end]) for choose, end in ((max, 0), (min, -1)))
    both = np.union1d(upward.torque, downward.torque)
    common = both[(both >= low) & (both <= high)]
    if not common.size:
        return None
    up, down = (_along(curve, name, common) for curve in curves)
    apart = np.abs(up - down)
    if not np.isfinite(apart).any():
        return None
    widest = int(np.nanargmax(apart))
    at = common[widest : widest + 1]
    values = [None if errors is None else _with_errors(curve, name, at, errors) for curve in curves]
    difference = None if errors is None or None in values else _difference(values[0], values[1], errors)
    return Gap(float(at[0]), float(up[widest]), float(down[widest]), difference)


def _along(curve: LoadCurve, name: str, torque: Array) -> Array:
    if name == EFFICIENCY:
        taken = curve.value("input_power", torque)
        return np.asarray(quotient(curve.value("shaft_power", torque), taken, defined=taken > 0.0))
    return curve.value(name, torque)


def _with_errors(curve: LoadCurve, name: str, torque: Array, errors: Errors) -> Correlated:
    """A quantity at one torque with its errors; ``None`` where it was not read."""
    found = along_curve(curve, errors.points, errors.known).at(torque)
    if name != EFFICIENCY:
        return found[name][0] if name in found else None
    if "input_power" not in found:
        return None
    return single(lambda speed, taken: torque[0] * speed / taken, found["speed"][0], found["input_power"][0])


def _difference(upward: Correlated, downward: Correlated, errors: Errors) -> Correlated:
    up, down = derivatives(upward), derivatives(downward)
    slopes = {
        error: down.get(error, 0.0) + (up.get(error, 0.0) if _turns_round(errors.known[error]) else -up.get(error, 0.0))
        for error in (*down, *(one for one in up if one not in down))
    }
    return of_errors(nominal(downward) - nominal(upward), slopes.values(), slopes)


def _turns_round(one: UncertainInput) -> bool:
    return one.name.key == "input.hysteresis"
