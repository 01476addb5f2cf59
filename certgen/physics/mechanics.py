"""Torque and power at a shaft, and the brakes, belts and gears that carry them."""

from __future__ import annotations

import numpy as np

from certgen.physics.domain import (
    FloatOrArray,
    quotient,
    require_fraction,
    require_not_negative,
    require_positive,
)

#: Standard acceleration of gravity. [m/s^2] Exact by definition: 3rd CGPM (1901), in NIST SP 811 (2008), B.8.
STANDARD_GRAVITY = 9.80665


def shaft_power(torque: FloatOrArray, speed: FloatOrArray) -> FloatOrArray:
    """Power that a torque carries at a speed.

    Parameters
    ----------
    torque : float or array, shape (n,)
        Torque at the shaft. [N*m]
    speed : float or array, shape (n,)
        Angular speed of the same shaft. [rad/s]

    Returns
    -------
    float or array, shape (n,)
        Power, P = T w. [W]

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 21, example 19, page 367.

    Examples
    --------
    10 N*m at 150 rad/s carry 1.5 kW:

    >>> shaft_power(10.0, 150.0)
    1500.0
    """
    return torque * speed


def torque_at(power: FloatOrArray, speed: FloatOrArray) -> FloatOrArray:
    """Torque that gives a power at a speed.

    Parameters
    ----------
    power : float or array, shape (n,)
        Power at the shaft. [W]
    speed : float or array, shape (n,)
        Angular speed of the same shaft. [rad/s]

    Returns
    -------
    float or array, shape (n,)
        Torque, T = P / w; NaN where the shaft stands still. [N*m]

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 21, example 19, page 367, solved for torque.

    Examples
    --------
    >>> torque_at(1500.0, 150.0)
    10.0
    """
    return quotient(power, speed, defined=np.asarray(speed) != 0.0)


def weight(mass: FloatOrArray, gravity: FloatOrArray) -> FloatOrArray:
    """Force with which a mass presses on its support.

    Parameters
    ----------
    mass : float or array, shape (n,)
        Mass as a scale shows it. [kg]
    gravity : float or array, shape (n,)
        Acceleration of free fall at the place, > 0. [m/s^2]

    Returns
    -------
    float or array, shape (n,)
        Weight, F = m g. [N]

    Raises
    ------
    ValueError
        Gravity is not above 0.

    References
    ----------
    NIST Special Publication 811 (2008), section 8.3: weight is a force.

    Examples
    --------
    A scale that shows 2 kg, where a kilogram weighs 9.81 N:

    >>> weight(2.0, 9.81)
    19.62
    """
    require_positive(gravity, "gravity")
    return mass * gravity


def lever_arm_torque(force: FloatOrArray, arm_length: FloatOrArray) -> FloatOrArray:
    """Torque on a cradled absorber from the force at the end of its arm.

    Parameters
    ----------
    force : float or array, shape (n,)
        Force of the scale, at right angles to the arm. [N]
    arm_length : float or array, shape (n,)
        From the axis of the shaft to the point of contact, > 0. [m]

    Returns
    -------
    float or array, shape (n,)
        Torque, T = F r. [N*m]

    Raises
    ------
    ValueError
        The arm is not longer than 0.

    References
    ----------
    R. Anandanatarajan, Electrical Engineering, chapter 1, example 1.18, page 1.43.

    Examples
    --------
    20 N at the end of half a metre:

    >>> lever_arm_torque(20.0, 0.5)
    10.0
    """
    require_positive(arm_length, "arm length")
    return force * arm_length


def rope_brake_torque(
    tight_force: FloatOrArray,
    slack_force: FloatOrArray,
    drum_radius: FloatOrArray,
    rope_diameter: FloatOrArray = 0.0,
) -> FloatOrArray:
    """Torque of a rope around a drum, from the pulls at its two ends.

    Parameters
    ----------
    tight_force, slack_force : float or array, shape (n,)
        Pull of the end that the drum drags at, and of the other end. [N]
    drum_radius : float or array, shape (n,)
        Radius of the drum under the rope, > 0. [m]
    rope_diameter : float or array, shape (n,)
        Diameter of the rope, >= 0; the pull acts in its middle. [m]

    Returns
    -------
    float or array, shape (n,)
        Torque, T = (S1 - S2) (R + d / 2). [N*m]

    Raises
    ------
    ValueError
        The drum has no radius, or the rope diameter is negative.

    References
    ----------
    R. K. Rajput, A Textbook of Internal Combustion Engines, chapter 17, examples 17.9 and 17.10, pages 575
    and 576.

    Examples
    --------
    60 N against 10 N on a drum of 100 mm radius, a rope of 10 mm:

    >>> round(rope_brake_torque(60.0, 10.0, 0.1, 0.01), 9)
    5.25
    """
    require_positive(drum_radius, "drum radius")
    require_not_negative(rope_diameter, "rope diameter")
    return (tight_force - slack_force) * (drum_radius + rope_diameter / 2.0)


def motor_torque_through_drive(
    absorber_torque: FloatOrArray, ratio: FloatOrArray, efficiency: FloatOrArray
) -> FloatOrArray:
    """Torque of a motor that drives its absorber through a belt or a gear.

    The power flows from the motor to the absorber, so the motor supplies what the drive loses.

    Parameters
    ----------
    absorber_torque : float or array, shape (n,)
        Torque at the shaft of the absorber. [N*m]
    ratio : float or array, shape (n,)
        Motor speed over absorber speed, > 0. [1]
    efficiency : float or array, shape (n,)
        Power out of the drive over power into it, in (0, 1]. [1]

    Returns
    -------
    float or array, shape (n,)
        Torque at the shaft of the motor, T = T_a / (i eta). [N*m]

    Raises
    ------
    ValueError
        The ratio is not above 0, or the efficiency is outside (0, 1].

    References
    ----------
    R. Anandanatarajan, Electrical Engineering, chapter 1, example 1.18, page 1.43 (belt without loss); the
    efficiency by its definition.
    """
    require_positive(ratio, "drive ratio")
    require_fraction(efficiency, "drive efficiency")
    return absorber_torque / (ratio * efficiency)


