"""What a motor tested on a supply off its plate would do on the plate's own, at the same shaft power.

The exponents are those of whole motors, drawn over the range this program is for (0.1 to 15 kW) and solved at 90 to 110 %
of rated voltage: a mean, and the bounds that hold 95 % of them. Textbooks state the leading terms alone: slip with the
inverse square of voltage, the active part of a current with its inverse, the speed of a constant field with voltage.
``tests/physics/test_off_rating.py`` solves induction motors again, the study ``tests/studies/verdicts.py`` all kinds.
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


@dataclass(frozen=True)
class InductionExponents:
    """How the figures of an induction motor follow its supply, s ~ U**-slip, I_a ~ U**-active, I_r ~ (U/f)**reactive."""

    slip: Spread
    active: Spread
    reactive: Spread
    losses: Spread  # P_v ~ U**-losses


@dataclass(frozen=True)
class CommutatorExponents:
    """How the figures of a motor with a commutator follow its voltage: n ~ U**speed, I ~ U**-current, P_v ~ U**-losses."""

    speed: Spread
    current: Spread
    losses: Spread


THREE_PHASE = InductionExponents(Spread(2.3, 0.4), Spread(1.05, 0.2), Spread(1.1, 1.4), Spread(0.3, 1.3))
SINGLE_PHASE = InductionExponents(Spread(2.3, 0.4), Spread(1.05, 0.3), Spread(1.9, 1.9), Spread(-1.2, 1.7))
CONSTANT_FIELD = CommutatorExponents(Spread(1.75, 0.5), Spread(1.4, 0.45), Spread(1.0, 1.2))
SHUNT = CommutatorExponents(Spread(0.87, 0.3), Spread(1.1, 0.25), Spread(0.3, 0.75))
SERIES = CommutatorExponents(Spread(2.1, 0.5), Spread(1.2, 0.35), Spread(0.6, 1.1))
#: Where the excitation of a direct-current motor is not known, or is a compound: anything between shunt and series.
ANY_EXCITATION = CommutatorExponents(Spread(1.6, 1.0), Spread(1.3, 0.5), Spread(0.6, 1.4))
UNIVERSAL = CommutatorExponents(Spread(3.6, 1.7), Spread(1.5, 1.0), Spread(0.2, 1.9))


def slip_at_rated_voltage(
    slip: FloatOrArray, voltage_ratio: FloatOrArray, *, exponent: FloatOrArray = THREE_PHASE.slip.mean
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
    active_exponent: FloatOrArray = THREE_PHASE.active.mean,
    reactive_exponent: FloatOrArray = THREE_PHASE.reactive.mean,
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
    active_exponent: FloatOrArray = THREE_PHASE.active.mean,
    reactive_exponent: FloatOrArray = THREE_PHASE.reactive.mean,
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
    efficiency: FloatOrArray, voltage_ratio: FloatOrArray, *, losses_exponent: FloatOrArray = THREE_PHASE.losses.mean
) -> FloatOrArray:
    """Efficiency at rated voltage and the same shaft power.

    Parameters
    ----------
    efficiency : float or array, shape (n,)
        Efficiency as measured, above 0 and at most 1. [1]
    voltage_ratio : float or array, shape (n,)
        Voltage of the test over rated voltage, > 0. [1]
    losses_exponent : float or array, shape (n,)
        How the losses follow voltage: those in windings fall with its square, those in the core grow with it. [1]

    Returns
    -------
    float or array, shape (n,)
        Efficiency at rated voltage. [1]

    Raises
    ------
    ValueError
        Where the ratio is not above 0, or the efficiency not between 0 and 1.
    """
    require_positive(voltage_ratio, "voltage ratio")
    require_fraction(efficiency, "efficiency")
    losses = (1.0 / np.asarray(efficiency) - 1.0) * np.asarray(voltage_ratio) ** losses_exponent
    return plain(1.0 / (1.0 + losses))


def power_law_at_rated_voltage(
    value: FloatOrArray, voltage_ratio: FloatOrArray, *, exponent: FloatOrArray
) -> FloatOrArray:
    """Speed or current of a motor with a commutator at rated voltage and the same shaft power.

    Parameters
    ----------
    value : float or array, shape (n,)
        As measured. [its own unit]
    voltage_ratio : float or array, shape (n,)
        Voltage of the test over rated voltage, > 0. [1]
    exponent : float or array, shape (n,)
        x_N = x (U / U_N)^e: negative for a speed, which rises with voltage. [1]

    Returns
    -------
    float or array, shape (n,)
        At rated voltage. [as value]

    Raises
    ------
    ValueError
        Where the ratio is not above 0.

    Notes
    -----
    With a constant field n ~ U - I R (S. J. Chapman, Electric Machinery Fundamentals, 4th ed., section 9.4, from memory);
    at the same power the current falls as voltage rises, so that speed follows it by more than in proportion.

    Examples
    --------
    >>> round(power_law_at_rated_voltage(100.0, 0.95, exponent=-1.0), 2)
    105.26
    """
    require_positive(voltage_ratio, "voltage ratio")
    return plain(np.asarray(value) * np.asarray(voltage_ratio) ** exponent)
