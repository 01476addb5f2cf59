"""Samples that do not belong to their neighbours, by the median and the median absolute deviation."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: Makes the median absolute deviation of normal scatter its standard deviation: 1 / 0.6745. F. R. Hampel, J. Amer.
#: Statist. Assoc. 69 (1974) 383; L. Davies and U. Gather, ibid. 88 (1993) 782.
CONSISTENT = 1.4826
#: Standard deviations from the median at which a sample is an outlier. Three (Pearson's edit rule) would take 3 of
#: 1000 good samples; six takes 2 of 10^9 (Davies and Gather let the limit grow with the number of samples).
THRESHOLD = 6.0


def scatter_by_median(samples: Array, median: float | None = None) -> float:
    """Standard deviation of samples told by their median absolute deviation, which outliers hardly move.

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


def hampel(samples: Array, at: NDArray[np.intp], *, half_width: int, least_scatter: Array) -> tuple[Mask, Array]:
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
