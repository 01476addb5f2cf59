"""Figures of the results with their uncertainty."""

from __future__ import annotations

import math
from dataclasses import replace

from certgen.quantity import Quantity
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated
from certgen.reduction.uncertainty.model import Uncertainty


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


def uncertainty_of(known: Quantity | None) -> Uncertainty | None:
    """The uncertainty of a figure, for a decision on it."""
    if known is None or known.expanded_uncertainty is None or known.coverage_factor is None:
        return None
    standard = known.expanded_uncertainty / known.coverage_factor
    return Uncertainty(standard, None, known.coverage_factor, known.expanded_uncertainty)
