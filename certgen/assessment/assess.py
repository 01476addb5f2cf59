"""The figures of a test judged, and put with their judgement into the results tree."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from certgen import __version__
from certgen.assessment.as_found import as_found_of, findings_as_found, reservations
from certgen.assessment.cautions import cautions_of
from certgen.assessment.conditions import conditions_of, criteria_printed
from certgen.assessment.declared_starting import declared_starting_findings
from certgen.assessment.findings import efficiency_evidence, judge, stray_finding
from certgen.assessment.heat import winding_rise_finding, winding_temperature_finding
from certgen.assessment.insulation import insulation_findings, insulation_result
from certgen.assessment.log_cautions import log_evidence
from certgen.assessment.plausibility.evidence_of_test import evidence_of_test, stated
from certgen.assessment.starting_findings import starting_findings
from certgen.assessment.supply import supply_findings
from certgen.assessment.verdict import rating_to_state, verdict_of
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.reduction.model import Reduction
from certgen.results.compute import Figures
from certgen.results.model import FINDING_NOT_TESTED, Finding, Results, Traceability
from certgen.standards.criteria import CriteriaSet, companions_of


def assess(
    job: Job,
    rig: Rig,
    reduction: Reduction,
    figures: Figures,
    *,
    criteria: CriteriaSet,
    not_evaluated: tuple[str, ...],
    inputs: Mapping[str, str],
) -> Results:
    """Judge the figures of one test by the limits of a criteria set.

    ``reduction`` holds the load points [SI] that ``figures`` rest on; ``not_evaluated`` are keys of job and rig that
    change nothing yet, ``inputs`` is every file read with its SHA-256.
    """
    as_found = as_found_of(job, figures)
    findings = (*_findings(job, reduction, figures, criteria), *findings_as_found(job, as_found))
    of_readings = evidence_of_test(job, rig, figures.readings, reduction)
    evidence = (
        *map(stated, of_readings),
        *efficiency_evidence(figures.losses),
        *log_evidence(reduction.log, reduction.sweep),
    )
    rating = rating_to_state(figures.rating, reduction.points, findings)
    operating: dict[str, Any] = {**figures.operating}
    return Results(
        certificate=job.certificate,
        motor=job.motor,
        nameplate=job.nameplate,
        points=figures.points,
        curves=figures.curves,
        characteristic=figures.characteristic,
        **operating,
        findings=findings,
        verdict=verdict_of(
            job,
            reduction,
            figures,
            findings,
            evidence=evidence,
            rating=rating,
            reservations=reservations(as_found, findings),
        ),
        cautions=cautions_of(job, rig, reduction, figures, findings),
        conditions=conditions_of(
            job,
            rig,
            reduction,
            figures,
            criteria=criteria,
            findings=findings,
            rating=rating,
            not_evaluated=not_evaluated,
        ),
        traceability=Traceability("certgen", __version__, dict(inputs), (criteria_printed(criteria),)),
        losses=figures.losses,
        thermal=figures.heat.thermal,
        insulation=insulation_result(figures.insulation, findings),
        assessed_rating=rating,
        comparisons=figures.comparisons,
        sweep=figures.sweep,
        run_down=figures.run_down,
        budget=figures.budget,
        log=figures.log,
        readings=figures.readings.files,
        plausibility=evidence,
        as_found=as_found,
    )


def _findings(job: Job, reduction: Reduction, figures: Figures, criteria: CriteriaSet) -> tuple[Finding, ...]:
    """Every finding of a test, in the order the page lists them."""
    rise = winding_rise_finding(job, figures.heat, companions_of(criteria))
    temperature = (
        None
        if rise is not None and rise.outcome != FINDING_NOT_TESTED
        else winding_temperature_finding(job, reduction, figures.heat)
    )
    return (
        *judge(job, reduction, figures, criteria),
        *starting_findings(job, reduction, criteria, figures.characteristic),
        *declared_starting_findings(job, reduction, criteria, figures.characteristic),
        *(() if rise is None else (rise,)),
        *(() if temperature is None else (temperature,)),
        *insulation_findings(job, figures.insulation),
        *stray_finding(figures.losses, companions_of(criteria).procedure),
        *supply_findings(job, reduction, criteria),
    )
