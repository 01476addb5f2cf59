"""How sure an interpolated curve is between its points."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from certgen.physics.curves import ShapePreserving
from certgen.physics.uncertainty import DIVISORS

Array = NDArray[np.float64]

#: Knots on either side of a value that decide it: those of its segment and their neighbours.
_NEIGHBOURS = 2


def near_knots(knots: Array, torque: float) -> range:
    """Knots that decide a curve at a torque: those of its segment and their neighbours."""
    segment = int(np.searchsorted(knots[1:-1], torque, side="right"))
    return range(max(0, segment - _NEIGHBOURS + 1), min(knots.size, segment + _NEIGHBOURS + 1))


def interpolation_error(interpolant: ShapePreserving, torque: float, value: float | None = None) -> float:
    """Standard uncertainty of a curve between its points.

    Parameters
    ----------
    interpolant : ShapePreserving
        The curve of one quantity.
    torque : float
        Where it is read. [N*m]
    value : float or None
        What it is there, where that is known already. [unit of the quantity]

    Returns
    -------
    float
        The difference to the cubic through the four nearest points, taken as the limit of a rectangular
        distribution; zero at a tested point. [unit of the quantity]

    References
    ----------
    JCGM 100:2008, 4.3.7 (rectangular); the two curves' difference as its limit is common practice, no source.
    """
    near = near_knots(interpolant.x, torque)
    knots, values = (points[near.start : near.stop].tolist() for points in (interpolant.x, interpolant.y))
    read = float(interpolant(torque)) if value is None else value
    return abs(_polynomial(knots, values, torque) - read) / DIVISORS["rectangular"]


def _polynomial(knots: list[float], values: list[float], at: float) -> float:
    """The polynomial through points, after Lagrange."""
    return sum(
        value * math.prod((at - other) / (knot - other) for other in knots if other != knot)
        for knot, value in zip(knots, values, strict=True)
    )
