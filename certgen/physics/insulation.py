"""Insulation resistance: correction to 40 degC, and the polarization index."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.physics.domain import plain, require_positive

Array = NDArray[np.float64]
FloatOrArray = float | Array

THERMOSETTING, THERMOPLASTIC = "thermosetting", "thermoplastic"

_ICE_POINT = 273.15  # K
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
    """
    require_positive(at_1_min, "insulation resistance")
    require_positive(at_10_min, "insulation resistance")
    return at_10_min / at_1_min
