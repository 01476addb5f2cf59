"""A reduced test judged and put into the results tree."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from certgen import __version__
from certgen.assessment.cautions import cautions_of
from certgen.assessment.conditions import conditions_of
from certgen.assessment.findings import IMPOSSIBLE_CAUSES, judge
from certgen.assessment.starting_findings import starting_findings
from certgen.assessment.supply import supply_findings
from certgen.assessment.verdict import verdict_of
from certgen.errors import RefusedTest
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.readings.model import Readings
from certgen.reduction.model import Reduction
from certgen.results.changing_speed import run_down_result, sweep_of
from certgen.results.characteristic import characteristic_of, with_uncertainties
from certgen.results.comparisons import sweeps_compared
from certgen.results.heat import heat_of
from certgen.results.insulation import insulation_of
from certgen.results.log import log_of
from certgen.results.losses import losses_of, stray_finding
from certgen.results.model import Results, Traceability
from certgen.results.points import budget_of, curves_of, operating_points, tested_points
from certgen.results.rating import Evidence, assessed_rating
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
    if reduction.log is not None:
        readings = reduction.log.readings
    findings = judge(job, reduction, criteria)
    characteristic = with_uncertainties(characteristic_of(job, reduction), job, reduction)
    findings += starting_findings(job, reduction, criteria, characteristic)
    thermal, heat_findings = heat_of(job, readings, reduction, criteria.name)
    insulation, insulation_findings = insulation_of(job, reduction)
    findings += (*heat_findings, *insulation_findings)
    losses = losses_of(job, readings, reduction, thermal, criteria.name)
    findings += stray_finding(losses, criteria.name)
    findings += supply_findings(job, reduction, criteria)
    rating = assessed_rating(Evidence(job, rig, readings, reduction, characteristic, thermal, criteria.name, findings))
    operating: dict[str, Any] = operating_points(reduction)
    return Results(
        certificate=job.certificate,
        motor=job.motor,
        nameplate=job.nameplate,
        points=tested_points(reduction, rig),
        curves=curves_of(reduction),
        characteristic=characteristic,
        **operating,
        findings=findings,
        verdict=verdict_of(job, reduction, findings, rating),
        cautions=cautions_of(job, rig, reduction, findings, envelope=readings.brake_envelope),
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
        sweep=sweep_of(reduction),
        run_down=run_down_result(reduction, losses),
        budget=budget_of(reduction),
        log=log_of(reduction, rig),
        readings=readings.files,
    )


def _refuse_impossible(reduction: Reduction) -> None:
    points = reduction.points
    if points.count and bool(points.impossible.all()):
        greatest = float(np.nanmax(points.efficiency))
        raise RefusedTest(
            f"every load point gives more shaft power than it takes in (efficiency up to {greatest:.0%}), "
            f"which no motor can; {IMPOSSIBLE_CAUSES}; correct the readings or the rig file, nothing was issued."
        )
