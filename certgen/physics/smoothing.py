"""A value and its rate of change from scattered samples over time, through one low-pass of known bandwidth."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from certgen.physics.domain import require_positive

Array = NDArray[np.float64]

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
    """Longest time between samples that a bandwidth [Hz] can be told from: one width of the weights. [s]"""
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
    for index, instant in enumerate(wanted):
        window = slice(int(first[index]), int(last[index]))
        apart = (times[window] - instant) / width
        if _enough(apart):
            found[:, index] = _parabola(apart, samples[window], width)
    value, slope, variance, of_value, of_slope = found
    scatter = math.sqrt(float(np.nanmean(variance))) if np.isfinite(variance).any() else math.nan
    return Smoothed(value, slope, scatter * np.sqrt(of_value), scatter * np.sqrt(of_slope))


def _enough(apart: Array) -> bool:
    """Whether samples stand densely enough on both sides of a time."""
    if apart.size < _LEAST_SAMPLES or apart[0] > -_EITHER_SIDE or apart[-1] < _EITHER_SIDE:
        return False
    near = apart[np.abs(apart) <= _EITHER_SIDE + 1.0]
    return bool(near.size >= _LEAST_SAMPLES and np.diff(near).max() <= 1.0 + 1e-6)


def _parabola(apart: Array, samples: Array, width: float) -> tuple[float, float, float, float, float]:
    """Value, slope, residual variance, and the sums of squared weights of value and slope."""
    weights = np.exp(-0.5 * apart**2)
    basis = apart[:, None] ** _POWERS
    weighted = basis * weights[:, None]
    normal = basis.T @ weighted
    inverse = np.linalg.inv(normal)
    # A time later by dt moves u by -dt / width and the weights by u w dt / width.
    moved = weighted * apart[:, None]
    moved[:, 1:] -= weighted[:, :-1] * _POWERS[1:]
    sums = basis.T @ (weighted * apart[:, None])
    lower = np.zeros_like(normal)
    order = _POWERS[:, None] + _POWERS[None, :]
    moments = weights @ (apart[:, None] ** np.arange(2 * _DEGREE + 1))
    lower[order > 0] = order[order > 0] * moments[order[order > 0] - 1]
    turned = sums - lower
    first_row = inverse[0]
    of_value = weighted @ first_row
    of_slope = (moved @ first_row - weighted @ (inverse @ turned @ first_row)) / width
    residuals = samples - basis @ (inverse @ (weighted.T @ samples))
    freedom = weights.sum() - np.trace(inverse @ (weighted.T @ weighted))
    variance = float(weights @ residuals**2 / freedom) if freedom > 0.0 else math.nan
    return (
        float(of_value @ samples),
        float(of_slope @ samples),
        variance,
        float(of_value @ of_value),
        float(of_slope @ of_slope),
    )
