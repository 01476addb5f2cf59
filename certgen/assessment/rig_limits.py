"""Whether the test went beyond what the rig can stand."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.results import Caution
from certgen.job.rig import Rig
from certgen.reduction.model import Reduction

Array = NDArray[np.float64]


def passed_limits(rig: Rig, reduction: Reduction) -> Iterator[Caution]:
    """One caution for each limit of the rig that a load point passed, with both numbers."""
    scale = rig.limits.scale
    scale_unit = "kg" if scale is not None and scale.dimension == "mass" else "N"
    power = reduction.absorber_torque * reduction.absorber_speed
    rpm = 60.0 / (2.0 * np.pi)
    limits = rig.limits
    checks: tuple[tuple[str, Array, float | None, str, float], ...] = (
        ("torque", reduction.absorber_torque, limits.torque, "N·m", 1.0),
        ("speed", reduction.absorber_speed, limits.speed, "rpm", rpm),
        ("scale", reduction.scale_indication, None if scale is None else scale.value, scale_unit, 1.0),
        ("coupling torque", reduction.points.torque, limits.coupling_torque, "N·m", 1.0),
        ("absorber power", power, limits.absorber_power, "W", 1.0),
        ("brake current", reduction.brake_current, limits.brake_current, "A", 1.0),
    )
    for name, values, limit, unit, factor in checks:
        greatest = float(np.nanmax(values, initial=-np.inf))
        if limit is not None and greatest > limit:
            because = f"{name} {greatest * factor:.4g} {unit}, limit {limit * factor:.4g} {unit}"
            text = f"The rig was loaded past its limit of {name}: do not repeat this load, and doubt the reading."
            yield Caution(f"rig_{name.replace(' ', '_')}", text, because)
