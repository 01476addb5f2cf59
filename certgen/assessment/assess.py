"""A reduced test judged and put into the results tree."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from certgen import __version__
from certgen.assessment.cautions import cautions_of
from certgen.assessment.characteristic import characteristic_of
from certgen.assessment.comparisons import sweeps_compared
from certgen.assessment.conditions import conditions_of
from certgen.assessment.findings import IMPOSSIBLE_CAUSES, judge
from certgen.assessment.heat import heat_of
from certgen.assessment.insulation import insulation_of
from certgen.assessment.losses import losses_of, stray_finding
from certgen.assessment.rating import Evidence, assessed_rating
from certgen.assessment.results import (
    EXTRAPOLATED,
    IMPOSSIBLE,
    Curve,
    Curves,
    Point,
    Results,
    Traceability,
)
from certgen.assessment.starting_findings import starting_findings
from certgen.assessment.supply import supply_findings
from certgen.assessment.verdict import verdict_of
from certgen.errors import RefusedTest
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.quantity import measured
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
    characteristic = characteristic_of(job, reduction)
    findings += starting_findings(job, reduction, criteria, characteristic)
    thermal, heat_findings = heat_of(job, readings, reduction, criteria.name)
    insulation, insulation_findings = insulation_of(job, reduction)
    findings += (*heat_findings, *insulation_findings)
    losses = losses_of(job, readings, reduction, thermal, criteria.name)
    findings += stray_finding(losses, criteria.name)
    findings += supply_findings(job, reduction, criteria)
    rating = assessed_rating(Evidence(job, rig, readings, reduction, characteristic, thermal, criteria.name, findings))
    operating: dict[str, Any] = {name: _operating(found) for name, found in reduction.operating.items()}
    return Results(
        certificate=job.certificate,
        motor=job.motor,
        nameplate=job.nameplate,
        points=tested_points(reduction.points),
        curves=_curves(reduction),
        characteristic=characteristic,
        **operating,
        findings=findings,
        verdict=verdict_of(job, reduction, findings, rating),
        cautions=cautions_of(job, rig, reduction, findings),
        conditions=conditions_of(
            job,
            rig,
            readings,
            reduction,
            criteria=criteria,
            findings=findings,
            rating=rating,
            losses=losses,
            characteristic=characteristic,
            not_evaluated=not_evaluated,
        ),
        traceability=Traceability(
            "certgen", __version__, dict(inputs), (f"{criteria.title}, edition {criteria.edition}",)
        ),
        losses=losses,
        thermal=thermal,
        insulation=insulation,
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
