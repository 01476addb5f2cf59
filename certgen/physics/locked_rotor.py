"""Locked-rotor current, torque and apparent power, and how they follow the supply."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.physics.domain import require_positive

Array = NDArray[np.float64]
FloatOrArray = float | Array

#: Mechanical horsepower of 550 ft*lbf/s. [W] Exact by the definitions of foot and pound-force, NIST SP 811 (2008), B.8.
HORSEPOWER = 550.0 * 0.3048 * 4.4482216152605


def supply_ratio(
    voltage: FloatOrArray, frequency: FloatOrArray, *, at_voltage: FloatOrArray, at_frequency: FloatOrArray
) -> FloatOrArray:
    """Flux at another supply over flux at the supply of the test: volts per hertz over volts per hertz.

    Parameters
    ----------
    voltage, frequency : float or array, shape (n,)
        Supply of the test, > 0. [V], [Hz]
    at_voltage, at_frequency : float or array, shape (n,)
        The other supply, > 0. [V], [Hz]

    Returns
    -------
    float or array, shape (n,)
        (V2 / f2) / (V1 / f1). [1]

    Raises
    ------
    ValueError
        A voltage or frequency is not above 0.

    References
    ----------
    C. I. Hubert, Electric Machines, chapter 5, examples 5.7 and 5.8, pages 192 and 193.
    """
    for value, name in (
        (voltage, "tested voltage"),
        (frequency, "tested frequency"),
        (at_voltage, "voltage"),
        (at_frequency, "frequency"),
    ):
        require_positive(value, name)
    return (at_voltage / at_frequency) / (voltage / frequency)


def locked_rotor_current_at(current: FloatOrArray, ratio: FloatOrArray) -> FloatOrArray:
    """Locked-rotor current of an induction motor at another supply.

    Parameters
    ----------
    current : float or array, shape (n,)
        Locked-rotor current of the test. [A]
    ratio : float or array, shape (n,)
        Of :func:`supply_ratio`; at one frequency the ratio of voltages. [1]

    Returns
    -------
    float or array, shape (n,)
        I2 = I1 ratio: reactances outweigh resistances at standstill and are taken as constant. Saturation makes
        the true current of a higher voltage greater. [A]

    References
    ----------
    C. I. Hubert, Electric Machines, chapter 5, example 5.7, page 192.
    """
    return current * ratio


def locked_rotor_torque_at(torque: FloatOrArray, ratio: FloatOrArray) -> FloatOrArray:
    """Locked-rotor torque of an induction motor at another supply.

    Parameters
    ----------
    torque : float or array, shape (n,)
        Locked-rotor torque of the test. [N*m]
    ratio : float or array, shape (n,)
        Of :func:`supply_ratio`; at one frequency the ratio of voltages. [1]

    Returns
    -------
    float or array, shape (n,)
        T2 = T1 ratio^2. [N*m]

    References
    ----------
    C. I. Hubert, Electric Machines, chapter 5, examples 5.4 and 5.8, pages 185 and 193; I. L. Kosow, Electric
    Machinery and Transformers, 2nd ed., example 9-16, page 313.
    """
    return torque * ratio**2


def kva_per_horsepower(apparent_power: FloatOrArray, rated_power: FloatOrArray) -> FloatOrArray:
    """Locked-rotor apparent power for each rated horsepower, which the code letter stands for.

    Parameters
    ----------
    apparent_power : float or array, shape (n,)
        With the rotor locked at rated voltage and frequency: sqrt(3) V I of a three-phase, V I of a single-phase
        motor. [V*A]
    rated_power : float or array, shape (n,)
        Rated shaft power, > 0. [W]

    Returns
    -------
    float or array, shape (n,)
        Kilovolt-amperes over horsepower of 550 ft*lbf/s. [kVA/hp]

    Raises
    ------
    ValueError
        The rated power is not above 0.

    References
    ----------
    NEMA MG 1, 10.37.2; C. I. Hubert, Electric Machines, chapter 5, example 5.13, page 208.
    """
    require_positive(rated_power, "rated power")
    return (apparent_power / 1000.0) / (rated_power / HORSEPOWER)
