"""How the speed of a motor with a commutator behaves between rated load and no load: what tells shunt from series."""

from __future__ import annotations

import numpy as np

from certgen.assessment.declared import declared_values
from certgen.assessment.operating import judged_point
from certgen.job.model import DC, UNIVERSAL, Job
from certgen.physics.speed_regulation import speed_regulation
from certgen.quantity import Quantity, measured
from certgen.reduction.load_points import lightest_index
from certgen.reduction.model import LoadPoints, Reduction
from certgen.standards.criteria import PLACES

#: Regulation up to which a direct-current motor behaves as shunt wound or with magnets, and from which as series wound.
#: Common practice, no source: shunt motors keep within about 15 %, series motors more than double their speed.
_SHUNT, _SERIES = 0.25, 0.6


def light_load_speed_ratio(job: Job, reduction: Reduction) -> Quantity | None:
    """Speed at the lightest load tested over speed at rated load [1]; ``None`` unless the motor has a commutator."""
    speeds = _speeds(job, reduction)
    return None if speeds is None else measured(speeds[0] / speeds[1], "1")


def speed_character(job: Job, reduction: Reduction) -> tuple[str, ...]:
    """One sentence on how speed follows load; none unless the motor has a commutator and was loaded to its rating.

    What the speed would become below the lightest load tested is never worked out: a series motor races.
    """
    speeds = _speeds(job, reduction)
    if speeds is None:
        return ()
    light, rated = speeds
    if reduction.no_load_point is None:
        lightest = float(np.nanmin(np.abs(reduction.points.torque)))
        return (
            f"At the lightest load tested, {lightest:.2g} N·m, it reached {light / rated:.2f} times its speed at rated "
            "load; how far it rises below that load is not extrapolated.",
        )
    if job.motor.type == DC:
        rise = float(speed_regulation(light, rated))
        return (f"Speed regulation {rise:.1%} from rated load to no load: {_wound(rise)}.".replace("%", " %"),)
    return (f"Run without load it reached {light / rated:.2f} times its speed at rated load: a series motor races.",)


def _wound(regulation: float) -> str:
    if regulation <= _SHUNT:
        return "it behaves as a shunt-wound or permanent-magnet motor"
    return "it behaves as a series-wound motor" if regulation >= _SERIES else "it behaves as a compound-wound motor"


def rated_place(job: Job, reduction: Reduction) -> tuple[str, LoadPoints] | None:
    """Where a motor with a commutator stands for rated load: the point's name in the results, and the point."""
    if job.motor.type not in (DC, UNIVERSAL):
        return None
    declared = declared_values(job, reduction)
    for place in ("rated power", "rated current"):
        judged = judged_point(place, job, reduction, declared).point
        if judged is not None:
            return PLACES[place], judged
    return None


def _speeds(job: Job, reduction: Reduction) -> tuple[float, float] | None:
    """Speed at the lightest load tested and at rated load [rad/s]."""
    place, row = rated_place(job, reduction), lightest_index(reduction.points.torque)
    if place is None or row is None or not float(place[1].speed[0]) > 0.0:
        return None
    light = float(reduction.points.speed[row])
    return (light, float(place[1].speed[0])) if np.isfinite(light) else None
