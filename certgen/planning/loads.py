"""Which loads are planned, and in which order."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.job.model import INDUCTION, Job
from certgen.standards.load_points import LoadsOfTest

#: Equal steps in which a motor without a usable plate is loaded, up to what the rig holds. Common practice, no source.
STEPS = 8
#: The name of running without load.
NO_LOAD = "no load"
#: Loads nearer to each other than this are one load. [1]
_SAME = 0.005


@dataclass(frozen=True)
class Load:
    """One load by its name and its part of the rated one."""

    name: str
    part: float


def loads_of(job: Job, wanted: LoadsOfTest) -> tuple[Load, ...]:
    """The loads of a motor whose rated torque is known, the greatest first.

    An induction motor ends without load; a motor that may race never runs without.
    """
    parts = {part: Load(f"{part:.0%}".replace("%", " %"), part) for part in wanted.loads}
    factor = job.nameplate.service_factor
    if factor is not None and factor > 1.0:
        near = next((part for part in parts if abs(part - factor) <= _SAME), factor)
        parts.pop(near, None)
        percent = f"{100.0 * factor:g} %"
        parts[factor] = Load(f"{percent}, service factor", factor)
    falling = tuple(parts[part] for part in sorted(parts, reverse=True))
    return (*falling, Load(NO_LOAD, 0.0)) if job.motor.type in INDUCTION else falling
