"""Whether the test went beyond what the rig can stand."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.results import Caution
from certgen.job.rig import Rig
from certgen.reduction.model import Reduction

Array = NDArray[np.float64]

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
