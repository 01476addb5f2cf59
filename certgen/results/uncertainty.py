"""Figures of the results with their uncertainty."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from certgen.job.rig import Meter
from certgen.physics.uncertainty import half_width_to_standard
from certgen.quantity import Quantity
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.inputs import limit_of_error
from certgen.reduction.uncertainty.linear import Correlated
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.standards.assumed_accuracy import assumed_accuracy


def errors_of(reduction: Reduction) -> Errors | None:
    """The errors of a test, where they were propagated."""
    errors: Errors | None = None if reduction.uncertainties is None else reduction.uncertainties.errors
    return errors


def quantity(value: float | None, unit: str, found: Uncertainty | None) -> Quantity | None:
    """A value with its unit and, where known, its uncertainty; ``None`` where there is no value."""
    if value is None or not math.isfinite(value):
        return None
    return with_uncertainty(Quantity(float(value), unit), found)


def with_uncertainty(known: Quantity, found: Uncertainty | None) -> Quantity:
    """A figure with its uncertainty, where that is known, and whether that rests on something assumed."""
    if found is None or found.expanded is None:
        return known
    return replace(
        known,
        expanded_uncertainty=found.expanded,
        coverage_factor=found.coverage_factor,
        assumed=bool(found.assumed),
    )


def with_errors(known: Quantity | None, value: Correlated, errors: Errors | None) -> Quantity | None:
    """A figure with the uncertainty of the value it was made from; as it was where nothing is known of it."""
    if known is None or value is None or errors is None:
        return known
    return with_uncertainty(known, errors.uncertainty(value))


def in_proportion(known: Quantity | None, source: Quantity | None) -> Quantity | None:
    """A figure that is a fixed multiple of another, with its uncertainty as the same part of it."""
    if known is None or source is None or source.expanded_uncertainty is None or source.value == 0.0:
        return known
    spread = source.expanded_uncertainty * abs(known.value / source.value)
    return replace(known, expanded_uncertainty=spread, coverage_factor=source.coverage_factor, assumed=source.assumed)


#: Coverage factor of a limit of error taken as known: about 95 %. [1] JCGM 100:2008, 6.3.3.
_COVERAGE = 2.0


def by_meter(value: float, unit: str, meter: Meter | None, kind: str) -> Quantity:
    """A reading that stands alone with the limit of error of its meter, or of an ordinary one where none is stated.

    Parameters
    ----------
    value : float
        As read. [unit]
    meter : Meter or None
        Its maker's statement. [unit]
    kind : str
        Of the table of assumed accuracies.

    References
    ----------
    JCGM 100:2008, 4.3.7: limits of error as the half-width of a rectangle.
    """
    stated = meter is not None and not (meter.reading is None and meter.range is None and meter.digits is None)
    if meter is not None and stated:
        limit = float(limit_of_error(meter, np.array([value]))[0])
    else:
        limit = float(assumed_accuracy(kind).limit(value, value))
    expanded = _COVERAGE * float(half_width_to_standard(limit, "rectangular"))
    return Quantity(value, unit, expanded, _COVERAGE, assumed=not stated)


def uncertainty_of(known: Quantity | None) -> Uncertainty | None:
    """The uncertainty of a figure, for a decision on it."""
    if known is None or known.expanded_uncertainty is None or known.coverage_factor is None:
        return None
    standard = known.expanded_uncertainty / known.coverage_factor
    return Uncertainty(standard, None, known.coverage_factor, known.expanded_uncertainty)
