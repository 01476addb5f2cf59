"""Synchronous speed, slip, pole number, and the power flow through the air gap of an induction machine."""

from __future__ import annotations

import math

from certgen.physics.domain import FloatOrArray, require_fraction, require_not_negative, require_positive

#: How far a reading may stand above synchronous speed and still be taken for it. [1]
#: Common practice, no source.
_SPEED_READING_ERROR = 0.01
#: Most slip with which a running speed still gives the pole number. [1] Common practice, no source.
_LARGEST_RUNNING_SLIP = 0.25
#: Most poles a motor is thought to have where nobody says. Common practice, no source.
_MOST_USUAL_POLES = 24
#: Rounding of a speed converted from and to rpm. [rpm]
_WRITTEN = 1e-6


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

    Examples
    --------
    Four poles at 50 Hz turn at 1500 rpm:

    >>> round(synchronous_speed(50.0, 4) * 30.0 / math.pi, 9)
    1500.0
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

    Examples
    --------
    96 rad/s behind a field of 100 rad/s:

    >>> slip(96.0, 100.0)
    0.04
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

    Examples
    --------
    >>> speed_at_slip(0.04, 100.0)
    96.0
    """
    require_positive(synchronous_speed, "synchronous speed")
    return synchronous_speed * (1.0 - slip)


def poles_from_speed(speed: float, frequency: float) -> int | None:
    """Pole number that a running speed implies.

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

    Examples
    --------
    1420 rpm on 50 Hz is a motor of four poles:

    >>> poles_from_speed(1420.0 * math.pi / 30.0, 50.0)
    4
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


def is_synchronous(speed: float, frequency: float, poles: int | None) -> bool:
    """Whether a speed on a plate is the synchronous speed itself, so that it says nothing of slip.

    Parameters
    ----------
    speed : float
        Speed on the plate. [rad/s]
    frequency : float
        Rated frequency, > 0. [Hz]
    poles : int or None
        Number of poles; where it is not known, any of 2 to 24 will do.

    Returns
    -------
    bool
        Whether the speed is 120 f / p as a plate prints it, in whole rpm.

    Raises
    ------
    ValueError
        As :func:`synchronous_speed`.

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 22, example 5, page 392; whole rpm on plates are common
    practice.
    """
    rpm = 30.0 * speed / math.pi
    counts = range(2, _MOST_USUAL_POLES + 1, 2) if poles is None else (poles,)
    exact = (30.0 * float(synchronous_speed(frequency, count)) / math.pi for count in counts)
    return any(min(abs(rpm - one), abs(rpm - math.floor(one + 0.5))) < _WRITTEN for one in exact)


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

    Examples
    --------
    At 4 % slip the rotor's currents swing twice a second on 50 Hz:

    >>> rotor_frequency(0.04, 50.0)
    2.0
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

    Examples
    --------
    2000 W taken, 150 W lost in the stator:

    >>> air_gap_power(2000.0, 150.0)
    1850.0
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

    Examples
    --------
    Of 2000 W across the gap, 4 % heat the rotor and the rest turns the shaft:

    >>> rotor_loss(0.04, 2000.0)
    80.0
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

    Examples
    --------
    >>> mechanical_power(0.04, 2000.0)
    1920.0
    """
    return (1.0 - slip) * air_gap_power


# What an induction motor does at part load and overload, estimated from its plate: torque, speed and current.
#
# Estimates for the bench before a test, not measurements.


def torque_part_of_power(power_part: float, rated_slip: float) -> float | None:
    """Torque over rated torque at a part of rated power, the slip being in proportion to torque.

    Parameters
    ----------
    power_part : float
        Shaft power over rated power, >= 0. [1]
    rated_slip : float
        Slip at rated load, in (0, 1]. [1]

    Returns
    -------
    float or None
        The lesser root x of x (1 - s x) = p (1 - s); ``None`` where the line of slip never gives that power. [1]

    Raises
    ------
    ValueError
        The part is negative, or the slip is outside (0, 1].

    References
    ----------
    P = T w with w = w_s (1 - s x); slip in proportion to torque as :func:`slip_of_torque_part`.
    """
    require_not_negative(power_part, "part of rated power")
    require_fraction(rated_slip, "rated slip")
    under_root = 1.0 - 4.0 * rated_slip * (1.0 - rated_slip) * power_part
    if under_root < 0.0:
        return None
    return 2.0 * power_part * (1.0 - rated_slip) / (1.0 + math.sqrt(under_root))


def slip_of_torque_part(torque_part: float, rated_slip: float) -> float:
    """Slip at a part of rated torque, on the straight line from synchronous speed through the rated point.

    Parameters
    ----------
    torque_part : float
        Torque over rated torque, >= 0. [1]
    rated_slip : float
        Slip at rated load, in (0, 1]. [1]

    Returns
    -------
    float
        s x. [1]

    Raises
    ------
    ValueError
        The part is negative, or the slip is outside (0, 1].

    References
    ----------
    The slip method of estimating load: US Department of Energy, Motor Challenge fact sheet "Determining electric
    motor load and efficiency" (the equation from memory). It holds while slip is small; the rotor's temperature and
    the supply's voltage move it.
    """
    require_not_negative(torque_part, "part of rated torque")
    require_fraction(rated_slip, "rated slip")
    return rated_slip * torque_part


def current_at_torque_part(torque_part: float, rated_current: float, rated_power_factor: float) -> float:
    """Line current of a three-phase motor at a part of rated torque.

    Parameters
    ----------
    torque_part : float
        Torque over rated torque, >= 0. [1]
    rated_current : float
        Current at rated load, > 0. [A]
    rated_power_factor : float
        Power factor at rated load, in (0, 1]. [1]

    Returns
    -------
    float
        I sqrt((x cos phi)^2 + sin^2 phi). [A]

    Raises
    ------
    ValueError
        A parameter is outside its range.

    References
    ----------
    Common practice, no source: the active current goes with torque, the reactive current stays. As true reactive
    current falls with the load, this reads high below rated load and a little low above it.
    """
    require_not_negative(torque_part, "part of rated torque")
    require_positive(rated_current, "rated current")
    require_fraction(rated_power_factor, "rated power factor")
    active = torque_part * rated_power_factor
    return rated_current * math.sqrt(active**2 + 1.0 - rated_power_factor**2)


# Locked-rotor current, torque and apparent power, and how they follow the supply.


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

    Examples
    --------
    At half the voltage a quarter of the torque is left, so 5 N*m there are 20 at the full one:

    >>> locked_rotor_torque_at(5.0, 2.0)
    20.0
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
