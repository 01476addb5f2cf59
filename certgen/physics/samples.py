"""Samples over time: those that do not belong to their neighbours, and means of samples that resemble one another."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array, Index, Mask

#: Makes the median absolute deviation of normal scatter its standard deviation: 1 / 0.6745. F. R. Hampel, J. Amer.
#: Statist. Assoc. 69 (1974) 383; L. Davies and U. Gather, ibid. 88 (1993) 782.
CONSISTENT = 1.4826
#: Standard deviations from the median at which a sample is an outlier. Three (Pearson's edit rule) would take 3 of
#: 1000 good samples; six takes 2 of 10^9 (Davies and Gather let the limit grow with the number of samples).
THRESHOLD = 6.0


def scatter_by_median(samples: Array, median: float | None = None) -> float:
    """Standard deviation of samples by their median absolute deviation, which outliers hardly move.

    Parameters
    ----------
    samples : array, shape (n,)
        Finite. [any]
    median : float or None
        Their median, where it is known already. [as samples]

    Returns
    -------
    float
        1.4826 MAD; NaN for no samples. [as samples]

    References
    ----------
    L. Davies and U. Gather, J. Amer. Statist. Assoc. 88 (1993) 782: the Hampel identifier.
    """
    if not samples.size:
        return math.nan
    middle = np.median(samples) if median is None else median
    return CONSISTENT * float(np.median(np.abs(samples - middle)))


def successive_scatter(samples: Array, axis: int = -1) -> Array:
    """Standard deviation of the scatter from sample to sample, which slow changes and outliers hardly move.

    Parameters
    ----------
    samples : array, shape (.., n)
        In order of time. [any]
    axis : int
        Along which they follow each other.

    Returns
    -------
    array, shape (..)
        1.4826 times the median size of the difference of neighbours, over sqrt(2). [as samples]

    References
    ----------
    J. von Neumann, R. H. Kent, H. R. Bellinson and B. I. Hart, Ann. Math. Statist. 12 (1941) 153 (successive
    differences; from memory), with the median in place of the mean square.
    """
    return np.asarray(CONSISTENT / math.sqrt(2.0) * np.median(np.abs(np.diff(samples, axis=axis)), axis=axis))


def hampel(samples: Array, at: Index, *, half_width: int, least_scatter: Array) -> tuple[Mask, Array]:
    """Which of the named samples are outliers among their neighbours: the Hampel identifier in a moving window.

    Parameters
    ----------
    samples : array, shape (n,)
        In order of time, finite. [any]
    at : array, shape (m,)
        Index of the samples to judge.
    half_width : int
        Neighbours on either side that make the window with the sample; at the ends it lies to one side.
    least_scatter : array, shape (m,)
        Scatter below which that of the window is not believed, as of a few rounded values. [as samples]

    Returns
    -------
    tuple of (array, shape (m,), array, shape (m,))
        Whether each lies more than 6 standard deviations from the median of its window, and that median. [as samples]

    References
    ----------
    L. Davies and U. Gather, J. Amer. Statist. Assoc. 88 (1993) 782.
    """
    width = min(2 * half_width + 1, samples.size)
    first = np.clip(at - half_width, 0, samples.size - width)
    window = samples[first[:, None] + np.arange(width)]
    centre = np.median(window, axis=1)
    scatter = CONSISTENT * np.median(np.abs(window - centre[:, None]), axis=1)
    return np.abs(samples[at] - centre) > THRESHOLD * np.maximum(scatter, least_scatter), centre


# Means of samples that follow one another so closely that each resembles the one before.


#: More samples than this are averaged in blocks first: the autocorrelation of so many means is the same.
_MOST = 1024
#: Part of the sum of squares that a straight line takes up where samples drift.
_DRIFTS = 0.5
#: Samples that differ by less than this are equal. [any]
_NOTHING = 1e-150
#: Least effective number: one degree of freedom is the least that has a coverage factor.
LEAST_EFFECTIVE = 2.0


@dataclass(frozen=True)
class SampleMean:
    """A mean of correlated samples: value and standard deviation of the samples [as samples], their number, and how
    many independent samples they are worth. Where the samples clearly drift, they scatter about a straight line."""

    value: float
    standard_deviation: float
    samples: int
    effective_number: float

    @property
    def standard_uncertainty(self) -> float:
        """That of the mean: s / sqrt(n_eff). [as samples]"""
        return self.standard_deviation / math.sqrt(self.effective_number)

    @property
    def degrees_of_freedom(self) -> float:
        """n_eff - 1. [1]"""
        return self.effective_number - 1.0


def autocorrelation(samples: Array) -> Array:
    """Autocorrelation of samples at lags from 0 to n - 1, the autocovariances divided by n.

    Parameters
    ----------
    samples : array, shape (n,)
        In order of time, equally spaced; not all equal. [any]

    Returns
    -------
    array, shape (n,)
        1 at lag 0. [1]

    References
    ----------
    M. B. Priestley, Spectral Analysis and Time Series (1981), 5.3.3 (from memory): the biased estimator.
    """
    deviations = samples - samples.mean()
    deviations = deviations / np.max(np.abs(deviations))  # squares of very small ones would be nothing
    spectrum = np.fft.rfft(deviations, 1 << (2 * samples.size - 1).bit_length())
    covariance = np.fft.irfft(spectrum * spectrum.conj())[: samples.size]
    return np.asarray(covariance / covariance[0])


def correlation_time(samples: Array) -> float:
    """Integrated autocorrelation time: how many successive samples are worth one independent sample.

    Parameters
    ----------
    samples : array, shape (n,)
        In order of time, equally spaced. [any]

    Returns
    -------
    float
        1 + 2 sum(rho_k), at least 1 (never is a sample worth more than one) and at most n. [samples]

    Notes
    -----
    The sum ends where the sum of two neighbouring lags is no longer above 0, and these sums are kept from rising
    again (initial monotone sequence). The mean taken out of the samples makes each rho_k too small; the sum over a
    window of W lags is raised by the part (2 W + 1) / n for it.

    References
    ----------
    C. J. Geyer, Statist. Sci. 7 (1992) 473, section 3.3 (initial sequences). U. Wolff, Comput. Phys. Commun. 156
    (2004) 143 (bias of the mean). Both from memory. T. J. Witt, Metrologia 44 (2007) 201: the variance of the mean of
    correlated observations by their autocorrelation.
    """
    if samples.size < 2 or not np.ptp(samples) > _NOTHING:
        return 1.0
    rho = autocorrelation(samples)
    pairs = rho[: 2 * (rho.size // 2)].reshape(-1, 2).sum(axis=1)
    ended = np.flatnonzero(pairs <= 0.0)
    count = int(ended[0]) if ended.size else pairs.size
    if count == 0:
        return 1.0
    total = -1.0 + 2.0 * float(np.minimum.accumulate(pairs[:count]).sum())
    window = 2 * count
    if total <= 1.0 and count == 1:
        return 1.0
    return min(max(total * (1.0 + (2 * window + 1) / samples.size), 1.0), float(samples.size))


def sample_mean(samples: Array, weights: Array | None = None) -> SampleMean:
    """Mean of samples in order of time, with the number of independent samples they are worth.

    Parameters
    ----------
    samples : array, shape (n,)
        n >= 2, finite. [any]
    weights : array, shape (n,), or None
        How much each counts, > 0, where not all alike: the time it stands for. [any]

    Returns
    -------
    SampleMean
        The effective number is n over the integrated autocorrelation time, at least 2 and at most n.

    Notes
    -----
    Many samples are first averaged in blocks of equal length, which leaves the variance of the mean as it is. A straight
    drift (of a motor that warms up) does not make its mean unsure, which is the value at half time: where a line takes
    up more than half of the sum of squares, the scatter is that about the line. Unequal weights make n samples worth
    no more than sum(w)^2 / sum(w^2).

    References
    ----------
    JCGM 100:2008 (GUM), 4.2.3 (standard deviation of the mean) and 4.2.7 (correlated observations need methods of
    their own). H. Flyvbjerg and H. G. Petersen, J. Chem. Phys. 91 (1989) 461 (blocks; from memory). L. Kish, Survey
    Sampling (1965), 11.7 (weights; from memory).
    """
    count = samples.size
    value = float(samples.mean()) if weights is None else float((samples * weights).sum() / weights.sum())
    deviations = samples - value
    if weights is None:
        total = float(np.square(deviations).sum())  # the threads of a dot product cost more
    else:
        total = count * float((np.square(deviations) * weights).sum() / weights.sum())
    length = -(-count // _MOST)
    blocks = deviations if length == 1 else deviations[: count - count % length].reshape(-1, length).mean(axis=1)
    blocks, drift = _about_drift(blocks, total / length)
    variance = max(total - length * drift, 0.0) / (count - (2 if drift else 1))
    alike = correlation_time(blocks)
    effective = count / alike
    if length > 1:
        spread = float(blocks.var(ddof=1)) * alike / blocks.size
        effective = variance / spread if spread > 0.0 else float(count)
    if weights is not None:
        effective *= float(weights.sum() ** 2 / np.square(weights).sum()) / count
    return SampleMean(value, math.sqrt(variance), count, min(max(effective, LEAST_EFFECTIVE), float(count)))


def _about_drift(deviations: Array, total: float) -> tuple[Array, float]:
    """Deviations about a straight line where they clearly follow one, and the sum of squares that the line takes up.

    The line is clear where it takes up more than half of a total sum of squares.
    """
    steps = np.arange(deviations.size) - 0.5 * (deviations.size - 1)
    spread = float(np.square(steps).sum())
    slope = float((deviations * steps).sum()) / spread
    taken = slope**2 * spread
    if deviations.size > 3 and taken > _DRIFTS * total:
        return deviations - slope * steps, taken
    return deviations, 0.0
