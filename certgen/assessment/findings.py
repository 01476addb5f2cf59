"""Findings: each measured quantity held against the declared one by one row of a criteria set."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from certgen.assessment.decision import (
    UNDECIDED,
    Decision,
    as_far_as_legible,
    as_found,
    decide,
    decide_interval,
    joined,
)
from certgen.job.model import DC, Job
from certgen.messages.catalogue import Message, catalogue
from certgen.reduction.model import POINT_UNITS, Reduction
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.characteristic import SERIES_CHARACTER
from certgen.results.compute import Figures
from certgen.results.model import FAIL, FINDING_NOT_TESTED, PASS, Evidence, Finding, Limits, Losses
from certgen.results.points import IMPOSSIBLE_CAUSES
from certgen.results.rated import (
    DECLARED_AT,
    Judged,
    declared_values,
    interval_at_rated_power,
    judged_point,
    load_held,
    plate_has_synchronous_speed,
)
from certgen.results.rated_conditions import Corrected, rated_conditions, voltage_not_read
from certgen.results.rated_efficiency import rated_efficiency, with_correction
from certgen.standards.criteria import (
    SHIPPED,
    CriteriaSet,
    Criterion,
    DeclaredStarting,
    StartingCriterion,
    companions_of,
    lower_limit,
    speed_rows,
    upper_limit,
)
from certgen.standards.procedures import procedure_of
from certgen.standards.temperature_limits import SteadyRule, steady_rule

#: What a gear changes between the motor and its output shaft.
_OF_THE_SHAFT = ("shaft_power", "torque", "speed", "efficiency")
_REVOLUTIONS_1000 = 1000.0 * math.tau / 60.0
#: A correction for the supply this large a part of the tolerance leaves no statement.
_MOST_CORRECTION = 0.5
#: Places of the load where a comparison with the plate holds at rated conditions.
_AT_RATED_LOAD = ("rated power", "service factor")


@dataclass(frozen=True, eq=False)
class _Test:
    """What every row is judged on."""

    job: Job
    reduction: Reduction
    figures: Figures
    criteria: CriteriaSet
    declared: dict[str, float | None]


def judge(job: Job, reduction: Reduction, figures: Figures, criteria: CriteriaSet) -> tuple[Finding, ...]:
    """Every finding of a load test, the energy balance first.

    Rows whose declared value the plate does not give are left out; rows whose load point was not reached are
    'not tested' with the reason.
    """
    test = _Test(job, reduction, figures, criteria, declared_values(job, reduction))
    findings = [energy_balance(reduction)]
    for row in criteria.criteria:
        declared = test.declared[row.declared]
        if not applies(row, job):
            continue
        if declared is None:
            if row.quantity == "slip" and plate_has_synchronous_speed(job, reduction):
                findings.append(_made(row, None, None, test, note=Message("finding.synchronous_plate")))
            continue
        if row.at == "service factor" and row.quantity == "shaft_power":
            found = tuple(service_factor_findings(row, declared, test))
        else:
            found = (_at_its_shaft(_finding(row, declared, test), row, job),)
        findings += as_far_as_legible(found, job, row.declared, DECLARED_AT[row.at])
    if not any(_says_unreachable(finding) for finding in findings):
        findings += as_far_as_legible(_rated_power_reached(test), job, "power")
    return tuple(findings)


def _says_unreachable(finding: Finding) -> bool:
    """Whether a finding fails as the motor cannot give its power."""
    return finding.outcome == FAIL and finding.measured is None


def _rated_power_reached(test: _Test) -> list[Finding]:
    """A motor whose greatest power lies below that on its plate fails, whatever else the plate lacks."""
    peak, power = test.reduction.peak, test.job.nameplate.power
    if peak is None or power is None or float(peak.shaft_power[0]) >= power:
        return []
    greatest = float(peak.shaft_power[0])
    nearest = int(np.nanargmin(np.abs(test.reduction.points.shaft_power - greatest)))
    known = test.reduction.uncertainties
    uncertainty = None if known is None else known.points[nearest].get("shaft_power")
    limits, note = Limits(low=power), Message("finding.greatest_power", part=greatest / power)
    decision = decide(greatest, limits, uncertainty, test.job.decision_rule)
    if _most_at_rated_voltage(greatest, test) >= power:
        decision, note = UNDECIDED, Message("finding.power_at_lower_voltage", part=greatest / power)
    return [
        Finding(
            id="rated_power_reached",
            title=Message("finding.rated_power_reached"),
            **as_found(decision),
            unit="W",
            declared=power,
            measured=greatest,
            required=limits,
            source=Message("source.plate"),
            note=note,
        )
    ]


def _at_its_shaft(finding: Finding, row: Criterion, job: Job) -> Finding:
    """The finding, its title telling which shaft it is of where a gear makes that a question."""
    if job.nameplate.gear is None or row.quantity not in _OF_THE_SHAFT:
        return finding
    return replace(finding, title=Message("finding.at_output_shaft", title=finding.title))


def title_of(row: Criterion, criteria: CriteriaSet) -> Message | str:
    """The title of a row: in the words of the catalogue for a set of ours, as written for a shop's own."""
    key = f"finding.{row.id}"
    return Message(key) if criteria.name in SHIPPED and key in catalogue() else row.title


