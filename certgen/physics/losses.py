"""Losses of a motor one by one: windings, core, friction and windage, stray load loss, and a brake's own friction."""

from __future__ import annotations

import math

import numpy as np

from certgen.physics.domain import FloatOrArray, plain, quotient
from certgen.physics.induction import air_gap_power, mechanical_power

_HALF_ROOT_THREE = math.sqrt(3.0) / 2.0


def three_phase_winding_loss(line_current: FloatOrArray, line_resistance: FloatOrArray) -> FloatOrArray:
    """Loss of a three-phase winding.

    Parameters
    ----------
    line_current : float or array, shape (n,)
        Current in a line, rms. [A]
    line_resistance : float or array, shape (n,)
        Resistance between two terminals at the temperature of the winding. [ohm]

    Returns
    -------
    float or array, shape (n,)
        P = 1.5 I^2 R, in star and in delta. [W]

    References
    ----------
    I. L. Kosow, Electric Machinery and Transformers, 2nd ed., chapter 12, example 12-15, page 438.

    Examples
    --------
    4 A in each line, 5 ohm between two of them, whatever the connection:

    >>> three_phase_winding_loss(4.0, 5.0)
    120.0
    """
    return 1.5 * line_current**2 * line_resistance


def winding_loss(current: FloatOrArray, resistance: FloatOrArray) -> FloatOrArray:
    """Loss of one winding, such as the armature or the field of a direct-current motor.

    Parameters
    ----------
    current : float or array, shape (n,)
        Current in it, rms. [A]
    resistance : float or array, shape (n,)
        Its resistance at its temperature. [ohm]

    Returns
    -------
    float or array, shape (n,)
        P = I^2 R. [W]

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 21, example 24, page 374.

    Examples
    --------
    >>> winding_loss(4.0, 5.0)
    80.0
    """
    return current**2 * resistance


def constant_loss(no_load_power: FloatOrArray, no_load_winding_loss: FloatOrArray) -> FloatOrArray:
    """Core loss with friction and windage, from running without load.

    Parameters
    ----------
    no_load_power : float or array, shape (n,)
        Electric power taken in without load. [W]
    no_load_winding_loss : float or array, shape (n,)
        Winding loss of the no-load current. [W]

    Returns
    -------
    float or array, shape (n,)
        P0 - I0^2 R. [W]

    References
    ----------
    I. L. Kosow, Electric Machinery and Transformers, 2nd ed., chapter 12, example 12-14, page 434.

    Examples
    --------
    160 W at no load, of which 20 W heat the winding:

    >>> constant_loss(160.0, 20.0)
    140.0
    """
    return no_load_power - no_load_winding_loss


def inner_voltage(
    line_voltage: FloatOrArray, line_current: FloatOrArray, input_power: FloatOrArray, line_resistance: FloatOrArray
) -> FloatOrArray:
    """Line voltage behind the resistance of the stator, which is what drives the core loss.

    Parameters
    ----------
    line_voltage : float or array, shape (n,)
        Voltage between lines, rms. [V]
    line_current : float or array, shape (n,)
        Current in a line, rms. [A]
    input_power : float or array, shape (n,)
        Electric power in. [W]
    line_resistance : float or array, shape (n,)
        Resistance between two terminals at the temperature of the winding. [ohm]

    Returns
    -------
    float or array, shape (n,)
        |U - (sqrt(3)/2) I R (cos phi - j sin phi)|; NaN where the voltage is not above 0. [V]

    References
    ----------
    IEC 60034-2-1:2014, method 2-1-1B, core loss; from memory.
    """
    volts = 2.0 * _HALF_ROOT_THREE * line_voltage
    active = quotient(input_power, volts, defined=np.asarray(volts) > 0.0)  # I cos phi
    # readings may show a power factor a little above 1
    reactive = np.sqrt(np.maximum(line_current**2 - active**2, 0.0))
    along = line_voltage - _HALF_ROOT_THREE * line_resistance * active
    across = _HALF_ROOT_THREE * line_resistance * reactive
    return plain(np.asarray(np.hypot(along, across)))


