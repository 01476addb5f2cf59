"""Findings: each measured quantity held against the declared one by one row of a criteria set."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from certgen.assessment.decision import SIMPLE_ACCEPTANCE, Decision, decide
from certgen.assessment.declared import declared_values
from certgen.assessment.operating import Judged, judged_point
from certgen.assessment.results import Finding, Limits
from certgen.assessment.service_factor import service_factor_finding
from certgen.job.model import DC, Job
from certgen.reduction.model import POINT_UNITS, Reduction
from certgen.standards.criteria import CriteriaSet, Criterion, StartingCriterion, lower_limit, upper_limit
from certgen.standards.published import standard_behind
from certgen.standards.temperature_limits import steady_rule

#: What a gear changes between the motor and its output shaft.
_OF_THE_SHAFT = ("shaft_power", "torque", "speed", "efficiency")
_REVOLUTIONS_1000 = 1000.0 * 2.0 * math.pi / 60.0


def judge(job: Job, reduction: Reduction, criteria: CriteriaSet) -> tuple[Finding, ...]:
    """Every finding of a test, the energy balance first.

    Rows whose declared value the plate does not give are left out; rows whose load point was not reached are
    'not tested' with the reason.
    """
    declared = declared_values(job, reduction)
    findings = [energy_balance(reduction)]
    for row in criteria.criteria:
        value = declared[row.declared]
        if value is None or not applies(row, job):
            continue
        judged = judged_point(row.at, job, reduction, declared)
        if row.at == "service factor" and row.quantity == "shaft_power":
            steady = steady_rule(standard_behind(criteria.name))
            found = service_factor_finding(row, value, judged, reduction, source_of(row, criteria), steady=steady)
        else:
            found = finding(row, value, judged, criteria, rule=job.decision_rule)
        findings.append(_at_its_shaft(found, row, job))
    return tuple(findings)


def _at_its_shaft(found: Finding, row: Criterion, job: Job) -> Finding:
    """The finding, its title telling which shaft it is of where a gear makes that a question."""
    if job.nameplate.gear is None or row.quantity not in _OF_THE_SHAFT:
        return found
    return replace(found, title=f"{found.title}, at the output shaft")


def applies(row: Criterion, job: Job) -> bool:
    """Whether a row holds for the kind and rating of the motor."""
    if row.types and job.motor.type not in row.types:
        return False
    if row.quantity == "power_factor" and job.motor.type == DC:
        return False
    power, speed = job.nameplate.power, job.nameplate.speed
    specific = None if power is None or speed is None else power / (speed / _REVOLUTIONS_1000)
    return (
        _at_least(power, row.from_power)
        and _below(power, row.below_power)
        and _below(specific, row.below_power_per_1000_rpm)
        and _at_least(specific, row.from_power_per_1000_rpm)
        and (row.above_power is None or (power is not None and power > row.above_power))
        and (row.up_to_power is None or (power is not None and power <= row.up_to_power))
    )


def _at_least(value: float | None, bound: float | None) -> bool:
    return bound is None or (value is not None and value >= bound)


def _below(value: float | None, bound: float | None) -> bool:
    return bound is None or (value is not None and value < bound)


def finding(row: Criterion, declared: float, judged: Judged, criteria: CriteriaSet, *, rule: str) -> Finding:
    """One row judged by a decision rule, with the uncertainty of its quantity where that is known."""
    limits = Limits(
        None if row.low is None else lower_limit(declared, row.low),
        None if row.high is None else upper_limit(declared, row.high),
    )
    measured, note, decision = None, judged.note, Decision("not tested", SIMPLE_ACCEPTANCE)
    if judged.point is not None:
        value = float(getattr(judged.point, row.quantity)[0])
        if math.isfinite(value):
            measured, decision = value, decide(value, limits, judged.doubts.get(row.quantity), rule)
        else:
            note = f"{row.quantity.replace('_', ' ')} was not measured"
    elif judged.unreachable is not None and row.quantity == "current":
        decision = Decision("fail", SIMPLE_ACCEPTANCE)
    return Finding(
        id=row.id,
        title=row.title,
        outcome=decision.outcome,
        unit=POINT_UNITS[row.quantity],
        declared=declared,
        measured=measured,
        required=limits,
        decision_rule=decision.rule,
        source=source_of(row, criteria),
        note=note,
        expanded_uncertainty=decision.expanded_uncertainty,
        false_decision_probability=decision.false_decision_probability,
    )


def source_of(row: Criterion | StartingCriterion, criteria: CriteriaSet) -> str:
    """Where a requirement comes from, as printed beside it."""
    if row.status == "common practice":
        return f"common practice, no source ({row.clause})"
    memory = ", from memory" if row.status == "from memory" else ""
    return f"{criteria.name} {criteria.edition}, {row.clause}{memory}"


def energy_balance(reduction: Reduction) -> Finding:
    """Whether every point gives less shaft power than it takes in."""
    points = reduction.points
    efficiency = points.efficiency[np.isfinite(points.efficiency)]
    count = int(points.impossible.sum())
    note, outcome = "", "pass"
    if not efficiency.size:
        note, outcome = "input power was not measured", "not tested"
    elif count:
        rows = ", ".join(str(index + 1) for index in np.flatnonzero(points.impossible))
        note = f"impossible in row {rows}; {IMPOSSIBLE_CAUSES}"
        outcome = "fail"
    return Finding(
        id="energy_balance",
        title="Shaft power below input power",
        outcome=outcome,
        unit="1",
        measured=float(efficiency.max()) if efficiency.size else None,
        required=Limits(high=1.0),
        source="conservation of energy",
        note=note,
    )


#: What makes a bench show more power out than in. Common practice, no source.
IMPOSSIBLE_CAUSES = (
    "likely causes: the unit of scale or arm, the arm length, a scale zero that moved, a current-transformer or "
    "voltage range of the wattmeter, one phase not metered, a tachometer counting double"
)
