"""A value with its unit and, where known, its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """One result in SI, as it stands in the results tree.

    ``expanded_uncertainty`` has the unit of ``value`` and is ``None`` where it is not known; ``assumed`` says that it
    rests on an accuracy nobody stated, taken as an ordinary one of its kind.
    """

    value: float
    unit: str
    expanded_uncertainty: float | None = None
    coverage_factor: float | None = None
    assumed: bool = False


def measured(value: float | None, unit: str) -> Quantity | None:
    """Wrap a number, or return ``None`` where nothing was measured (``None`` or not finite)."""
    if value is None or not math.isfinite(value):
        return None
    return Quantity(float(value), unit)
