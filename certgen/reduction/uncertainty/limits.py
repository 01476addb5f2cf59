"""Uncertain inputs from what a rig states: a limit of error, an expanded uncertainty, or nothing."""

from __future__ import annotations

import math

from certgen.document.build import Toleranced
from certgen.physics.uncertainty import half_width_to_standard
from certgen.reduction.uncertainty.model import Shift, UncertainInput

#: Part of a value by which it is moved to see what depends on it, where nobody says how sure it is.
_ORDINARY = 1e-3


def ordinary_step(size: float) -> float:
    """An error of ordinary size for a value of this size; 1e-3 where the value is zero. [as the value]"""
    return _ORDINARY * abs(size) or _ORDINARY


def within(
    name: str, unit: str, limit: float, shift: Shift, *, shared: bool, estimate: float | None = None
) -> UncertainInput:
    """An error that lies within a limit either side, nowhere more likely than elsewhere.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7: a / sqrt(3).
    """
    standard = float(half_width_to_standard(limit, "rectangular"))
    return UncertainInput(name, unit, standard, shift, shared=shared, step=standard, estimate=estimate)


def unstated(name: str, unit: str, shift: Shift, *, size: float, lacking: str, shared: bool = True) -> UncertainInput:
    """An error of which the files say nothing; ``lacking`` is what would say it, ``size`` the value's own."""
    return UncertainInput(name, unit, math.nan, shift, shared=shared, step=ordinary_step(size), lacking=lacking)


def toleranced(name: str, unit: str, value: Toleranced, shift: Shift, *, lacking: str) -> UncertainInput:
    """The error of a value written with its tolerance or expanded uncertainty.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7 (tolerance), 4.3.3 (expanded uncertainty with k = 2).
    """
    if value.tolerance is not None:
        return within(name, unit, value.tolerance, shift, shared=True, estimate=value.value)
    if value.expanded_uncertainty is not None:
        standard = float(half_width_to_standard(value.expanded_uncertainty, "normal"))
        return UncertainInput(
            name, unit, standard, shift, shared=True, step=standard, estimate=value.value, distribution="normal"
        )
    return unstated(name, unit, shift, size=value.value, lacking=lacking)
