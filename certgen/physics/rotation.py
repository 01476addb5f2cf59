"""What turns fast: the speed of a rim, and the pull on a mass that turns with it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.physics.domain import require_not_negative, require_positive

Array = NDArray[np.float64]
FloatOrArray = float | Array


def rim_speed(speed: FloatOrArray, radius: FloatOrArray) -> FloatOrArray:
    """Speed of a point that turns about an axis.

    Parameters
    ----------
    speed : float or array, shape (n,)
        Angular speed. [rad/s]
    radius : float or array, shape (n,)
        Distance of the point from the axis, > 0. [m]

    Returns
    -------
    float or array, shape (n,)
        Speed along the circle, v = r w. [m/s]

    Raises
    ------
    ValueError
        The radius is not above 0.

    References
    ----------
    OpenStax, College Physics, section 6.1, example 6.1.
    """
    require_positive(radius, "radius")
    return radius * speed


def centripetal_force(mass: FloatOrArray, speed: FloatOrArray, radius: FloatOrArray) -> FloatOrArray:
    """Force that keeps a mass on its circle: what glue or bolt must hold.

    Parameters
    ----------
    mass : float or array, shape (n,)
        The mass, >= 0. [kg]
    speed : float or array, shape (n,)
        Angular speed. [rad/s]
    radius : float or array, shape (n,)
        Distance of its centre from the axis, > 0. [m]

    Returns
    -------
    float or array, shape (n,)
        Force towards the axis, F = m w^2 r. [N]

    Raises
    ------
    ValueError
        The mass is negative, or the radius is not above 0.

    References
    ----------
    OpenStax, College Physics, section 6.2, example 6.3 (acceleration), and section 6.3.
    """
    require_not_negative(mass, "mass")
    require_positive(radius, "radius")
    return mass * speed**2 * radius
