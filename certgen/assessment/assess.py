"""A reduced test judged and put into the results tree."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from certgen import __version__
from certgen.assessment.cautions import cautions_of
from certgen.assessment.comparisons import sweeps_compared
from certgen.assessment.conditions import conditions_of
from certgen.assessment.declared import rated_torque
from certgen.assessment.findings import IMPOSSIBLE_CAUSES, judge
from certgen.assessment.losses import losses_of, stray_finding
from certgen.assessment.rating import Tested, assessed_rating
from certgen.assessment.results import (
    EXTRAPOLATED,
    IMPOSSIBLE,
    Characteristic,
    Curve,
    Curves,
    Point,
    Results,
    Thermal,
    Traceability,
)
from certgen.assessment.speed_character import light_load_speed_ratio, speed_character
from certgen.assessment.verdict import verdict_of
from certgen.errors import RefusedTest
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.quantity import Quantity, measured
from certgen.readings.model import Readings
from certgen.reduction.model import POINT_UNITS, LoadPoints, OperatingPoint, Reduction
from certgen.standards.criteria import CriteriaSet


def assess(
    job: Job,
    rig: Rig,
    readings: Readings,
    reduction: Reduction,
    *,
    criteria: CriteriaSet,
    not_evaluated: tuple[str, ...],
    inputs: Mapping[str, str],
) -> Results:
    """Judge one reduced test.

    Raises
    ------
    RefusedTest
        Every load point gives more shaft power than it takes in: the readings as a whole cannot be true.
    """
    _refuse_impossible(reduction)
    findings = judge(job, reduction, criteria)
    characteristic = _characteristic(job, reduction)
    thermal: Thermal | None = None
    losses = losses_of(job, readings, reduction, thermal, criteria.name)
    findings += stray_finding(losses, criteria.name)
    rating = assessed_rating(Tested(job, rig, readings, reduction, characteristic, thermal, criteria.name))
    return Results(
        certificate=job.certificate,
        motor=job.motor,
        nameplate=job.nameplate,
        points=tested_points(reduction.points),
        curves=_curves(reduction),
        characteristic=characteristic,
        **{name: _operating(found) for name, found in reduction.operating.items()},
        findings=findings,
        verdict=verdict_of(job, reduction, findings, rating),
        cautions=cautions_of(job, rig, reduction, criteria, findings),
        conditions=conditions_of(
            job,
            rig,
            readings,
            reduction,
            criteria=criteria,
            findings=findings,
            rating=rating,
            losses=losses,
            not_evaluated=not_evaluated,
        ),
        traceability=Traceability(
            "certgen", __version__, dict(inputs), (f"{criteria.title}, edition {criteria.edition}",)
        ),
        losses=losses,
        assessed_rating=rating,
        comparisons=sweeps_compared(reduction),
    )


def _refuse_impossible(reduction: Reduction) -> None:
    points = reduction.points
    if points.count and bool(points.impossible.all()):
        greatest = float(np.nanmax(points.efficiency))
        raise RefusedTest(
            f"every load point gives more shaft power than it takes in (efficiency up to {greatest:.0%}), "
            f"which no motor can; {IMPOSSIBLE_CAUSES}; correct the readings or the rig file, nothing was issued."
        )


def tested_points(points: LoadPoints) -> tuple[Point, ...]:
    """Load points as results, one a row, impossible ones flagged."""
    return tuple(_point(points, row, (IMPOSSIBLE,) if points.impossible[row] else ()) for row in range(points.count))


def _point(points: LoadPoints, row: int, flags: tuple[str, ...]) -> Point:
    quantities = {name: measured(float(getattr(points, name)[row]), unit) for name, unit in POINT_UNITS.items()}
    return Point(**quantities, remark=points.remarks[row], flags=flags)


def _operating(found: OperatingPoint | None) -> Point | None:
    if found is None:
        return None
    return _point(found.point, 0, (EXTRAPOLATED,) if found.extrapolated else ())


def _curves(reduction: Reduction) -> Curves:
    curve = reduction.curve
    if curve is None or reduction.torque_speed is None:
        return Curves()
    speed, torque = reduction.torque_speed
    torque_speed = Curve(
        {"speed": tuple(speed.tolist()), "torque": tuple(torque.tolist())}, {"speed": "rad/s", "torque": "N*m"}
    )
    names = ["shaft_power"]
    names += [name for name in ("current", "power_factor", "efficiency") if np.isfinite(getattr(curve, name)).all()]
    columns = {name: tuple(getattr(curve, name).tolist()) for name in names}
    return Curves(torque_speed, Curve(columns, {name: POINT_UNITS[name] for name in names}))


def _characteristic(job: Job, reduction: Reduction) -> Characteristic:
    idle, peak = reduction.no_load_point, reduction.peak
    return Characteristic(
        synchronous_speed=measured(reduction.synchronous_speed, "rad/s"),
        poles=reduction.poles.count,
        poles_basis=reduction.poles.basis,
        no_load_speed=_single(idle, "speed"),
        no_load_current=_single(idle, "current"),
        rated_torque=measured(rated_torque(job), "N*m"),
        peak_power=_single(peak, "shaft_power"),
        light_load_speed_ratio=light_load_speed_ratio(job, reduction),
        speed_character=speed_character(job, reduction),
    )


def _single(point: LoadPoints | None, name: str) -> Quantity | None:
    return None if point is None else measured(float(getattr(point, name)[0]), POINT_UNITS[name])
