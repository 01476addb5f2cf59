"""What a motor tested on a supply off its plate would do on the plate's own, at the same shaft power.

The exponents are those of whole equivalent circuits with a magnetizing reactance that saturates, drawn over the range of
motors this program is for (0.1 to 15 kW; slip 1 to 8 %, power factor 0.62 to 0.94) and solved at 90 to 110 % of rated
voltage: a mean and the bounds that hold 95 % of them. Textbooks state the leading terms alone: slip with the inverse
square of voltage, the active part of the current with its inverse. ``tests/physics/test_off_rating.py`` solves the
circuits again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array, FloatOrArray, plain, require_fraction, require_positive


@dataclass(frozen=True)
class Spread:
    """A number that differs from motor to motor: its mean, and how far it lies from it at most."""

    mean: float
    half_width: float


#: Slip goes with this power of rated voltage over the voltage it was measured at, read upside down: s ~ U**-e.
SLIP_EXPONENT = Spread(2.3, 0.4)
#: Active part of the current: I_a ~ U**-e.
ACTIVE_EXPONENT = Spread(1.05, 0.2)
#: Reactive part of the current, magnetizing and leakage together: I_r ~ (U/f)**e.
REACTIVE_EXPONENT = Spread(1.1, 1.4)
#: Part of the losses that grows with voltage squared; the rest falls with it.
VOLTAGE_LOSS_SHARE = Spread(0.42, 0.33)
#: Drop in the armature circuit at rated load, in parts of rated voltage. Common practice, no source.
ARMATURE_DROP = Spread(0.09, 0.06)


def slip_at_rated_voltage(
    slip: FloatOrArray, voltage_ratio: FloatOrArray, *, exponent: FloatOrArray = SLIP_EXPONENT.mean
) -> FloatOrArray:
    """Slip at rated voltage and the same shaft power.

    Parameters
    ----------
    slip : float or array, shape (n,)
        Slip as measured. [1]
    voltage_ratio : float or array, shape (n,)
        Voltage of the test over rated voltage, > 0. [1]
    exponent : float or array, shape (n,)
        How slip follows voltage. [1]

    Returns
    -------
    float or array, shape (n,)
        Slip at rated voltage. [1]

    Raises
    ------
    ValueError
        Where the ratio is not above 0.

    Notes
    -----
    s_N = s (U / U_N)^e. At small slip torque is proportional to s U^2 / omega_s (A. E. Fitzgerald et al., Electric
    Machinery, 6th ed., section 6.4, from memory), so e = 2 at constant torque; the drop in the stator makes it a
    little more.

    Examples
    --------
    >>> round(slip_at_rated_voltage(0.05, 0.9, exponent=2.0), 4)
    0.0405
    """
    require_positive(voltage_ratio, "voltage ratio")
    return plain(np.asarray(slip) * np.asarray(voltage_ratio) ** exponent)


def current_at_rated_supply(
    current: FloatOrArray,
    power_factor: FloatOrArray,
    voltage_ratio: FloatOrArray,
    frequency_ratio: FloatOrArray = 1.0,
    *,
    active_exponent: FloatOrArray = ACTIVE_EXPONENT.mean,
    reactive_exponent: FloatOrArray = REACTIVE_EXPONENT.mean,
) -> FloatOrArray:
    """Line current of an induction motor at rated voltage and frequency and the same shaft power.

    Parameters
    ----------
    current : float or array, shape (n,)
        Line current as measured. [A]
    power_factor : float or array, shape (n,)
        Power factor as measured, from 0 to 1. [1]
    voltage_ratio : float or array, shape (n,)
        Voltage of the test over rated voltage, > 0. [1]
    frequency_ratio : float or array, shape (n,)
        Frequency of the test over rated frequency, > 0. [1]
    active_exponent, reactive_exponent : float or array, shape (n,)
        How both parts follow the supply. [1]

    Returns
    -------
    float or array, shape (n,)
        Line current at the rated supply. [A]

    Raises
    ------
    ValueError
        Where a ratio is not above 0, or a power factor not between 0 and 1.

    Notes
    -----
    The active part I cos(phi) falls as voltage rises, the reactive part grows with the flux, U/f.
    """
    parts = _parts_at_rated_supply(
        power_factor,
        voltage_ratio,
        frequency_ratio,
        active_exponent=active_exponent,
        reactive_exponent=reactive_exponent,
    )
    return plain(np.asarray(current) * np.hypot(*parts))


def power_factor_at_rated_supply(
    power_factor: FloatOrArray,
    voltage_ratio: FloatOrArray,
    frequency_ratio: FloatOrArray = 1.0,
    *,
    active_exponent: FloatOrArray = ACTIVE_EXPONENT.mean,
    reactive_exponent: FloatOrArray = REACTIVE_EXPONENT.mean,
) -> FloatOrArray:
    """Power factor of an induction motor at rated voltage and frequency and the same shaft power.

    Parameters, errors and method are those of :func:`current_at_rated_supply`; what is returned is the active part of
    its current over the whole. [1]
    """
    active, reactive = _parts_at_rated_supply(
        power_factor,
        voltage_ratio,
        frequency_ratio,
        active_exponent=active_exponent,
        reactive_exponent=reactive_exponent,
    )
    return plain(active / np.hypot(active, reactive))


def _parts_at_rated_supply(
    power_factor: FloatOrArray,
    voltage_ratio: FloatOrArray,
    frequency_ratio: FloatOrArray,
    *,
    active_exponent: FloatOrArray,
    reactive_exponent: FloatOrArray,
) -> tuple[Array, Array]:
    """Active and reactive part of the current at the rated supply, in parts of the current measured."""
    require_positive(voltage_ratio, "voltage ratio")
    require_positive(frequency_ratio, "frequency ratio")
    require_fraction(power_factor, "power factor")
    factor = np.asarray(power_factor)
    flux = np.asarray(voltage_ratio) / np.asarray(frequency_ratio)
    active = factor * np.asarray(voltage_ratio) ** active_exponent
    reactive = np.sqrt(1.0 - factor**2) * flux ** -np.asarray(reactive_exponent)
    return np.asarray(active), np.asarray(reactive)


def efficiency_at_rated_voltage(
    efficiency: FloatOrArray, voltage_ratio: FloatOrArray, *, voltage_loss_share: FloatOrArray = VOLTAGE_LOSS_SHARE.mean
) -> FloatOrArray:
    """Efficiency of an induction motor at rated voltage and the same shaft power.

    Parameters
    ----------
    efficiency : float or array, shape (n,)
        Efficiency as measured, above 0 and at most 1. [1]
    voltage_ratio : float or array, shape (n,)
        Voltage of the test over rated voltage, > 0. [1]
    voltage_loss_share : float or array, shape (n,)
        Part of the losses that grows with voltage squared; the rest falls with it. [1]

    Returns
    -------
    float or array, shape (n,)
        Efficiency at rated voltage. [1]

    Raises
    ------
    ValueError
        Where the ratio or the efficiency is not above 0.
    """
    require_positive(voltage_ratio, "voltage ratio")
    require_positive(efficiency, "efficiency")
    square = np.asarray(voltage_ratio) ** 2
    share = np.asarray(voltage_loss_share)
    losses = (1.0 / np.asarray(efficiency) - 1.0) * (share / square + (1.0 - share) * square)
    return plain(1.0 / (1.0 + losses))


def armature_speed_at_rated_voltage(
    speed: FloatOrArray, voltage_ratio: FloatOrArray, *, armature_drop: FloatOrArray = ARMATURE_DROP.mean
) -> FloatOrArray:
    """Speed of a motor with a constant field (permanent magnets, separate excitation) at rated voltage, same torque.

    Parameters
    ----------
    speed : float or array, shape (n,)
        Speed as measured. [rad/s]
    voltage_ratio : float or array, shape (n,)
        Armature voltage of the test over rated voltage, > 0. [1]
    armature_drop : float or array, shape (n,)
        Drop in the armature circuit, in parts of rated voltage. [1]

    Returns
    -------
    float or array, shape (n,)
        Speed at rated voltage; NaN where the drop takes all of the voltage. [rad/s]

    Raises
    ------
    ValueError
        Where the ratio is not above 0.

    Notes
    -----
    n ~ U - I R (S. J. Chapman, Electric Machinery Fundamentals, 4th ed., section 9.4, from memory).

    Examples
    --------
    >>> round(armature_speed_at_rated_voltage(100.0, 0.95, armature_drop=0.05), 2)
    105.56
    """
    require_positive(voltage_ratio, "voltage ratio")
    drop = np.asarray(armature_drop)
    left = np.asarray(voltage_ratio) - drop
    return plain(np.asarray(speed) * (1.0 - drop) / np.where(left > 0.0, left, np.nan))
