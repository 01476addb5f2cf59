"""How far readings scatter that were taken again at the same load."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def repeat_scatter(readings: Array, setting: Array) -> tuple[float, float] | None:
    """Standard deviation of a reading from rows taken one after the other at the same setting of the load.

    Parameters
    ----------
    readings : array, shape (n,)
        What was read. [any]
    setting : array, shape (n,)
        What the load was set by (current that excites the brake); ``nan`` where not recorded. [any]

    Returns
    -------
    tuple of (float, float), or None
        Standard deviation [as readings] and its degrees of freedom; ``None`` where no load was read twice
        running, or all repeats agree to the last digit.

    References
    ----------
    J. von Neumann, R. H. Kent, H. R. Bellinson and B. I. Hart, Ann. Math. Statist. 12 (1941) 153 (from memory): half
    the mean square successive difference, which a slow change of the load does not enter; its variance gives
    2 (m - 1)^2 / (3 m - 4) degrees of freedom for m readings. JCGM 100:2008 (GUM), 4.2 (type A evaluation).
    """
    squares, pairs, spread = 0.0, 0, 0
    for start, stop in _runs(readings, setting):
        differences = np.diff(readings[start:stop])
        squares += float(differences @ differences)
        pairs += differences.size
        spread += 3 * (stop - start) - 4
    if squares == 0.0:
        return None
    return math.sqrt(squares / (2.0 * pairs)), 2.0 * pairs**2 / spread


def _runs(readings: Array, setting: Array) -> list[tuple[int, int]]:
    """First row and row after the last of every stretch of two or more rows at one setting."""
    same = np.isfinite(readings[1:]) & np.isfinite(readings[:-1]) & (setting[1:] == setting[:-1])
    edges = np.flatnonzero(np.diff(np.concatenate(([False], same, [False])).astype(int)))
    return [(int(first), int(last) + 1) for first, last in zip(edges[::2], edges[1::2], strict=True)]
