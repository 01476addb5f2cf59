"""What an induction motor does at part load and overload, estimated from its plate: torque, speed and current.

Estimates for the bench before a test, not measurements.
"""

from __future__ import annotations

import math

from certgen.physics.domain import require_fraction, require_not_negative, require_positive


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