def gear_output_speed(motor_speed: FloatOrArray, ratio: FloatOrArray) -> FloatOrArray:
    """Speed of the slow side of a gear or belt.

    Parameters
    ----------
    motor_speed : float or array, shape (n,)
        Speed of the motor. [rad/s]
    ratio : float or array, shape (n,)
        Motor speed over output speed, > 0. [1]

    Returns
    -------
    float or array, shape (n,)
        Speed of the output shaft, w / i. [rad/s]

    Raises
    ------
    ValueError
        The ratio is not above 0.

    References
    ----------
    R. Anandanatarajan, Electrical Engineering, chapter 1, example 1.18, page 1.43.

    Examples
    --------
    150 rad/s through a gear of 25 to 1:

    >>> gear_output_speed(150.0, 25.0)
    6.0
    """
    require_positive(ratio, "gear ratio")
    return motor_speed / ratio


def gear_motor_speed(output_speed: FloatOrArray, ratio: FloatOrArray) -> FloatOrArray:
    """Speed of the motor behind a gear or belt.

    Parameters
    ----------
    output_speed : float or array, shape (n,)
        Speed of the output shaft. [rad/s]
    ratio : float or array, shape (n,)
        Motor speed over output speed, > 0. [1]

    Returns
    -------
    float or array, shape (n,)
        Speed of the motor, w i. [rad/s]

    Raises
    ------
    ValueError
        The ratio is not above 0.

    References
    ----------
    R. Anandanatarajan, Electrical Engineering, chapter 1, example 1.18, page 1.43.

    Examples
    --------
    >>> gear_motor_speed(6.0, 25.0)
    150.0
    """
    require_positive(ratio, "gear ratio")
    return output_speed * ratio


def gear_loss(output_power: FloatOrArray, efficiency: FloatOrArray) -> FloatOrArray:
    """Power lost in a gear, from what leaves it.

    Parameters
    ----------
    output_power : float or array, shape (n,)
        Power at the output shaft. [W]
    efficiency : float or array, shape (n,)
        Power out of the gear over power into it, in (0, 1]. [1]

    Returns
    -------
    float or array, shape (n,)
        P_out (1 / eta - 1). [W]

    Raises
    ------
    ValueError
        The efficiency is outside (0, 1].

    References
    ----------
    By the definition of efficiency.

    Examples
    --------
    A gear of 90 % that gives 900 W loses 100 W:

    >>> round(gear_loss(900.0, 0.9), 9)
    100.0
    """
    require_fraction(efficiency, "gear efficiency")
    return output_power * (1.0 / efficiency - 1.0)


def accelerating_torque(inertia: FloatOrArray, acceleration: FloatOrArray) -> FloatOrArray:
    """Torque that changes the speed of a turning mass.

    Parameters
    ----------
    inertia : float or array, shape (n,)
        Moment of inertia, >= 0. [kg*m^2]
    acceleration : float or array, shape (n,)
        Rate of change of the speed, negative where it falls. [rad/s^2]

    Returns
    -------
    float or array, shape (n,)
        T = J dw/dt. [N*m]

    Raises
    ------
    ValueError
        The inertia is negative.

    References
    ----------
    B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. II, chapter 31 (retardation test:
    the rotational loss is J w dw/dt).

    Examples
    --------
    0.004 kg*m^2 that gains 100 rad/s each second:

    >>> accelerating_torque(0.004, 100.0)
    0.4
    """
    require_not_negative(inertia, "inertia")
    return inertia * acceleration


def referred_inertia(inertia: FloatOrArray, ratio: FloatOrArray) -> FloatOrArray:
    """Moment of inertia as it is felt at the other side of a drive without loss.

    Parameters
    ----------
    inertia : float or array, shape (n,)
        Moment of inertia at its own shaft. [kg*m^2]
    ratio : float or array, shape (n,)
        Speed of the inertia's own shaft over that of the other, > 0. [1]

    Returns
    -------
    float or array, shape (n,)
        J i^2, which holds the same energy at the other shaft's speed. [kg*m^2]

    Raises
    ------
    ValueError
        The ratio is not above 0.

    References
    ----------
    By the energy J w^2 / 2, which is the same at both shafts.

    Examples
    --------
    Felt at a shaft that turns half as fast, it is four times as large:

    >>> referred_inertia(0.004, 2.0)
    0.016
    """
    require_positive(ratio, "drive ratio")
    return inertia * ratio**2


# Torque on its way from a motor through a belt or gear to what absorbs it.


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


# What turns fast: the speed of a rim, and the pull on a mass that turns with it.


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

    Examples
    --------
    A disc of 0.2 m radius at 150 rad/s:

    >>> rim_speed(150.0, 0.2)
    30.0
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


# How the speed of a motor rises when its load is taken off.


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

    Examples
    --------
    150 rad/s that drop to 125 under load:

    >>> round(speed_regulation(150.0, 125.0), 9)
    0.2
    """
    require_positive(loaded_speed, "loaded speed")
    return no_load_speed / loaded_speed - 1.0
