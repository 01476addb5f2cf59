"""How the speed of a motor rises when its load is taken off."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.physics.domain import require_positive

FloatOrArray = float | NDArray[np.float64]


def speed_regulation(no_load_speed: FloatOrArray, loaded_speed: FloatOrArray) -> FloatOrArray:
    """Speed regulation of a motor.

    Parameters
    ----------
    no_load_speed : float or array, shape (n,)
        Speed without load. [rad/s]
    loaded_speed : float or array, shape (n,)
        Speed at rated load, > 0. [rad/s]

    Returns
    -------
    float or array, shape (n,)
        (n_0 - n) / n: 0 for a motor that holds its speed. [1]

    Raises
    ------
    ValueError
        The loaded speed is not above 0.

    References
    ----------
    I. L. Kosow, Electric Machinery and Transformers, 2nd ed., example 12-8, page 420.
    """
    require_positive(loaded_speed, "loaded speed")
    return no_load_speed / loaded_speed - 1.0
