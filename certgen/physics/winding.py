"""Resistance of a winding over temperature and between terminals, and of its insulation."""

from __future__ import annotations

import numpy as np

from certgen.physics.domain import FloatOrArray, plain, require_positive

_ICE_POINT = 273.15  # K


def resistance_at(
    resistance: FloatOrArray, temperature: FloatOrArray, target: FloatOrArray, *, constant: float
) -> FloatOrArray:
    """Resistance of a winding at another temperature.

    Parameters
    ----------
    resistance : float or array, shape (n,)
        Resistance as measured, > 0. [ohm]
    temperature : float or array, shape (n,)
        Temperature at which it was measured. [K]
    target : float or array, shape (n,)
        Temperature it is wanted at. [K]
    constant : float
        Temperature below 0 degC at which the linear law gives no resistance, as a positive number: 234.5 or 235
        for copper, 225 for aluminium. [degC]

    Returns
    -------
    float or array, shape (n,)
        R_t = R (k + t) / (k + t1), both temperatures in degC. [ohm]

    Raises
    ------
    ValueError
        A resistance is not above 0, or a temperature lies where the linear law gives none.

    References
    ----------
    IEC 60034-1, 8.6.2.3.3 (k = 235) and IEEE Std 112 (k = 234.5), both from memory.

    Examples
    --------
    Copper of 4 ohm at 20 degC, brought to 25 degC:

    >>> round(resistance_at(4.0, 293.15, 298.15, constant=235.0), 4)
    4.0784
    """
    require_positive(resistance, "winding resistance")
    return resistance * (_above_zero(target, constant) / _above_zero(temperature, constant))


def temperature_by_resistance(
    resistance: FloatOrArray, cold_resistance: float, cold_temperature: float, *, constant: float
) -> FloatOrArray:
    """Temperature of a winding from its resistance.

    Parameters
    ----------
    resistance : float or array, shape (n,)
        Resistance at the wanted moment, > 0. [ohm]
    cold_resistance : float
        Resistance of the same winding at a known temperature, > 0. [ohm]
    cold_temperature : float
        That temperature. [K]
    constant : float
        As for :func:`resistance_at`. [degC]

    Returns
    -------
    float or array, shape (n,)
        t = R / R1 (k + t1) - k. [K]

    Raises
    ------
    ValueError
        As :func:`resistance_at`.

    References
    ----------
    IEC 60034-1, 8.6.2.3.3, from memory.

    Examples
    --------
    The same copper at 5 ohm:

    >>> round(temperature_by_resistance(5.0, 4.0, 293.15, constant=235.0) - 273.15, 9)
    83.75
    """
    require_positive(resistance, "winding resistance")
    require_positive(cold_resistance, "winding resistance")
    return resistance / cold_resistance * _above_zero(cold_temperature, constant) + no_resistance(constant)


def resistance_between_lines(phase_resistance: float, connection: str) -> float:
    """Resistance between two terminals of a three-phase winding from that of one phase.

    Parameters
    ----------
    phase_resistance : float
        Resistance of one phase by itself, > 0. [ohm]
    connection : {'star', 'delta'}
        How the three are joined.

    Returns
    -------
    float
        Twice the phase in star, two thirds of it in delta. [ohm]

    Raises
    ------
    ValueError
        The resistance is not above 0, or the connection is neither.

    References
    ----------
    Two equal resistances in series; one beside two in series (Ohm's law).

    Examples
    --------
    Two phases in a row in star, one beside two in a row in delta:

    >>> resistance_between_lines(3.0, 'star'), resistance_between_lines(3.0, 'delta')
    (6.0, 2.0)
    """
    require_positive(phase_resistance, "winding resistance")
    if connection == "star":
        return 2.0 * phase_resistance
    if connection == "delta":
        return phase_resistance * 2.0 / 3.0
    raise ValueError(f"a winding is joined in star or in delta, got {connection!r}")


def no_resistance(constant: float) -> float:
    """Temperature [K] at which the linear law of a constant [degC] gives no resistance; it holds above only."""
    return _ICE_POINT - constant


def _above_zero(temperature: FloatOrArray, constant: float) -> FloatOrArray:
    """Temperature above that of no resistance [K]."""
    above = np.asarray(temperature) - no_resistance(constant)
    require_positive(above, "temperature above that of no resistance")
    return float(above) if above.ndim == 0 else above


# Insulation resistance: correction to 40 degC, and the polarization index.


THERMOSETTING, THERMOPLASTIC = "thermosetting", "thermoplastic"


_REFERENCE = 40.0  # degC
#: Exponents of the thermosetting correction, below and above 40 degC [K], and the zero of temperature it uses [degC].
_COOL, _WARM, _ZERO = 1245.0, 4230.0, 273.0
#: Range over which the thermosetting correction is given. [degC]
_LEAST, _MOST = 10.0, 85.0


def correction_to_40(temperature: FloatOrArray, *, insulation: str) -> FloatOrArray:
    """Factor from an insulation resistance at a temperature to the one at 40 degC.

    Parameters
    ----------
    temperature : float or array, shape (n,)
        Temperature of the winding. [K]
    insulation : {'thermosetting', 'thermoplastic'}
        Kind of insulation: resin-bonded, or the asphaltic and shellac systems of before about 1960.

    Returns
    -------
    float or array, shape (n,)
        R_40 / R_T. Thermoplastic: the resistance halves for each 10 K, 0.5^((40 - t) / 10). Thermosetting:
        exp(-1245 (1 / (t + 273) - 1 / 313)) up to 40 degC, 4230 in place of 1245 above. NaN outside 10 to
        85 degC, over which the thermosetting formula is given. [1]

    Raises
    ------
    ValueError
        Unknown kind of insulation.

    References
    ----------
    IEEE Std 43-2013, 6.3, from memory.
    """
    celsius = np.asarray(temperature, dtype=np.float64) - _ICE_POINT
    if insulation == THERMOPLASTIC:
        factor = 0.5 ** ((_REFERENCE - celsius) / 10.0)
    elif insulation == THERMOSETTING:
        exponent = np.where(celsius <= _REFERENCE, _COOL, _WARM)
        factor = np.exp(-exponent * (1.0 / (celsius + _ZERO) - 1.0 / (_REFERENCE + _ZERO)))
    else:
        raise ValueError(f"insulation is thermosetting or thermoplastic, got {insulation!r}")
    # A reading said to be at the end of the range must not fall out of it by the rounding of its conversion.
    inside = (celsius >= _LEAST - 1e-9) & (celsius <= _MOST + 1e-9)
    return plain(np.asarray(np.where(inside, factor, np.nan)))


def polarization_index(at_1_min: FloatOrArray, at_10_min: FloatOrArray) -> FloatOrArray:
    """Polarization index of an insulation.

    Parameters
    ----------
    at_1_min, at_10_min : float or array, shape (n,)
        Insulation resistance after one and ten minutes of the test voltage, > 0. [ohm]

    Returns
    -------
    float or array, shape (n,)
        R_10 / R_1. [1]

    Raises
    ------
    ValueError
        A resistance is not above 0.

    References
    ----------
    IEEE Std 43-2013, 3.1 (definition; an instrument maker's manual citing IEEE 43-2000).

    Examples
    --------
    >>> polarization_index(200e6, 500e6)
    2.5
    """
    require_positive(at_1_min, "insulation resistance")
    require_positive(at_10_min, "insulation resistance")
    return at_10_min / at_1_min
