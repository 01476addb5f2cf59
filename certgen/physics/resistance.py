"""Resistance of a winding: over temperature, and between terminals."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.physics.domain import require_positive

Array = NDArray[np.float64]
FloatOrArray = float | Array

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
