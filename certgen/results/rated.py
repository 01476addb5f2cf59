"""What the nameplate declares with what follows from it, and where on the load curve that is compared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.physics.induction import slip, synchronous_speed
from certgen.physics.mechanics import gear_output_speed, torque_at
from certgen.reduction.load_curve import REACH, READ_OFF_BY
from certgen.reduction.model import LoadPoints, Reduction
from certgen.reduction.speed import gear_ratio
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.standards.criteria import PLACES


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


# Where on the load a criterion is judged: a point of the load curve, or one tested point near enough.


#: Declared value that defines each place.
_DECLARED = {
    "rated current": "current",
    "rated power": "power",
    "rated speed": "speed",
    "service factor": "service_factor_power",
}


@dataclass(frozen=True)
class Judged:
    """A point to judge at, or ``None`` with the reason; ``note`` tells a reader what kind of point it is.

    ``uncertainties`` holds that of each quantity of the point, as far as it is known.
    """

    point: LoadPoints | None  # of one row
    note: str
    unreachable: float | None = None  # the greatest power of the machine, where that is what was missed [W]
    uncertainties: Mapping[str, Uncertainty] = field(default_factory=dict)


def judged_point(place: str, job: Job, reduction: Reduction, declared: dict[str, float | None]) -> Judged:
    """The load point for a place such as 'rated current'.

    With a load curve it is read off the curve. Without one (fewer than three different torques) the tested
    point nearest the place is judged, if it is within 5 % of it, and the note says how far off it is.
    """
    quantity, name = READ_OFF_BY[PLACES[place]], _DECLARED[place]
    wanted = declared[name]
    if wanted is None:
        return Judged(None, f"the nameplate gives no {name.replace('_', ' ')}")
    if reduction.curve is None:
        return _tested_near(place, quantity, wanted, reduction)
    found = reduction.operating[PLACES[place]]
    if found is not None:
        note = "extrapolated, at most 5 % beyond the tested range" if found.extrapolated else ""
        sure = reduction.uncertainties
        return Judged(found.point, note, uncertainties=sure.operating.get(PLACES[place], {}) if sure else {})
    peak = None if reduction.peak is None else float(reduction.peak.shaft_power[0])
    if quantity == "shaft_power" and peak is not None and peak < wanted:
        return Judged(None, f"the greatest power reached was {peak / wanted:.0%} of it", peak)
    return Judged(None, f"{_words(place)} lies outside the tested range")


def _tested_near(place: str, quantity: str, wanted: float, reduction: Reduction) -> Judged:
    points, sure = reduction.points, reduction.uncertainties
    values = np.where(points.impossible, np.nan, getattr(points, quantity))
    if not np.isfinite(values).any():
        return Judged(None, f"{quantity.replace('_', ' ')} was not measured")
    nearest = int(np.nanargmin(np.abs(values - wanted)))
    off = float(values[nearest]) / wanted - 1.0
    limit = REACH
    if quantity == "speed" and np.isfinite(points.slip[nearest]):
        # 5 % of speed is more than a whole slip, so nearness of an induction motor is told by slip.
        synchronous = points.speed[nearest] / (1.0 - points.slip[nearest])
        off = float(points.slip[nearest] / (1.0 - wanted / synchronous)) - 1.0
    if not abs(off) <= limit:
        return Judged(None, f"no tested point is within 5 % of {_words(place)}, and there are too few for a curve")
    note = f"judged at a tested point, {off:+.1%} off {_words(place)}"
    return Judged(points.chosen(np.array([nearest])), note, uncertainties=sure.points[nearest] if sure else {})


def _words(place: str) -> str:
    return "the service-factor load" if place == "service factor" else place
