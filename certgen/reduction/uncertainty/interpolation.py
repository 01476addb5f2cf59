"""How sure an interpolated curve is between its points."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.physics.curves import ShapePreserving
from certgen.physics.uncertainty import DIVISORS

Array = NDArray[np.float64]

#: Knots on either side of a value that decide it: those of its segment and their neighbours.
_NEIGHBOURS = 2


def near_knots(knots: Array, torque: float) -> range:
    """Knots that decide a curve at a torque: those of its segment and their neighbours."""
    segment = int(np.clip(np.searchsorted(knots, torque, side="right") - 1, 0, knots.size - 2))
    return range(max(0, segment - _NEIGHBOURS + 1), min(knots.size, segment + _NEIGHBOURS + 1))


def interpolation_error(interpolant: ShapePreserving, torque: float) -> float:
    """Standard uncertainty of a curve between its points.

    Parameters
    ----------
    interpolant : ShapePreserving
        The curve of one quantity.
    torque : float
        Where it is read. [N*m]

    Returns
    -------
    float
        The difference to the cubic through the four nearest points, taken as the limit of a rectangular
        distribution; zero at a tested point. [unit of the quantity]

    References
    ----------
    JCGM 100:2008, 4.3.7 (rectangular); the two curves' difference as its limit is common practice, no source.
    """
    near = np.array(near_knots(interpolant.x, torque))
    x, y = interpolant.x[near], interpolant.y[near]
    others = [np.delete(x, index) for index in range(x.size)]
    weights = [np.prod((torque - other) / (at - other)) for at, other in zip(x, others, strict=True)]
    return abs(float(np.dot(weights, y)) - float(interpolant(torque))) / DIVISORS["rectangular"]
