"""Torque on its way from a motor through a belt or gear to what absorbs it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.physics.domain import require_fraction, require_positive

Array = NDArray[np.float64]
FloatOrArray = float | Array


def absorber_torque_through_drive(
    motor_torque: FloatOrArray, ratio: FloatOrArray, efficiency: FloatOrArray
) -> FloatOrArray:
    """Torque that reaches an absorber through a belt or a gear.

    Parameters
    ----------
    motor_torque : float or array, shape (n,)
        Torque at the shaft of the motor. [N*m]
    ratio : float or array, shape (n,)
        Motor speed over absorber speed, > 0. [1]
    efficiency : float or array, shape (n,)
        Power out of the drive over power into it, in (0, 1]. [1]

    Returns
    -------
    float or array, shape (n,)
        Torque at the shaft of the absorber, T_a = T i eta. [N*m]

    Raises
    ------
    ValueError
        The ratio is not above 0, or the efficiency is outside (0, 1].

    References
    ----------
    As :func:`certgen.physics.mechanics.motor_torque_through_drive`, solved for the absorber.
    """
    require_positive(ratio, "drive ratio")
    require_fraction(efficiency, "drive efficiency")
    return motor_torque * ratio * efficiency
