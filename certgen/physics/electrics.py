"""Electric power, power factor and unbalance at a motor's terminals, and what becomes of the input."""

from __future__ import annotations

import math

import numpy as np

from certgen.physics.domain import FloatOrArray, quotient

_ROOT_THREE = math.sqrt(3.0)


def three_phase_apparent_power(line_voltage: FloatOrArray, line_current: FloatOrArray) -> FloatOrArray:
    """Apparent power of a balanced three-phase load.

    Parameters
    ----------
    line_voltage : float or array, shape (n,)
        Voltage between lines, rms. [V]
    line_current : float or array, shape (n,)
        Current in a line, rms. [A]

    Returns
    -------
    float or array, shape (n,)
        Apparent power, S = sqrt(3) V I, in star and in delta. [V*A]

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 19, pages 309 to 311.

    Examples
    --------
    400 V between lines and 3.4 A in each:

    >>> round(three_phase_apparent_power(400.0, 3.4), 1)
    2355.6
    """
    return _ROOT_THREE * line_voltage * line_current


def single_phase_apparent_power(voltage: FloatOrArray, current: FloatOrArray) -> FloatOrArray:
    """Apparent power of a single-phase load.

    Parameters
    ----------
    voltage : float or array, shape (n,)
        Voltage at the terminals, rms. [V]
    current : float or array, shape (n,)
        Current, rms. [A]

    Returns
    -------
    float or array, shape (n,)
        Apparent power, S = V I. [V*A]

    References
    ----------
    I. L. Kosow, Electric Machinery and Transformers, 2nd ed., chapter 10, example 10-4, page 345.

    Examples
    --------
    >>> single_phase_apparent_power(230.0, 4.0)
    920.0
    """
    return voltage * current


def direct_current_power(voltage: FloatOrArray, current: FloatOrArray) -> FloatOrArray:
    """Power of a direct-current load.

    Parameters
    ----------
    voltage : float or array, shape (n,)
        Voltage at the terminals. [V]
    current : float or array, shape (n,)
        Current. [A]

    Returns
    -------
    float or array, shape (n,)
        Power, P = V I. [W]

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 21, example 19, page 367.

    Examples
    --------
    >>> direct_current_power(24.0, 5.0)
    120.0
    """
    return voltage * current


def power_factor(active: FloatOrArray, apparent: FloatOrArray) -> FloatOrArray:
    """Power factor from active and apparent power.

    Parameters
    ----------
    active : float or array, shape (n,)
        Active power. [W]
    apparent : float or array, shape (n,)
        Apparent power. [V*A]

    Returns
    -------
    float or array, shape (n,)
        Active over apparent power; NaN where the apparent power is not above 0. A value above 1 is returned
        as it comes: it shows readings that cannot be true. [1]

    References
    ----------
    I. L. Kosow, Electric Machinery and Transformers, 2nd ed., chapter 10, example 10-4, page 345.

    Examples
    --------
    1800 W of 2400 VA:

    >>> power_factor(1800.0, 2400.0)
    0.75
    """
    return quotient(active, apparent, defined=np.asarray(apparent) > 0.0)


def active_power(apparent: FloatOrArray, power_factor: FloatOrArray) -> FloatOrArray:
    """Active power from apparent power and power factor.

    Parameters
    ----------
    apparent : float or array, shape (n,)
        Apparent power. [V*A]
    power_factor : float or array, shape (n,)
        Power factor. [1]

    Returns
    -------
    float or array, shape (n,)
        Active power, P = S cos phi. [W]

    References
    ----------
    G. McPherson, An Introduction to Electrical Machines and Transformers, chapter 1, example 1-1, page 4.

    Examples
    --------
    >>> active_power(2400.0, 0.75)
    1800.0
    """
    return apparent * power_factor


def two_wattmeter_power(wattmeter_1: FloatOrArray, wattmeter_2: FloatOrArray) -> FloatOrArray:
    """Active power of a three-wire load from its two wattmeters.

    Parameters
    ----------
    wattmeter_1, wattmeter_2 : float or array, shape (n,)
        The two readings with their sign; below a power factor of 0.5 one of them is negative. [W]

    Returns
    -------
    float or array, shape (n,)
        Active power, P = W1 + W2, for any three-wire load. [W]

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 19, examples 15 and 17, pages 309, 310.

    Examples
    --------
    The lighter wattmeter turns back below a power factor of a half:

    >>> two_wattmeter_power(500.0, -100.0)
    400.0
    """
    return wattmeter_1 + wattmeter_2


