"""What the nameplate declares with what follows from it, where on the load curve that is compared, how long held."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.messages.catalogue import Message
from certgen.physics.induction import is_synchronous, slip, synchronous_speed
from certgen.physics.mechanics import gear_output_speed, torque_at
from certgen.reduction.held_run import HeldRun
from certgen.reduction.load_curve import REACH, READ_OFF_BY
from certgen.reduction.model import LoadPoints, Reduction
from certgen.reduction.speed import gear_ratio
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.standards.criteria import PLACES
from certgen.standards.temperature_limits import SteadyRule


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
    plate_slip = float(slip(plate.speed, synchronous))
    return plate_slip if plate_slip > 0.0 else None


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
DECLARED_AT = {
    "rated current": "current",
    "rated power": "power",
    "rated speed": "speed",
    "service factor": "service_factor_power",
}


#: Where the load is judged, as a sentence names it.
_PLACE = {
    "rated current": "place.rated_current",
    "rated power": "place.rated_power",
    "rated speed": "place.rated_speed",
    "service factor": "place.service_factor",
}
#: How far off rated power a single tested point still bounds what the motor does there. Common practice, no source.
ONE_POINT_REACH = 0.15


@dataclass(frozen=True)
class Judged:
    """A point to judge at, or ``None`` with the reason; ``note`` says what kind of point it is.

    ``uncertainties`` holds that of each quantity of the point, as far as it is known.
    """

    point: LoadPoints | None  # of one row
    note: Message | None
    unreachable: float | None = None  # the greatest power of the machine, where that is what was missed [W]
    uncertainties: Mapping[str, Uncertainty] = field(default_factory=dict)
    power_ratio: float | None = None  # wanted power over that of a single tested point, where such a one is judged [1]


def judged_point(place: str, job: Job, reduction: Reduction, declared: dict[str, float | None]) -> Judged:
    """The load point for a place such as 'rated current'.

    With a load curve it is read off the curve. Without one (fewer than three different torques) the tested
    point nearest the place stands for it, and the note says how far off it is.
    """
    quantity, name = READ_OFF_BY[PLACES[place]], DECLARED_AT[place]
    wanted = declared[name]
    if wanted is None:
        return Judged(None, Message("finding.plate_gives_no", quantity=Message(f"name.{name}")))
    if reduction.curve is None:
        return _tested_near(place, quantity, wanted, reduction)
    found = reduction.operating[PLACES[place]]
    if found is not None:
        note = Message("finding.extrapolated") if found.extrapolated else None
        known = reduction.uncertainties
        return Judged(found.point, note, uncertainties=known.operating.get(PLACES[place], {}) if known else {})
    peak = None if reduction.peak is None else float(reduction.peak.shaft_power[0])
    if quantity == "shaft_power" and peak is not None and peak < wanted:
        return Judged(None, Message("finding.greatest_power", part=peak / wanted), peak)
    return Judged(None, Message("finding.outside_range", place=Message(_PLACE[place])))


def _tested_near(place: str, quantity: str, wanted: float, reduction: Reduction) -> Judged:
    points, known = reduction.points, reduction.uncertainties
    values = np.where(points.impossible, np.nan, getattr(points, quantity))
    if not np.isfinite(values).any():
        return Judged(None, Message("finding.not_measured", quantity=Message(f"name.{quantity}")))
    nearest = int(np.nanargmin(np.abs(values - wanted)))
    off = float(values[nearest]) / wanted - 1.0
    limit = REACH
    if quantity == "speed" and np.isfinite(points.slip[nearest]):
        # 5 % of speed is more than a whole slip, so nearness of an induction motor is measured by slip.
        synchronous = points.speed[nearest] / (1.0 - points.slip[nearest])
        off = float(points.slip[nearest] / (1.0 - wanted / synchronous)) - 1.0
    elif place == "rated power":
        limit = ONE_POINT_REACH
    if not abs(off) <= limit:
        return Judged(None, Message("finding.no_point_near", reach=limit, place=Message(_PLACE[place])))
    note = Message("finding.at_tested_point", off=off, place=Message(_PLACE[place]))
    return Judged(
        points.chosen(np.array([nearest])),
        note,
        uncertainties=known.points[nearest] if known else {},
        power_ratio=wanted / float(values[nearest]) if place == "rated power" else None,
    )


#: How slip grows with power at most, in steps of the power ratio: in proportion, or faster near breakdown.
_SLIP_EXPONENTS = (1.0, 1.4)


def interval_at_rated_power(quantity: str, value: float, power_ratio: float) -> tuple[float, float] | None:
    """Between which values a figure lies at rated power, from one tested point near it.

    Parameters
    ----------
    quantity : str
        'current', 'slip', 'efficiency' or 'power_factor'; for any other nothing is bounded.
    value : float
        At the tested point. [its own unit]
    power_ratio : float
        Rated power over that of the tested point. [1]

    Returns
    -------
    tuple of two floats, or None
        Lowest and highest value. [as value]

    Notes
    -----
    Current grows with load, and by less than in proportion, as part of it magnetizes; slip grows at least in proportion
    to torque; losses grow by no more than the square of the load, and never fall; the power factor follows from current
    and power. Common practice, no source.
    """
    if quantity == "current":
        bounds = (value, value * power_ratio)
    elif quantity == "slip":
        bounds = (value * power_ratio ** _SLIP_EXPONENTS[0], value * power_ratio ** _SLIP_EXPONENTS[1])
    elif quantity == "efficiency":
        losses = 1.0 / value - 1.0
        bounds = (1.0 / (1.0 + losses / power_ratio), 1.0 / (1.0 + losses * power_ratio))
    elif quantity == "power_factor":
        bounds = (value, min(1.0, value * power_ratio))
    else:
        return None
    return min(bounds), max(bounds)


def plate_has_synchronous_speed(job: Job, reduction: Reduction) -> bool:
    """Whether the plate gives the synchronous speed in place of the full-load speed, so that it declares no slip."""
    plate, poles = job.nameplate, reduction.poles.count
    if job.motor.type not in INDUCTION or plate.speed is None or plate.frequency is None:
        return False
    return is_synchronous(plate.speed * gear_ratio(job), plate.frequency, poles)


# For how long a load was held, and how warm the motor was at the end of it.


#: A point this near below the wanted power counts as held at it.
_NEARLY = 0.99


@dataclass(frozen=True, eq=False)
class LoadHeld:
    """For how long the load was at or above a wanted power; times in s, temperatures in K."""

    run: HeldRun | None  # the longest run at such a load
    last_change: float | None  # of its temperature in the time the rule of steadiness looks back
    steady_by: float | None  # from when on it was steady by that rule
    points: int  # load points at or above the wanted power
    between_readings: float | None  # from the first to the last of these; None where their times are not known


def load_held(reduction: Reduction, wanted: float, steady: SteadyRule) -> LoadHeld:
    """For how long the load was at or above a wanted power [W]; ``steady`` is when a temperature counts as steady."""
    at_load = [run for run in reduction.held_runs if run.load is not None and run.load >= _NEARLY * wanted]
    longest = max(at_load, key=lambda run: run.length, default=None)
    rows = np.flatnonzero(reduction.points.shaft_power >= _NEARLY * wanted)
    times = reduction.points.time[rows]
    if reduction.log is not None:
        plateaus = reduction.log.plateaus
        times = np.array([time for row in rows for time in (plateaus[row].start, plateaus[row].end)])
    recorded = times.size > 1 and bool(np.isfinite(times).all())
    return LoadHeld(
        run=longest,
        last_change=None if longest is None else longest.change_within(steady.within),
        steady_by=None if longest is None else longest.steady_by(steady.change, steady.within),
        points=int(rows.size),
        between_readings=float(np.ptp(times)) if recorded else None,
    )
