"""What the nameplate declares, with what follows from it: rated torque and slip."""

from __future__ import annotations

from certgen.job.model import INDUCTION, Job
from certgen.physics.induction import slip, synchronous_speed
from certgen.physics.mechanics import gear_output_speed, torque_at
from certgen.reduction.model import Reduction
from certgen.reduction.speed import gear_ratio


def rated_torque(job: Job) -> float | None:
    """Torque of the plate's power at the plate's speed [N*m], or ``None`` where one of them is absent."""
    plate = job.nameplate
    if plate.power is None or plate.speed is None:
        return None
    return float(torque_at(plate.power, plate.speed))


def rated_slip(job: Job, reduction: Reduction) -> float | None:
    """Slip of the plate's speed below the synchronous speed of the plate's frequency, or ``None``.

    The supply's frequency stands in where the plate has none.
    """
    plate, poles = job.nameplate, reduction.poles.count
    frequency = plate.frequency or job.conditions.supply_frequency
    if job.motor.type not in INDUCTION or plate.speed is None or poles is None or frequency is None:
        return None
    synchronous = float(gear_output_speed(synchronous_speed(frequency, poles), gear_ratio(job)))
    found = float(slip(plate.speed, synchronous))
    return found if found > 0.0 else None


def service_factor_power(job: Job) -> float | None:
    """Rated power times service factor [W], or ``None`` where there is no service factor above 1."""
    plate = job.nameplate
    if plate.power is None or plate.service_factor is None or plate.service_factor <= 1.0:
        return None
    return plate.power * plate.service_factor


def declared_values(job: Job, reduction: Reduction) -> dict[str, float | None]:
    """Every declared value a criterion may name, in SI."""
    plate = job.nameplate
    raised = service_factor_power(job)
    return {
        "power": plate.power,
        "torque": rated_torque(job),
        "speed": plate.speed,
        "slip": rated_slip(job, reduction),
        "current": plate.current,
        "efficiency": plate.efficiency,
        "power_factor": plate.power_factor,
        "service_factor_power": raised,
        "service_factor_current": plate.service_factor_current if raised is not None else None,
    }


def is_empty_plate(job: Job) -> bool:
    """Whether the plate declares nothing a load test can be held against."""
    plate = job.nameplate
    return all(
        value is None for value in (plate.power, plate.current, plate.speed, plate.efficiency, plate.power_factor)
    )