def two_wattmeter_power_factor(wattmeter_1: FloatOrArray, wattmeter_2: FloatOrArray) -> FloatOrArray:
    """Power factor of a balanced three-wire load on sine voltages from its two wattmeters.

    Parameters
    ----------
    wattmeter_1, wattmeter_2 : float or array, shape (n,)
        The two readings with their sign. [W]

    Returns
    -------
    float or array, shape (n,)
        cos(atan(sqrt(3) (W1 - W2) / (W1 + W2))), the same in either order; NaN where the sum is not
        above 0. [1]

    References
    ----------
    J. Bird, Electrical Circuit Theory and Technology, chapter 19, examples 15 and 17, pages 309, 310.

    Examples
    --------
    Two that read the same mean a power factor of 1; one that reads nothing, of a half:

    >>> two_wattmeter_power_factor(300.0, 300.0)
    1.0
    >>> round(two_wattmeter_power_factor(300.0, 0.0), 9)
    0.5
    """
    total = wattmeter_1 + wattmeter_2
    difference = _ROOT_THREE * (wattmeter_1 - wattmeter_2)
    # total / hypot is the cosine of that angle, without going through the angle
    return quotient(total, np.hypot(total, difference), defined=np.asarray(total) > 0.0)


def mean_of_lines(ab: FloatOrArray, bc: FloatOrArray, ca: FloatOrArray) -> FloatOrArray:
    """Mean of the three line voltages or currents.

    Parameters
    ----------
    ab, bc, ca : float or array, shape (n,)
        The three readings, all in one unit. [V or A]

    Returns
    -------
    float or array, shape (n,)
        Arithmetic mean. [V or A]

    References
    ----------
    NEMA MG 1, 12.45 and 14.36: the average voltage.

    Examples
    --------
    >>> mean_of_lines(398.0, 400.0, 402.0)
    400.0
    """
    return (ab + bc + ca) / 3.0


def unbalance(ab: FloatOrArray, bc: FloatOrArray, ca: FloatOrArray) -> FloatOrArray:
    """Unbalance of the three line voltages or currents.

    Parameters
    ----------
    ab, bc, ca : float or array, shape (n,)
        The three readings, all in one unit. [V or A]

    Returns
    -------
    float or array, shape (n,)
        Largest deviation from the mean over the mean; NaN where the mean is not above 0. [1]

    References
    ----------
    NEMA MG 1, 12.45 and 14.36.

    Examples
    --------
    Lines of 390, 400 and 410 V: the farthest is 10 V off a mean of 400:

    >>> unbalance(390.0, 400.0, 410.0)
    0.025
    """
    mean = mean_of_lines(ab, bc, ca)
    largest = np.maximum(np.maximum(np.abs(ab - mean), np.abs(bc - mean)), np.abs(ca - mean))
    return quotient(largest, mean, defined=np.asarray(mean) > 0.0)


def efficiency(shaft_power: FloatOrArray, input_power: FloatOrArray) -> FloatOrArray:
    """Efficiency of a motor by the direct method.

    Parameters
    ----------
    shaft_power : float or array, shape (n,)
        Power at the shaft. [W]
    input_power : float or array, shape (n,)
        Electric power in. [W]

    Returns
    -------
    float or array, shape (n,)
        P_out / P_in; NaN where the input is not above 0. A value above 1 is returned as it comes. [1]

    References
    ----------
    G. McPherson, An Introduction to Electrical Machines and Transformers, chapter 1, example 1-1, page 4.

    Examples
    --------
    >>> efficiency(1500.0, 2000.0)
    0.75
    """
    return quotient(shaft_power, input_power, defined=np.asarray(input_power) > 0.0)


def losses(shaft_power: FloatOrArray, input_power: FloatOrArray) -> FloatOrArray:
    """All losses of a motor together.

    Parameters
    ----------
    shaft_power : float or array, shape (n,)
        Power at the shaft. [W]
    input_power : float or array, shape (n,)
        Electric power in. [W]

    Returns
    -------
    float or array, shape (n,)
        P_in - P_out. [W]

    References
    ----------
    G. McPherson, An Introduction to Electrical Machines and Transformers, chapter 1, example 1-1, page 4.

    Examples
    --------
    >>> losses(1500.0, 2000.0)
    500.0
    """
    return input_power - shaft_power