def applies(row: Criterion, job: Job) -> bool:
    """Whether a row holds for the kind and rating of the motor."""
    if row.types and job.motor.type not in row.types:
        return False
    if not row.suits_excitation(job.motor.excitation):
        return False
    if row.quantity == "power_factor" and job.motor.type == DC:
        return False
    power, speed = job.nameplate.power, job.nameplate.speed
    specific = power_per_1000_rpm(power, speed)
    return (
        _at_least(power, row.from_power)
        and _below(power, row.below_power)
        and _below(specific, row.below_power_per_1000_rpm)
        and _at_least(specific, row.from_power_per_1000_rpm)
        and (row.above_power is None or (power is not None and power > row.above_power))
        and (row.up_to_power is None or (power is not None and power <= row.up_to_power))
    )


def power_per_1000_rpm(power: float | None, speed: float | None) -> float | None:
    """Rated power [W] over rated speed [rad/s] in thousands of revolutions a minute. [W]"""
    return None if power is None or speed is None else power / (speed / _REVOLUTIONS_1000)


def _at_least(value: float | None, bound: float | None) -> bool:
    return bound is None or (value is not None and value >= bound)


def _below(value: float | None, bound: float | None) -> bool:
    return bound is None or (value is not None and value < bound)


# One row judged: where the load was, at which supply and temperature, how near the limit.


def _finding(row: Criterion, declared: float, test: _Test) -> Finding:
    """One row judged by the decision rule of the job."""
    limits = limits_of(row, declared)
    if row.quantity == "slip" and plate_has_synchronous_speed(test.job, test.reduction):
        return _made(row, declared, limits, test, note=Message("finding.synchronous_plate"))
    judged = judged_point(row.at, test.job, test.reduction, test.declared)
    if judged.point is None:
        return _not_reached(row, declared, limits, judged, test)
    found = None
    if row.quantity == "efficiency" and row.at == "rated power":
        found = rated_efficiency(test.job, judged, test.figures.losses)
    value = float(getattr(judged.point, row.quantity)[0]) if found is None else found.value
    if not math.isfinite(value):
        note = Message("finding.not_measured", quantity=Message(f"name.{row.quantity}"))
        return _made(row, declared, limits, test, note=note)
    corrected = _corrected(row, judged, value, test) if found is None else found.corrected
    if corrected.reason is not None:
        return _made(row, declared, limits, test, note=corrected.reason, measured=value)
    if 2.0 * corrected.supply_uncertainty > _MOST_CORRECTION * _tolerance(limits, declared):
        return _made(row, declared, limits, test, note=Message("finding.supply_too_far_off"), measured=corrected.value)
    known = judged.uncertainties.get(row.quantity) if found is None else found.uncertainty
    uncertainty, method = with_correction(known, corrected), None if found is None else found.method
    notes = tuple(note for note in (method, judged.note, *corrected.corrections) if note is not None)
    if judged.power_ratio is not None:
        return _at_one_point(row, declared, limits, judged, test, corrected=corrected, uncertainty=uncertainty)
    decision = decide(corrected.value, limits, uncertainty, test.job.decision_rule, harmless=row.harmless)
    chosen = _by_excitation(row, declared, decision, test, measured=corrected.value, uncertainty=uncertainty)
    if chosen is not None:
        row, decision, notes = chosen[0], chosen[1], (*notes, chosen[2])
        limits = limits_of(row, declared)
    return _made(row, declared, limits, test, decision=decision, measured=corrected.value, note=joined(notes))


