"""Whether the test went beyond what the rig can stand."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.results import Caution
from certgen.job.rig import Rig
from certgen.readings.model import Table
from certgen.reduction.model import Reduction
from certgen.reduction.rig_demand import Demand, asked_of

#: How an SI unit is told: unit printed, factor.
_TOLD = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "N*m": ("N·m", 1.0)}

#: Spans are compared as decimal numbers, whatever their binary form.
_ROUNDING = 1e-9


def at_full_span(rig: Rig, reduction: Reduction) -> NDArray[np.bool_]:
    """Load points at which the scale stood at the end of its span, shape (n,): it may show less than the load."""
    span = rig.limits.scale
    if span is None:
        return np.zeros(reduction.points.count, dtype=bool)
    return np.asarray(reduction.scale_indication >= span.value * (1.0 - _ROUNDING))


def full_span(rig: Rig, reduction: Reduction) -> Iterator[Caution]:
    """A caution where a row was read at the end of the scale's span."""
    rows = np.flatnonzero(at_full_span(rig, reduction))
    if rows.size and rig.limits.scale is not None:
        unit = "kg" if rig.limits.scale.dimension == "mass" else "N"
        text = "The scale stood at its full span, so it may have shown less than the load: repeat with less load."
        told = ", ".join(str(row + 1) for row in rows)
        because = f"row {told}: {float(reduction.scale_indication[rows].max()):.4g} {unit}, "
        yield Caution("scale_full_span", text, because + f"span {rig.limits.scale.value:.4g} {unit}")


def passed_limits(rig: Rig, reduction: Reduction, envelope: Table | None = None) -> Iterator[Caution]:
    """One caution for each limit of the rig that a load point passed, with both numbers."""
    demand = Demand(
        shaft_torque=reduction.points.torque,
        shaft_speed=reduction.points.speed,
        absorber_torque=reduction.absorber_torque,
        absorber_speed=reduction.absorber_speed,
        scale_indication=reduction.scale_indication,
        brake_current=reduction.brake_current,
    )
    for one in asked_of(rig, envelope, demand):
        worst = one.worst
        if worst is not None and one.passed[worst]:
            unit, factor = _TOLD.get(one.unit, (one.unit, 1.0))
            asked, limit = float(one.asked[worst]) * factor, float(one.limit[worst]) * factor
            text = f"The rig was loaded past its limit of {one.name}: do not repeat this load, and doubt the reading."
            because = f"{one.name} {asked:.4g} {unit}, limit {limit:.4g} {unit}"
            yield Caution(f"rig_{one.name.replace(' ', '_')}", text, because)
