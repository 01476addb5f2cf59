"""A value and its rate of change from scattered samples over time, through one low-pass of known bandwidth."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from certgen.physics.domain import Array, Mask, require_positive

#: Width [1] of the weights times bandwidth: the response (1 + y) exp(-y), y = (2 pi f width)^2 / 2, is 1 / sqrt(2) at
#: y = 1.07796, so width = sqrt(2 y) / (2 pi) over the bandwidth.
WIDTH_OF_BANDWIDTH = 0.2336881
#: Samples further away than this many widths weigh below 4e-6 and are left out.
_REACH = 5.0
#: Samples must reach so many widths past a time on both sides, and stand no further apart than one width there.
_EITHER_SIDE = 2.0
_DEGREE = 2
_POWERS = np.arange(_DEGREE + 1)
#: Samples a window needs beyond the coefficients of its parabola.
_LEAST_SAMPLES = 5
#: Stretches of one width over which denser samples are averaged first.
_STRETCHES = 20
#: Samples of all windows that are held at once.
_AT_ONCE = 100_000


@dataclass(frozen=True, eq=False)
class Smoothed:
    """Low-passed samples at m times: value, rate of change, and their standard deviations, each shape (m,).

    ``nan`` where the samples around a time are too few. The deviations are those of samples that scatter
    independently of each other.
    """

    value: Array
    slope: Array
    value_deviation: Array
    slope_deviation: Array


def width_of(bandwidth: float) -> float:
    """Width [s] of the weights that pass a bandwidth [Hz]: their standard deviation."""
    require_positive(bandwidth, "bandwidth")
    return WIDTH_OF_BANDWIDTH / bandwidth


def longest_step(bandwidth: float) -> float:
    """Longest time between samples that a bandwidth [Hz] can be found from: one width of the weights. [s]"""
    return width_of(bandwidth)


def averaged(time: Array, columns: Mapping[str, Array], bandwidth: float) -> dict[str, Array]:
    """Samples far denser than a bandwidth needs, averaged over short stretches of time.

    Parameters
    ----------
    time : array, shape (n,)
        Times, rising. [s]
    columns : mapping of str to array, shape (n,)
        What was sampled, ``nan`` where it was not; among them may be the time. [any]
    bandwidth : float
        Of the low-pass that follows, > 0. [Hz]

    Returns
    -------
    dict of str to array, shape (m,)
        Means of the samples in each stretch of a twentieth of the low-pass's width, ``nan`` where there is none; the columns
        as they are where the samples are no denser. [any]

    Raises
    ------
    ValueError
        The bandwidth is not above 0.

    Notes
    -----
    The mean of a stretch b passes a vibration by sin(pi f b) / (pi f b), 0.99998 at the bandwidth.
    """
    stretch = width_of(bandwidth) / _STRETCHES
    place = np.floor((time - time[0]) / stretch).astype(np.int64)
    _, where = np.unique(place, return_inverse=True)
    count = int(where[-1]) + 1
    if 2 * count > time.size:
        return dict(columns)
    means = {}
    for name, values in columns.items():
        known = np.isfinite(values)
        samples = np.bincount(where[known], minlength=count)
        sums = np.bincount(where[known], weights=values[known], minlength=count)
        means[name] = np.where(samples > 0, sums / np.maximum(samples, 1), np.nan)
    return means


def smooth(time: ArrayLike, values: ArrayLike, at: ArrayLike, bandwidth: float) -> Smoothed:
    """Value and rate of change of samples, both through the same zero-phase low-pass.

    Parameters
    ----------
    time : array, shape (n,)
        Times of the samples, rising, in any spacing. [s]
    values : array, shape (n,)
        The samples. [any]
    at : array, shape (m,)
        Times at which the result is wanted. [s]
    bandwidth : float
        Frequency at which a vibration passes at 1 / sqrt(2) of its size (-3 dB), > 0. [Hz]

    Returns
    -------
    Smoothed
        Values [any] and rates of change [any/s], ``nan`` within two widths of an end and in gaps.

    Raises
    ------
    ValueError
        The bandwidth is not above 0.

    Notes
    -----
    A parabola is fitted around each time by least squares with Gaussian weights; its value there is the result. Evenly
    sampled, its frequency response is (1 + y) exp(-y) with y = (2 pi f s)^2 / 2 and s the width of the weights. The
    rate of change is the exact derivative of that result with time, so that its response is j 2 pi f times the
    same: value and rate are in step, and a torque passed through it stays in step with the rate of a speed.

    References
    ----------
    A. Savitzky and M. J. E. Golay, Anal. Chem. 36 (1964) 1627 (local parabolas); J. Fan and I. Gijbels, Local
    Polynomial Modelling and Its Applications (1996), chapters 3 and 4, from memory (weights, any spacing; equivalent
    kernel (3 - u^2) phi(u) / 2 of the local parabola, of which the response is the transform; residual variance).
    """
    times, samples = np.asarray(time, dtype=float), np.asarray(values, dtype=float)
    wanted = np.atleast_1d(np.asarray(at, dtype=float))
    width = width_of(bandwidth)
    known = np.isfinite(samples) & np.isfinite(times)
    times, samples = times[known], samples[known]
    first = np.searchsorted(times, wanted - _REACH * width)
    last = np.searchsorted(times, wanted + _REACH * width, side="right")
    found = np.full((5, wanted.size), np.nan)
    longest = int((last - first).max(initial=1))
    for begin in range(0, wanted.size, max(1, _AT_ONCE // longest)):
        some = slice(begin, begin + max(1, _AT_ONCE // longest))
        place = first[some, None] + np.arange(longest)
        used = place < last[some, None]
        place = np.where(used, place, 0)
        apart = np.where(used, (times[place] - wanted[some, None]) / width, 0.0)
        enough = _enough(apart, used)
        part = np.where(used, samples[place], 0.0)[enough]
        found[:, begin + np.flatnonzero(enough)] = _parabolas(apart[enough], part, used[enough], width)
    value, slope, variance, of_value, of_slope = found
    scatter = math.sqrt(float(np.nanmean(variance))) if np.isfinite(variance).any() else math.nan
    return Smoothed(value, slope, scatter * np.sqrt(of_value), scatter * np.sqrt(of_slope))


def _enough(apart: Array, used: Mask) -> Mask:
    """Whether samples stand densely enough on both sides of each time, shape (m,)."""
    reach = np.where(used, apart, 0.0)
    near = used & (np.abs(apart) <= _EITHER_SIDE + 1.0)
    gaps = np.where(near[:, 1:] & near[:, :-1], np.diff(apart, axis=1), 0.0)
    return np.asarray(
        (used.sum(axis=1) >= _LEAST_SAMPLES)
        & (reach.min(axis=1) <= -_EITHER_SIDE)
        & (reach.max(axis=1) >= _EITHER_SIDE)
        & (near.sum(axis=1) >= _LEAST_SAMPLES)
        & (gaps.max(axis=1, initial=0.0) <= 1.0 + 1e-6)
    )


def _parabolas(apart: Array, samples: Array, used: Mask, width: float) -> Array:
    """Value, slope, residual variance, and the sums of squared weights of value and slope: shape (5, m).

    Distances in widths and samples are of shape (m, k), a row each time; what is not used weighs nothing.
    """
    weights = np.where(used, np.exp(-0.5 * apart**2), 0.0)
    basis = apart[:, :, None] ** _POWERS
    turned_basis = basis.transpose(0, 2, 1)
    weighted = basis * weights[:, :, None]
    normal = turned_basis @ weighted
    inverse = np.linalg.inv(normal)
    # A time later by dt moves u by -dt / width and the weights by u w dt / width.
    farther = weighted * apart[:, :, None]
    moved = farther.copy()
    moved[:, :, 1:] -= weighted[:, :, :-1] * _POWERS[1:]
    turned = turned_basis @ farther - _lowered(normal)
    first_row = inverse[:, 0, :, None]
    of_value = (weighted @ first_row)[:, :, 0]
    of_slope = (moved @ first_row - weighted @ (inverse @ turned @ first_row))[:, :, 0] / width
    turned_weighted = weighted.transpose(0, 2, 1)
    residuals = samples - (basis @ (inverse @ (turned_weighted @ samples[:, :, None])))[:, :, 0]
    used_up = np.trace(inverse @ (turned_weighted @ weighted), axis1=1, axis2=2)
    freedom = weights.sum(axis=1) - used_up
    squares = np.sum(weights * residuals**2, axis=1)
    return np.array([
        np.sum(of_value * samples, axis=1),
        np.sum(of_slope * samples, axis=1),
        squares / np.where(freedom > 0.0, freedom, np.nan),
        np.sum(of_value**2, axis=1),
        np.sum(of_slope**2, axis=1),
    ])  # fmt: skip


def _lowered(normal: Array) -> Array:
    """The moments of the weights in the normal matrices, each differentiated by the distance: k times the one below."""
    moments = np.concatenate([normal[:, 0, :], normal[:, 1:, -1]], axis=1)
    order = _POWERS[:, None] + _POWERS
    return np.asarray(order * moments[:, np.maximum(order - 1, 0)])
