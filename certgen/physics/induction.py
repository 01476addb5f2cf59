"""Synchronous speed, slip, pole number, and the power flow through the air gap of an induction machine."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from certgen.physics.domain import require_positive

Array = NDArray[np.float64]
FloatOrArray = float | Array

#: How far a reading may stand above synchronous speed and still be taken for it. [1]
#: Common practice, no source.
_SPEED_READING_ERROR = 0.01
#: Most slip with which a running speed still tells the pole number. [1] Common practice, no source.
_LARGEST_RUNNING_SLIP = 0.25


def synchronous_speed(frequency: FloatOrArray, poles: int) -> FloatOrArray:
    """Speed of the rotating field.

    Parameters
    ----------
    frequency : float or array, shape (n,)
        Supply frequency, > 0. [Hz]
    poles : int
        Number of poles: 2, 4, 6, ...

    Returns
    -------
    float or array, shape (n,)
        Synchronous speed, w_s = 2 pi f / (p / 2). [rad/s]

    Raises
    ------
    ValueError
        The number of poles is odd or below 2, or the frequency is not above 0.

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 22, example 5, page 392.
    """
    if poles < 2 or poles % 2 != 0:
        raise ValueError(f"poles must be an even whole number from 2 up, got {poles}")
    require_positive(frequency, "frequency")
    return 4.0 * math.pi * frequency / poles


def slip(speed: FloatOrArray, synchronous_speed: FloatOrArray) -> FloatOrArray:
    """Slip of a rotor behind its field.

    Parameters
    ----------
    speed : float or array, shape (n,)
        Speed of the rotor. [rad/s]
    synchronous_speed : float or array, shape (n,)
        Speed of the field, > 0. [rad/s]

    Returns
    -------
    float or array, shape (n,)
        s = (w_s - w) / w_s: 0 at synchronous speed, 1 at rest, negative above synchronous speed. [1]

    Raises
    ------
    ValueError
        The synchronous speed is not above 0.

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 22, example 7, page 394.
    """
    require_positive(synchronous_speed, "synchronous speed")
    return (synchronous_speed - speed) / synchronous_speed


def speed_at_slip(slip: FloatOrArray, synchronous_speed: FloatOrArray) -> FloatOrArray:
    """Speed of a rotor at a slip.

    Parameters
    ----------
    slip : float or array, shape (n,)
        Slip. [1]
    synchronous_speed : float or array, shape (n,)
        Speed of the field, > 0. [rad/s]

    Returns
    -------
    float or array, shape (n,)
        w = w_s (1 - s). [rad/s]

    Raises
    ------
    ValueError
        The synchronous speed is not above 0.

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 22, example 5, page 392.
    """
    require_positive(synchronous_speed, "synchronous speed")
    return synchronous_speed * (1.0 - slip)


def poles_from_speed(speed: float, frequency: float) -> int | None:
    """Pole number that a running speed tells.

    The pole number whose synchronous speed is the nearest that is not below the speed, where a speed up to
    1 % above synchronous is taken as an error of reading. The speed is that of the rotor itself, not of a
    gear's output shaft.

    Parameters
    ----------
    speed : float
        Speed of the rotor, running light or loaded. [rad/s]
    frequency : float
        Supply frequency. [Hz]

    Returns
    -------
    int or None
        Number of poles, even; None where the slip would be above 25 %, where the speed is above that of two
        poles, where it is so low that 1 % no longer separates neighbouring pole numbers, or where an input is
        not a positive finite number.

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 22, example 5, page 392 (synchronous speed);
    the two allowances are common practice, no source.
    """
    usable = math.isfinite(speed) and math.isfinite(frequency) and speed > 0.0 and frequency > 0.0
    if not usable:
        return None
    two_pole_speed = 2.0 * math.pi * frequency
    most_pairs = two_pole_speed * (1.0 + _SPEED_READING_ERROR) / speed
    if not 1.0 <= most_pairs < 1.0 / _SPEED_READING_ERROR:
        return None
    pole_pairs = math.floor(most_pairs)
    running_slip = 1.0 - speed * pole_pairs / two_pole_speed
    return 2 * pole_pairs if running_slip <= _LARGEST_RUNNING_SLIP else None


def rotor_frequency(slip: FloatOrArray, frequency: FloatOrArray) -> FloatOrArray:
    """Frequency of the currents in the rotor.

    Parameters
    ----------
    slip : float or array, shape (n,)
        Slip. [1]
    frequency : float or array, shape (n,)
        Supply frequency, > 0. [Hz]

    Returns
    -------
    float or array, shape (n,)
        f_r = s f. [Hz]

    Raises
    ------
    ValueError
        The frequency is not above 0.

    References
    ----------
    C. I. Hubert, Electric Machines, chapter 4, example 4.2, page 143.
    """
    require_positive(frequency, "frequency")
    return slip * frequency


def air_gap_power(input_power: FloatOrArray, stator_losses: FloatOrArray) -> FloatOrArray:
    """Power that crosses the air gap.

    Parameters
    ----------
    input_power : float or array, shape (n,)
        Electric power in. [W]
    stator_losses : float or array, shape (n,)
        Winding and core losses of the stator together. [W]

    Returns
    -------
    float or array, shape (n,)
        P_gap = P - P_s, input less stator losses. [W]

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 22, example 8, page 396.
    """
    return input_power - stator_losses


def rotor_loss(slip: FloatOrArray, air_gap_power: FloatOrArray) -> FloatOrArray:
    """Loss in the rotor winding.

    Parameters
    ----------
    slip : float or array, shape (n,)
        Slip. [1]
    air_gap_power : float or array, shape (n,)
        Power that crosses the air gap. [W]

    Returns
    -------
    float or array, shape (n,)
        P_r = s P_gap. [W]

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 22, example 8, page 396.
    """
    return slip * air_gap_power


def mechanical_power(slip: FloatOrArray, air_gap_power: FloatOrArray) -> FloatOrArray:
    """Power that the rotor develops, before friction and windage.

    Parameters
    ----------
    slip : float or array, shape (n,)
        Slip. [1]
    air_gap_power : float or array, shape (n,)
        Power that crosses the air gap. [W]

    Returns
    -------
    float or array, shape (n,)
        P_m = (1 - s) P_gap. [W]

    References
    ----------
    P. C. Sen, Principles of Electric Machines and Power Electronics, chapter 5, example 5.2, page 226.
    """
    return (1.0 - slip) * air_gap_power