def limits_of(row: Criterion | DeclaredStarting, declared: float) -> Limits:
    """The lowest and highest value a row allows for a declared one. [as declared]"""
    return Limits(
        None if row.low is None else lower_limit(declared, row.low),
        None if row.high is None else upper_limit(declared, row.high),
    )


def _tolerance(limits: Limits, declared: float) -> float:
    """The distance from the declared value to the nearer limit. [as declared]"""
    return min(abs(limit - declared) for limit in (limits.low, limits.high) if limit is not None)


def _corrected(row: Criterion, judged: Judged, value: float, test: _Test) -> Corrected:
    """A figure at rated load brought to the plate's supply and temperature; any other as it is."""
    at_a_current = row.at == "rated current" and row.quantity in ("shaft_power", "torque")
    if not (row.at in _AT_RATED_LOAD or at_a_current) or judged.point is None:
        return Corrected(value)
    voltage = judged.uncertainties.get("voltage")
    conditions = rated_conditions(
        test.job,
        judged.point,
        voltage_standard=None if voltage is None else voltage.standard,
        working=test.figures.heat.working_temperature,
    )
    return conditions.correct(row.quantity, value)


def _by_excitation(
    row: Criterion,
    declared: float,
    decision: Decision,
    test: _Test,
    *,
    measured: float,
    uncertainty: Uncertainty | None,
) -> tuple[Criterion, Decision, Message] | None:
    """A dc motor whose excitation is not stated: its own curve chooses the row; between two rows nothing is stated.

    ``None`` where the row's own decision stands as it is.
    """
    if row.quantity != "speed" or test.job.motor.type != DC or test.job.motor.excitation is not None:
        return None
    specific = power_per_1000_rpm(test.job.nameplate.power, test.job.nameplate.speed)
    rows = speed_rows(test.criteria, None, specific)
    if len(rows) < 2:
        return None

    def judged_by(other: Criterion) -> Decision:
        limits = limits_of(other, declared)
        return decide(measured, limits, uncertainty, test.job.decision_rule, harmless=other.harmless)

    character = test.figures.characteristic.speed_character
    if character:
        kind = Message(f"excitation.{character}")
        by_curve = rows[-1 if character == SERIES_CHARACTER else 0]
        return by_curve, judged_by(by_curve), Message("finding.excitation_by_curve", kind=kind)
    if judged_by(rows[0]).outcome == decision.outcome:
        return None
    return row, UNDECIDED, Message("finding.excitation_not_stated")


def _at_one_point(
    row: Criterion,
    declared: float,
    limits: Limits,
    judged: Judged,
    test: _Test,
    *,
    corrected: Corrected,
    uncertainty: Uncertainty | None,
) -> Finding:
    """A row judged at one tested point near rated power, by what that point bounds."""
    assert judged.power_ratio is not None
    bounds = interval_at_rated_power(row.quantity, corrected.value, judged.power_ratio)
    if bounds is None:
        note = Message("finding.not_from_one_point", off=judged.power_ratio - 1.0)
        return _made(row, declared, limits, test, note=note, measured=corrected.value)
    margin = 0.0 if uncertainty is None or uncertainty.expanded is None else uncertainty.expanded
    outcome = decide_interval(*bounds, limits, margin, harmless=row.harmless)
    rule = decide(corrected.value, limits, uncertainty, test.job.decision_rule).rule
    decision = Decision(outcome, rule, None if uncertainty is None else uncertainty.expanded)
    notes = (judged.note, *corrected.corrections)
    return _made(
        row,
        declared,
        limits,
        test,
        decision=decision,
        measured=corrected.value,
        note=joined(tuple(note for note in notes if note is not None)),
    )


#: How the greatest power of a motor goes with its voltage at most, P ~ U**e: breakdown torque with its square, and a
#: little more for the drop in the stator. Common practice, no source.
_GREATEST_POWER_EXPONENT = 2.5


