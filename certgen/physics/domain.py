"""Where a formula holds: parameters that are refused, and quotients that have no value.

A parameter that no machine can have raises ``ValueError``. A reading that leaves a result without meaning
(no input power, a shaft at rest) gives NaN for that reading, as does a reading that is NaN.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

#: The array types of the whole program: SI floats, and what selects among them.
Array = NDArray[np.float64]
FloatOrArray = float | Array
BoolOrArray = bool | NDArray[np.bool_]
Mask = NDArray[np.bool_]
Index = NDArray[np.intp]


def require_positive(value: FloatOrArray, name: str) -> None:
    """Raise ``ValueError`` unless every value is above zero; NaN passes."""
    _refuse_where(value, np.asarray(value) <= 0.0, f"{name} must be above 0")


def require_not_negative(value: FloatOrArray, name: str) -> None:
    """Raise ``ValueError`` if any value is below zero; NaN passes."""
    _refuse_where(value, np.asarray(value) < 0.0, f"{name} must not be below 0")


def require_fraction(value: FloatOrArray, name: str) -> None:
    """Raise ``ValueError`` unless every value lies in (0, 1]; NaN passes."""
    numbers = np.asarray(value)
    _refuse_where(value, (numbers <= 0.0) | (numbers > 1.0), f"{name} must be above 0 and at most 1")


def quotient(numerator: FloatOrArray, denominator: FloatOrArray, *, defined: BoolOrArray) -> FloatOrArray:
    """Divide where ``defined`` is true, and give NaN where it is not.

    Parameters
    ----------
    numerator, denominator : float or array, shape (n,)
        The two terms, broadcast against each other.
    defined : bool or array of bool, shape (n,)
        Where the quotient has a meaning; the denominator must not be zero there.

    Returns
    -------
    float or array, shape (n,)
        The quotient, NaN where it is not defined.
    """
    return plain(np.asarray(numerator / np.where(defined, denominator, np.nan)))


def plain(values: Array) -> FloatOrArray:
    """Turn an array without dimensions into a float, and leave any other as it is."""
    return float(values) if values.ndim == 0 else values


def _refuse_where(value: FloatOrArray, refused: NDArray[np.bool_], rule: str) -> None:
    if refused.any():
        first = np.asarray(value)[refused].flat[0]
        raise ValueError(f"{rule}, got {first:g}")
