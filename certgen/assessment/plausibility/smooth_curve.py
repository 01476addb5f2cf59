"""Smooth curves through load points, one set for each row that is left out, and how far a row lies from them.

The curves of all relations are fitted together (generalised least squares with prior knowledge of the bends): torque
and voltage noise are shared by several relations, and only their joint covariance distinguishes a shared error from several
unlikely ones. Method: linear Bayesian regression with errors in both variables by the effective variance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from certgen.assessment.plausibility.learned_bends import Bend
from certgen.physics.domain import Array, Mask

#: The span reaches down at least to this part of the highest load, so that bends mean the same in every test.
LOW_END = 0.35
#: A left-out row widens the span no further than this over the other rows: a load typed tenfold gets no leverage.
WIDEST = 1.7
_ROUNDS = 3
_GRID = 37


@dataclass(frozen=True)
class Curves:
    """The curves with each of K rows left out, for m relations."""

    bends: tuple[Bend, ...]
    low: Array  #: ends of the span of the abscissa, (K,)
    high: Array
    highest: Array  #: highest abscissa among the rows kept, (K,)
    parameters: Array  #: a, b, c2, c3 of each relation, (K, m, 4)
    covariance: Array  #: of the parameters, (K, 4m, 4m)
    rise: Array  #: the scale of bends of each relation, (K, m)
    misfit: Array  #: chi-square of the rows kept, with the priors' terms, (K,)
    scatter: Array  #: variance of the rows kept over what was stated, shrunk to 1, (K,)
    row_misfit: Array  #: chi-square of each row kept, (K, n)


def fit_without(
    points: Array,
    covariance: Array,
    kept: Mask,
    left_out: Array,
    bends: tuple[Bend, ...],
    *,
    widest: float = WIDEST,
) -> Curves:
    """Fit the curves of all relations for K choices of rows.

    Parameters
    ----------
    points : array, shape (n, m + 1)
        Coordinates of the rows, the abscissa last.
    covariance : array, shape (n, m + 1, m + 1)
        Their covariance between rows.
    kept : array of bool, shape (K, n)
        Rows that make each fit.
    left_out : array, shape (K,)
        Abscissa of the row to be judged (NaN for none): the span is widened to it.
    bends : tuple of Bend, length m
    widest : float
        How far the span may be widened over the highest row kept. [1]

    Returns
    -------
    Curves
    """
    ordinate, abscissa = points[:, :-1], points[:, -1]
    low, high, highest = _span(abscissa, kept, left_out, widest)
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    place = (abscissa[None, :] - middle[:, None]) / half[:, None]
    weight = kept.astype(float)
    basis = _legendre(place)
    slope = _straight(place, ordinate, weight)
    parameters = np.zeros((len(kept), ordinate.shape[1], 4))
    parameters[:, :, 1] = slope
    for _ in range(_ROUNDS):
        rise = _rise(parameters, ordinate, weight, bends)
        precision = _precision(place, half, parameters, covariance, _model_error(ordinate[None], rise[:, None], bends))
        precision *= weight[:, :, None, None]
        expected, prior = _priors(rise, bends)
        normal, right = _normal_equations(basis, precision, ordinate)
        size = normal.shape[1]
        normal[:, np.arange(size), np.arange(size)] += prior
        covariance_of = _inverse(normal)
        solution = (covariance_of @ (right + prior * expected)[:, :, None])[:, :, 0]
        parameters = solution.reshape(parameters.shape)
    residual = ordinate[None] - basis @ np.swapaxes(parameters, 1, 2)
    row_misfit = np.einsum("knj,knjl,knl->kn", residual, precision, residual)
    misfit = row_misfit.sum(axis=1) + (prior * (solution - expected) ** 2 * (prior > _FREE * 2.0)).sum(axis=1)
    freedom = ordinate.shape[1] * np.maximum(kept.sum(axis=1) - 2, 0)
    scatter = (6.0 + misfit) / (6.0 + freedom)
    return Curves(bends, low, high, highest, parameters, covariance_of, rise, misfit, scatter, row_misfit)


_FREE = 1e-12


def _span(abscissa: Array, kept: Mask, left_out: Array, widest: float) -> tuple[Array, Array, Array]:
    highest = np.where(kept, abscissa, -np.inf).max(axis=1)
    lowest = np.where(kept, abscissa, np.inf).min(axis=1)
    judged = np.where(np.isfinite(left_out), left_out, highest)
    high = np.maximum(highest, np.minimum(judged, widest * highest))
    low = np.minimum(np.minimum(lowest, LOW_END * high), np.maximum(judged, 0.0))
    return low, np.maximum(high, low + 1e-9 * np.abs(high) + 1e-12), highest


def _legendre(place: Array) -> Array:
    return np.stack([np.ones_like(place), place, 1.5 * place**2 - 0.5, 2.5 * place**3 - 1.5 * place], axis=-1)


def _straight(place: Array, ordinate: Array, weight: Array) -> Array:
    """Slope of the straight line through the rows kept, (K, m)."""
    count = weight.sum(axis=1, keepdims=True)
    centred = (place - (place * weight).sum(axis=1, keepdims=True) / count) * weight
    spread = np.maximum((centred**2).sum(axis=1, keepdims=True), 1e-12)
    slope: Array = (centred @ ordinate) / spread
    return slope


def _rise(parameters: Array, ordinate: Array, weight: Array, bends: tuple[Bend, ...]) -> Array:
    """Scale of the bends, (K, m)."""
    mean = (weight @ np.abs(ordinate)) / weight.sum(axis=1, keepdims=True)
    of_mean = np.array([bend.of_mean for bend in bends])
    least = np.array([bend.least for bend in bends])
    rise: Array = np.where(of_mean, mean, np.maximum(2.0 * np.abs(parameters[:, :, 1]), least * mean)) + 1e-12
    return rise


def _model_error(ordinate: Array, rise: Array, bends: tuple[Bend, ...]) -> Array:
    share = np.array([bend.share for bend in bends])
    part = np.array([bend.part for bend in bends])
    variance: Array = (share * ordinate) ** 2 + (part * rise) ** 2
    return variance


def _precision(place: Array, half: Array, parameters: Array, covariance: Array, error: Array) -> Array:
    """Inverse of the covariance of the residuals, (K, n, m, m)."""
    square, cube = 3.0 * place, 7.5 * place**2 - 1.5
    slope = parameters[:, None, :, 1] + parameters[:, None, :, 2] * square[:, :, None]
    slope = (slope + parameters[:, None, :, 3] * cube[:, :, None]) / half[:, None, None]
    cross = covariance[None, :, :-1, -1] * slope
    own = covariance[None, :, :-1, :-1] - covariance[None, :, :-1, -1:] * slope[:, :, None, :]
    own = own - slope[:, :, :, None] * covariance[None, :, -1:, :-1]
    total = own + slope[:, :, :, None] * slope[:, :, None, :] * covariance[None, :, -1:, -1:]
    diagonal = np.arange(cross.shape[-1])
    total[:, :, diagonal, diagonal] += error
    return _inverse(total)


def _priors(rise: Array, bends: tuple[Bend, ...]) -> tuple[Array, Array]:
    """Expected parameters and their prior precision, (K, 4m)."""
    expected = np.zeros((*rise.shape, 4))
    prior = np.full((*rise.shape, 4), _FREE)
    for j, bend in enumerate(bends):
        expected[:, j, 2] = bend.square * rise[:, j]
        expected[:, j, 3] = bend.cube * rise[:, j]
        prior[:, j, 2] = 1.0 / (bend.square_sd * rise[:, j]) ** 2
        prior[:, j, 3] = 1.0 / (bend.cube_sd * rise[:, j]) ** 2
    shape = (len(rise), -1)
    return expected.reshape(shape), prior.reshape(shape)


def _normal_equations(basis: Array, precision: Array, ordinate: Array) -> tuple[Array, Array]:
    count, rows, relations = precision.shape[:3]
    products = (basis[..., :, None] * basis[..., None, :]).reshape(count, rows, 16)
    flat = np.swapaxes(precision.reshape(count, rows, -1), 1, 2) @ products
    normal = flat.reshape(count, relations, relations, 4, 4).transpose(0, 1, 3, 2, 4)
    weighted = (precision @ ordinate[None, :, :, None])[..., 0]
    right = np.swapaxes(weighted, 1, 2) @ basis
    return normal.reshape(count, 4 * relations, 4 * relations).copy(), right.reshape(count, -1)


def _inverse(matrices: Array) -> Array:
    """Inverses of symmetric matrices; of one without an inverse that of what spans it, of one without a value zeros."""
    finite = np.isfinite(matrices).all(axis=(-2, -1), keepdims=True)
    usable = matrices if finite.all() else np.where(finite, matrices, 0.0)
    try:
        inverse = np.linalg.inv(usable)
    except np.linalg.LinAlgError:
        inverse = np.linalg.pinv(usable, rcond=1e-13, hermitian=True)
    return inverse.astype(np.float64, copy=False)


@dataclass(frozen=True)
class Nearest:
    """The nearest place of the curve to each of C points."""

    distance: Array  #: chi-square over the others' scatter, (C,)
    offset: Array  #: how far along the free direction, in its units, (C,)


def nearest(curves: Curves, which: int, points: Array, covariance: Array, free: Array) -> Nearest:
    """Distance of points from one set of curves, each with one direction in which it may move freely.

    Parameters
    ----------
    curves : Curves
    which : int
        The set: index of the row left out.
    points, covariance : arrays, shapes (C, m + 1) and (C, m + 1, m + 1)
        As for ``fit_without``.
    free : array, shape (C, m + 1)
        Direction of the reading that is left out of account; zeros for none.

    Returns
    -------
    Nearest
    """
    top = float(curves.high[which])
    bottom = min(0.0, float(curves.low[which]))
    load = np.broadcast_to(np.linspace(bottom, bottom + 1.3 * (top - bottom), _GRID), (len(points), _GRID))
    step = 1.3 * (top - bottom) / (_GRID - 1)
    for _ in range(3):
        value, offset = _squared(curves, which, points, covariance, free, load=load)
        best = np.argmin(value, axis=1)[:, None]
        at = np.take_along_axis(load, best, axis=1)
        load = at + np.linspace(-step, step, 9)[None, :]
        step /= 4.0
    pick = [np.take_along_axis(array, best, axis=1)[:, 0] for array in (value, offset)]
    return Nearest(pick[0] / curves.scatter[which], pick[1])


def _squared(
    curves: Curves, which: int, points: Array, covariance: Array, free: Array, *, load: Array
) -> tuple[Array, Array]:
    """Squared distance from the place ``load`` of the curve, (C, G), and the offset along the free direction."""
    middle, half = 0.5 * (curves.low[which] + curves.high[which]), 0.5 * (curves.high[which] - curves.low[which])
    basis = _legendre((load - middle) / half)
    ordinate = basis @ curves.parameters[which].T
    relations = ordinate.shape[-1]
    blocks = curves.covariance[which].reshape(relations, 4, relations, 4).transpose(1, 3, 0, 2).reshape(16, -1)
    products = (basis[..., :, None] * basis[..., None, :]).reshape(*load.shape, 16)
    spread = (products @ blocks).reshape(*load.shape, relations, relations)
    diagonal = np.arange(relations)
    spread[..., diagonal, diagonal] += _model_error(ordinate, curves.rise[which], curves.bends)
    total = np.repeat(covariance[:, None], load.shape[1], axis=1)
    total[..., :-1, :-1] += spread
    residual = np.concatenate([points[:, None, :-1] - ordinate, points[:, None, -1:] - load[..., None]], axis=-1)
    precision = _inverse(total)
    weighted = (precision @ residual[..., None])[..., 0]
    value = (residual * weighted).sum(axis=-1)
    along = (weighted * free[:, None, :]).sum(axis=-1)
    stiffness = (free[:, None, :] * (precision @ free[:, None, :, None])[..., 0]).sum(axis=-1)
    offset = np.where(stiffness > 0.0, along / np.where(stiffness > 0.0, stiffness, 1.0), 0.0)
    return value - offset * along, offset