def _not_reached(row: Criterion, declared: float, limits: Limits, judged: Judged, test: _Test) -> Finding:
    """A row whose load was not reached: a fail where the motor could not give its power at rated voltage either."""
    decision = UNDECIDED
    wanted = test.declared["power"] if row.at == "rated power" and row.quantity == "current" else None
    if judged.unreachable is not None and wanted and _most_at_rated_voltage(judged.unreachable, test) < wanted:
        decision = Decision(FAIL, UNDECIDED.rule)
    return _made(row, declared, limits, test, decision=decision, note=judged.note)


def _most_at_rated_voltage(greatest: float, test: _Test) -> float:
    """The most that a motor of this greatest power [W] can give at rated voltage, where it was tested on less. [W]"""
    return float(greatest / min(1.0, _voltage_ratio(test)) ** _GREATEST_POWER_EXPONENT)


def _voltage_ratio(test: _Test) -> float:
    """Voltage at the greatest power over rated voltage [1]; the least of an ordinary supply where none was read."""
    peak, rated = test.reduction.peak, test.job.nameplate.voltage
    if peak is None or rated is None:
        return 1.0
    ratio = float(peak.voltage[0]) / rated
    return ratio if math.isfinite(ratio) and ratio > 0.0 else 1.0 - voltage_not_read(test.job)


def _made(
    row: Criterion,
    declared: float | None,
    limits: Limits | None,
    test: _Test,
    *,
    decision: Decision = UNDECIDED,
    measured: float | None = None,
    note: Message | str | None = None,
) -> Finding:
    return Finding(
        id=row.id,
        title=title_of(row, test.criteria),
        **as_found(decision),
        unit=POINT_UNITS[row.quantity],
        quantity=row.quantity,
        declared=declared,
        measured=measured,
        required=limits,
        source=source_of(row, test.criteria),
        note=note or "",
        basis=row.basis,
        decides=row.decides,
    )


def source_of(row: Criterion | StartingCriterion | DeclaredStarting, criteria: CriteriaSet) -> Message | str:
    """Where a requirement comes from, as printed beside it: a published clause, or a limit of the workshop."""
    if row.basis != "published":
        return Message("source.workshop", clause=row.clause)
    return Message("source.published", standard=criteria.cited_as(row.edition), clause=row.clause)


def energy_balance(reduction: Reduction) -> Finding:
    """Whether every point gives less shaft power than it takes in."""
    points = reduction.points
    efficiency = points.efficiency[np.isfinite(points.efficiency)]
    count = int(points.impossible.sum())
    note: Message | str = ""
    outcome = PASS
    if not efficiency.size:
        note, outcome = Message("finding.not_measured", quantity=Message("name.input_power")), FINDING_NOT_TESTED
    elif count:
        rows = tuple(str(index + 1) for index in np.flatnonzero(points.impossible))
        note, outcome = Message("finding.impossible_rows", rows=rows, causes=IMPOSSIBLE_CAUSES), FAIL
    return Finding(
        id="energy_balance",
        title=Message("finding.energy_balance"),
        outcome=outcome,
        unit="1",
        measured=float(efficiency.max()) if efficiency.size else None,
        required=Limits(high=1.0),
        source=Message("source.energy"),
        note=note,
        decides=False,
    )


# The service factor: whether rated power times service factor was reached, and whether it was held.


#: Shorter than this a load was shown briefly: the shortest short-time rating, duty S2 10 min.
#: Source: IEC 60034-1, 4.2.2, from memory.
BRIEFLY = 600.0


