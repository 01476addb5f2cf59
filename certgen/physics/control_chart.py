"""Control chart of single values: whether a repeated measurement still scatters as it used to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from certgen.physics.domain import Array

#: Expected range of two normal values over their standard deviation. Source: NIST/SEMATECH e-Handbook of Statistical
#: Methods, 6.3.2.2: 1.128.
RANGE_OF_TWO = 1.128

#: Fewest values that make limits worth drawing. Common practice, no source.
LEAST_VALUES = 5


@dataclass(frozen=True)
class ControlLimits:
    """Centre line and limits, in the unit of the values; ``sigma`` is the standard deviation they rest on."""

    centre: float
    sigma: float

    @property
    def upper(self) -> float:
        """Three standard deviations above the centre."""
        return self.centre + 3.0 * self.sigma

    @property
    def lower(self) -> float:
        """Three standard deviations below the centre."""
        return self.centre - 3.0 * self.sigma


@dataclass(frozen=True)
class Signal:
    """One rule broken: which, and the index of the value that completed it."""

    rule: str
    at: int


def control_limits(values: ArrayLike) -> ControlLimits:
    """Limits of a chart of individual values from their moving range of two.

    Parameters
    ----------
    values : array, shape (n,)
        Values in the order of time, at least two.

    Returns
    -------
    ControlLimits
        Mean, and the mean moving range over 1.128 as standard deviation.

    Raises
    ------
    ValueError
        Fewer than two values, or one that is not finite.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, individuals control charts.
    """
    series = np.asarray(values, dtype=float)
    if series.size < 2 or not np.isfinite(series).all():
        raise ValueError("limits need at least two values, all of them known")
    moving_range = np.abs(np.diff(series))
    return ControlLimits(float(series.mean()), float(moving_range.mean()) / RANGE_OF_TWO)


def signals(values: ArrayLike, limits: ControlLimits) -> tuple[Signal, ...]:
    """Values at which the series breaks a rule of a process in control.

    Parameters
    ----------
    values : array, shape (n,)
        Values in the order of time.
    limits : ControlLimits
        Centre and standard deviation.

    Returns
    -------
    tuple of Signal
        In the order of the values; none where the values do not scatter at all.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 (Western Electric rules).
    """
    if not limits.sigma > 0.0:
        return ()
    away = (np.asarray(values, dtype=float) - limits.centre) / limits.sigma
    found = {(signal.at, signal.rule): signal for side in (1.0, -1.0) for signal in _on_one_side(side * away)}
    return tuple(found[key] for key in sorted(found))


def _on_one_side(away: Array) -> Iterator[Signal]:
    for rule, needed, of, beyond in (
        ("beyond_three", 1, 1, 3.0),
        ("two_of_three_beyond_two", 2, 3, 2.0),
        ("four_of_five_beyond_one", 4, 5, 1.0),
        ("eight_on_one_side", 8, 8, 0.0),
    ):
        outside = away > beyond
        for last in range(away.size):
            window = outside[max(0, last - of + 1) : last + 1]
            if outside[last] and window.sum() >= needed:
                yield Signal(rule, last)
