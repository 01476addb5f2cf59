"""Findings: each measured quantity held against the declared one by one row of a criteria set."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from certgen.assessment.decision import SIMPLE_ACCEPTANCE, Decision, decide
from certgen.job.model import DC, Job
from certgen.reduction.held_run import HeldRun
from certgen.reduction.model import POINT_UNITS, Reduction
from certgen.results.model import Finding, Limits
from certgen.results.rated import Judged, declared_values, judged_point
from certgen.standards.criteria import (
    CriteriaSet,
    Criterion,
    StartingCriterion,
    lower_limit,
    standard_behind,
    upper_limit,
)
from certgen.standards.temperature_limits import SteadyRule, steady_rule

# The service factor: whether rated power times service factor was reached, and for how long.


#: Shorter than this a load was shown briefly: the shortest short-time rating, duty S2 10 min.
#: Source: IEC 60034-1, 4.2.2, from memory.
BRIEFLY = 600.0
#: How a note says that the load was not held to a steady temperature.
NOT_STEADY = "not shown to be steady"
#: A point this near below the wanted power counts as held at it.
_NEARLY = 0.99


def service_factor_finding(
    row: Criterion, wanted: float, judged: Judged, reduction: Reduction, source: str, *, steady: SteadyRule
) -> Finding:
    """Whether the service-factor load was reached.

    Reached means a tested or barely extrapolated point of that power; a machine whose greatest power lies below
    it fails; a test that stopped short proves nothing. How long the load was held, and whether the motor became
    steady at it, is told in the note.
    """
    points = reduction.points
    greatest = float(np.nanmax(np.where(points.impossible, np.nan, points.shaft_power), initial=-np.inf))
    measured: float | None = greatest if np.isfinite(greatest) else None
    if judged.point is not None:
        outcome = "pass"
        measured = float(judged.point.shaft_power[0])
        note = "; ".join(part for part in (judged.note, held(reduction, wanted, steady)) if part)
    elif judged.unreachable is not None:
        outcome, note, measured = "fail", judged.note, judged.unreachable
    else:
        outcome, note = "not tested", judged.note
    return Finding(
        id=row.id,
        title=row.title,
        outcome=outcome,
        unit="W",
        declared=wanted,
        measured=measured,
        required=Limits(low=wanted),
        source=source,
        note=note,
    )


def held(reduction: Reduction, wanted: float, steady: SteadyRule) -> str:
    """In words, for how long the load was at or above a wanted power [W], and whether it was held to a steady end."""
    at_load = [run for run in reduction.held_runs if run.load is not None and run.load >= _NEARLY * wanted]
    longest = max(at_load, key=lambda run: run.length, default=None)
    if longest is None or longest.length < BRIEFLY:
        return _between_readings(reduction, wanted)
    return f"held for {longest.length / 60.0:.0f} min ({longest.where}), {_end_of(longest, steady)}"


def _end_of(run: HeldRun, steady: SteadyRule) -> str:
    change, by = run.change_within(steady.within), run.steady_by(steady.change, steady.within)
    if change is None:
        return f"{NOT_STEADY}: the {run.part} was watched for less than {steady.within / 60.0:.0f} min"
    if by is None:
        return f"{NOT_STEADY}: {run.part} {change:+.1f} K in the last {steady.within / 60.0:.0f} min"
    return f"{run.part} steady by {by / 60.0:.0f} min"


def _between_readings(reduction: Reduction, wanted: float) -> str:
    points = reduction.points
    at_load = points.shaft_power >= _NEARLY * wanted
    count = int(at_load.sum())
    if count == 0:
        return "read off the curve; not held at this load"
    times = points.time[at_load]
    if reduction.log is not None:
        plateaus = reduction.log.plateaus
        times = np.array([when for row in np.flatnonzero(at_load) for when in (plateaus[row].start, plateaus[row].end)])
    elif not np.isfinite(times).all() or count < 2:
        return f"reached at {count} tested point{'s' if count > 1 else ''}; how long it was held is not recorded"
    minutes = float(np.ptp(times)) / 60.0
    if minutes * 60.0 < BRIEFLY:
        return f"reached briefly: {minutes:.1f} min between its first and last reading"
    return f"held for {minutes:.0f} min; steady temperature is not judged"


# Findings: each measured quantity held against the declared one by one row of a criteria set.


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
            measured, decision = value, decide(value, limits, judged.uncertainties.get(row.quantity), rule)
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