def service_factor_findings(row: Criterion, wanted: float, test: _Test) -> list[Finding]:
    """Whether the service-factor load was reached, and whether it was held.

    Reached means a tested point of that power, never one beyond the tested range; a machine whose greatest power lies
    below it fails; a test that stopped short proves nothing. Held means to a steady temperature, or for the minutes the
    set fixes; only what was held counts as met.
    """
    reduction, criteria = test.reduction, test.criteria
    powers = np.where(reduction.points.impossible, np.nan, reduction.points.shaft_power)
    greatest = float(np.nanmax(powers, initial=-np.inf))
    judged = judged_point(row.at, test.job, reduction, test.declared)
    limits = Limits(low=wanted)
    rule = steady_rule(companions_of(criteria).temperature)
    reached = _made(row, wanted, limits, test, note=judged.note)
    held = replace(
        reached,
        id="service_factor_held",
        title=Message("finding.service_factor_held"),
        unit="s",
        declared=None,
        required=None,
        decides=False,
    )
    if math.isfinite(greatest):
        row_of = int(np.nanargmax(powers))
        uncertainties = reduction.uncertainties
        known = None if uncertainties is None else uncertainties.points[row_of].get("shaft_power")
        if greatest >= wanted:
            decision = decide(greatest, limits, known, test.job.decision_rule)
            reached = _made(row, wanted, limits, test, decision=decision, measured=greatest)
            length, note, steady = _how_held(wanted, test, rule)
            outcome = PASS if steady else FINDING_NOT_TESTED
            return [reached, replace(held, outcome=outcome, measured=length, note=note, decision_rule=UNDECIDED.rule)]
        if judged.unreachable is not None:
            decision = decide(judged.unreachable, limits, known, test.job.decision_rule)
            outcome = FAIL if decision.outcome == PASS else decision.outcome
            decision = replace(decision, outcome=outcome)
            reached = _made(row, wanted, limits, test, decision=decision, measured=judged.unreachable, note=judged.note)
        else:
            note = judged.note or Message("finding.outside_range", place=Message("place.service_factor"))
            reached = _made(row, wanted, limits, test, measured=greatest, note=note)
    return [reached, replace(held, measured=None, note=Message("service_factor.not_reached"))]


def _how_held(wanted: float, test: _Test, rule: SteadyRule) -> tuple[float | None, Message, bool]:
    """For how long the load was at or above a wanted power [W]: the time [s], in words, and whether it counts as held."""
    held = load_held(test.reduction, wanted, rule)
    fixed = test.criteria.service_factor_hold
    run = held.run
    if run is None or run.length < BRIEFLY:
        length = held.between_readings
        counts = fixed is not None and length is not None and length >= fixed
        if not held.points:
            return None, Message("service_factor.read_off"), False
        if length is None:
            return None, Message("service_factor.times_not_recorded", points=held.points), False
        key = "service_factor.briefly" if length < BRIEFLY else "service_factor.held_not_judged"
        return length, Message(key, time=length), counts
    counts = held.steady_by is not None or (fixed is not None and run.length >= fixed)
    if held.last_change is None:
        end = Message("service_factor.watched_too_briefly", part=run.part, time=rule.within)
    elif held.steady_by is None:
        end = Message("service_factor.not_steady", part=run.part, change=held.last_change, time=rule.within)
    else:
        end = Message("service_factor.steady", part=run.part, time=held.steady_by)
    return run.length, Message("service_factor.held", time=run.length, where=run.where, end=end), counts


def stray_finding(losses: Losses | None, procedure_name: str) -> tuple[Finding, ...]:
    """The correlation of the stray-load regression against its rule; none where no regression was made."""
    if losses is None or losses.stray_regression is None:
        return ()
    procedure, stray = procedure_of(procedure_name), losses.stray_regression
    finding = Finding(
        id="stray_regression",
        title=Message("finding.stray_regression"),
        outcome=PASS if stray.accepted[procedure.title] else FAIL,
        unit="1",
        measured=stray.correlation.value,
        required=Limits(low=procedure.least_correlation),
        source=procedure.source("least_correlation"),
        note=stray.note or "",
        decides=False,
    )
    return (finding,)


def efficiency_evidence(losses: Losses | None) -> tuple[Evidence, ...]:
    """Where output over input and the segregated losses contradict each other at rated power, each with its uncertainty.

    What both have in common, such as the input power, is not taken out, so that they may differ by more than they ought.

    References
    ----------
    JCGM 100:2008, 5.1.2: the uncertainty of a difference of two figures taken as independent.
    """
    direct, segregated = (None, None) if losses is None else (losses.direct_efficiency, losses.efficiency_as_tested)
    if direct is None or segregated is None:
        return ()
    spreads = [item.expanded_uncertainty for item in (direct, segregated)]
    if spreads[0] is None or spreads[1] is None:
        return ()
    allowed = math.hypot(spreads[0], spreads[1])
    if abs(direct.value - segregated.value) <= allowed:
        return ()
    message = Message("evidence.efficiency_methods", direct=direct.value, segregated=segregated.value, allowed=allowed)
    return (Evidence("efficiency_methods", "load_test", None, message, Message("efficiency.look_at"), "caps"),)
