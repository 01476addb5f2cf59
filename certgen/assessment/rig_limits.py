"""Whether the test went beyond what the rig can stand."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.assessment.results import Caution
from certgen.job.rig import Rig
from certgen.readings.model import Table
from certgen.reduction.model import Reduction
from certgen.reduction.rig_demand import Demand, asked_of

#: How an SI unit is told: unit printed, factor.
_TOLD = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "N*m": ("N·m", 1.0)}


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