def friction_windage_at(no_load_loss: FloatOrArray, slip: FloatOrArray, *, exponent: float) -> FloatOrArray:
    """Friction and windage at the speed of a load.

    Parameters
    ----------
    no_load_loss : float or array, shape (n,)
        Friction and windage at synchronous speed. [W]
    slip : float or array, shape (n,)
        Slip under load, at most 1. [1]
    exponent : float
        Power of speed the loss is taken to go with; 0 for a constant loss. [1]

    Returns
    -------
    float or array, shape (n,)
        P_fw (1 - s)^exponent. [W]

    References
    ----------
    IEC 60034-2-1:2014, method 2-1-1B (exponent 2.5), from memory; IEEE Std 112 holds it constant, from memory.
    """
    return no_load_loss * np.maximum(1.0 - slip, 0.0) ** exponent


def residual_loss(input_power: FloatOrArray, shaft_power: FloatOrArray, *known: FloatOrArray) -> FloatOrArray:
    """What the known losses leave unexplained.

    Parameters
    ----------
    input_power : float or array, shape (n,)
        Electric power in. [W]
    shaft_power : float or array, shape (n,)
        Power at the shaft. [W]
    *known : float or array, shape (n,)
        Losses found otherwise. [W]

    Returns
    -------
    float or array, shape (n,)
        Input less output less every known loss. [W]

    References
    ----------
    C. I. Hubert, Electric Machines, chapter 4, example 4.6, page 159.
    """
    rest: FloatOrArray = input_power - shaft_power
    for loss in known:
        rest = rest - loss
    return rest


def stray_load_loss(slope: FloatOrArray, torque: FloatOrArray) -> FloatOrArray:
    """Stray load loss by its regression on torque squared, the intercept left out.

    Parameters
    ----------
    slope : float or array, shape (n,)
        Slope of residual loss over torque squared. [W/(N*m)^2]
    torque : float or array, shape (n,)
        Torque at the shaft. [N*m]

    Returns
    -------
    float or array, shape (n,)
        P = A T^2. [W]

    References
    ----------
    IEC 60034-2-1:2014, method 2-1-1B; IEEE Std 112, method B; both from memory.
    """
    return slope * torque**2


def slip_at(slip: FloatOrArray, resistance_ratio: FloatOrArray) -> FloatOrArray:
    """Slip of the same load at another rotor temperature.

    Parameters
    ----------
    slip : float or array, shape (n,)
        Slip as measured. [1]
    resistance_ratio : float or array, shape (n,)
        Winding resistance at the wanted temperature over that of the test; the rotor is taken to follow the
        stator. [1]

    Returns
    -------
    float or array, shape (n,)
        s (k + t_ref) / (k + t). [1]

    References
    ----------
    IEC 60034-2-1:2014, method 2-1-1B; IEEE Std 112, method B; both from memory.
    """
    return slip * resistance_ratio


def dynamometer_correction(
    *,
    input_power: FloatOrArray,
    stator_loss: FloatOrArray,
    core_loss: FloatOrArray,
    friction_windage: FloatOrArray,
    slip: FloatOrArray,
    speed: FloatOrArray,
    torque: FloatOrArray,
) -> FloatOrArray:
    """Torque that a coupled, unexcited brake takes and its scale does not see.

    Parameters
    ----------
    input_power, stator_loss, core_loss, friction_windage : float or array, shape (n,)
        Electric power in with the brake coupled and not excited, and the losses then. [W]
    slip : float or array, shape (n,)
        Slip then. [1]
    speed : float or array, shape (n,)
        Speed then, > 0. [rad/s]
    torque : float or array, shape (n,)
        Torque measured then. [N*m]

    Returns
    -------
    float or array, shape (n,)
        D = ((P - P_s - P_core)(1 - s) - P_fw) / w - T, to be added to every measured torque. [N*m]

    References
    ----------
    CSA C390, annex C, and IEEE Std 112, method B; from memory.
    """
    developed = mechanical_power(slip, air_gap_power(input_power, stator_loss + core_loss))
    return (developed - friction_windage) / speed - torque
