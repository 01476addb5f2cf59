"""The verdict: the worst finding that matters, what it covers, and what is printed large."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from certgen.assessment.as_found import OF_THE_MOTOR
from certgen.assessment.decision import ACCEPTED, CONDITIONAL, rank, worst
from certgen.assessment.insulation import INDEX, OF_INSULATION, RESISTANCE, UNSOUND
from certgen.assessment.plausibility.evidence import LOAD_TEST
from certgen.assessment.plausibility.evidence_of_test import ROW_CHECKS, rows_off
from certgen.assessment.safety import forbids_use
from certgen.assessment.supply import OF_SUPPLY
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.messages.format import PlateFigures
from certgen.quantity import Quantity
from certgen.reduction.heat import WindingRise
from certgen.reduction.model import LoadPoints, Reduction
from certgen.results.compute import Figures
from certgen.results.model import (
    CONDITIONAL_PASS,
    FAIL,
    FAILED,
    FINDING_NOT_TESTED,
    INSULATION,
    MET,
    NAMEPLATE,
    NO_VERDICT,
    NOT_DECLARED,
    NOT_TESTED,
    PASS,
    REACHED,
    SERVICE_FACTOR,
    STARTING,
    WINDING_TEMPERATURE,
    AssessedRating,
    Evidence,
    Finding,
    Point,
    Results,
    ScopeItem,
    Verdict,
)
from certgen.results.rated import is_empty_plate
from certgen.results.rating import NO_RATING

#: Kinds of no verdict.
NO_PLATE, NOT_AT_RATING, READINGS, SUPPLY = "no plate", "not at rating", "readings", "supply"
#: Effects of evidence on the verdict.
NOTE, CAPS, WITHHOLDS = "note", "caps", "no verdict"
#: A pass needs one of these judged: the motor was then loaded to its rating.
_AT_RATING = ("rated_current", "rated_power")
#: The detail of a nameplate whose values were met as far as they were tested, and not all were.
CHECKS_IN_PART = "scope.checks_in_part"
#: Findings on starting and overload.
_OF_STARTING = ("code_letter", "breakdown_torque", "locked_rotor", "pull_up")
_RISES = ("winding_rise", "winding_temperature")
_HELD, _REACHED = "service_factor_held", "service_factor"


# Readings that cannot be true of any motor: the measurement is at fault, and the motor cannot be judged by it.


def fault_of(points: LoadPoints) -> Message | None:
    """Why the load points of a test [SI] cannot be true; ``None`` where nothing speaks against them."""
    impossible, over = int(points.impossible.sum()), int(points.above_volt_amperes.sum())
    if impossible:
        return Message("verdict.more_out_than_in", count=impossible, points=points.count)
    if over:
        return Message("verdict.watts_above_volt_amperes", count=over, points=points.count)
    return Message("verdict.negative_torque") if _runs_backwards(points) else None


def _runs_backwards(points: LoadPoints) -> bool:
    """Whether the greatest torque in size is a negative one: the load pulled the scale the wrong way."""
    least = float(np.nanmin(points.torque, initial=0.0))
    return -least > float(np.nanmax(points.torque, initial=0.0))


# The rating the figures allow is withheld where motor, supply or readings are not fit for one.


def rating_to_state(
    rating: AssessedRating | None, points: LoadPoints, findings: tuple[Finding, ...]
) -> AssessedRating | None:
    """The assessed rating, or in its place what has to be put right before one can be stated."""
    if rating is None:
        return None
    reason = _unfit_for_rating(points, findings)
    return AssessedRating(words=NO_RATING, to_measure=(reason,)) if reason else rating


def _unfit_for_rating(points: LoadPoints, findings: tuple[Finding, ...]) -> Message | None:
    """Why a motor or its test is fit for no rating at all, as what to measure again; ``None`` where nothing is."""
    if any(finding.id in OF_INSULATION and finding.outcome in UNSOUND for finding in findings):
        return Message("to_measure.after_insulation")
    if any(forbids_use(finding) for finding in findings):
        return Message("to_measure.after_inspection")
    if any(finding.id in OF_SUPPLY and finding.decides for finding in findings):
        return Message("to_measure.on_a_fit_supply")
    if bool(points.impossible.any()):
        return Message("to_measure.more_out_than_in")
    return Message("to_measure.readings_that_can_be") if fault_of(points) else None


# The verdict itself.


@dataclass(frozen=True, eq=False)
class _Case:
    """What a verdict is formed of."""

    job: Job
    reduction: Reduction
    figures: Figures
    findings: tuple[Finding, ...]
    evidence: tuple[Evidence, ...]
    rating: AssessedRating | None
    reservations: tuple[Message, ...] = ()  # what was found before the brake and caps a pass

    @property
    def judged(self) -> list[Finding]:
        """The findings the verdict rests on."""
        return [
            finding
            for finding in self.findings
            if finding.decides
            and finding.outcome != FINDING_NOT_TESTED
            and (finding.declared is not None or finding.id.startswith(OF_THE_MOTOR))
        ]

    @property
    def against_plate(self) -> list[Finding]:
        """Those of them that hold the load test against the plate: what the scope names by itself is left out."""
        apart = (*OF_INSULATION, *_RISES, _HELD, _REACHED)
        return [one for one in self.judged if one.id not in apart and not one.id.startswith(OF_THE_MOTOR)]

    @property
    def not_made(self) -> list[Finding]:
        """What the plate declares, a verdict would rest on, and nobody could judge; starting has a scope of its own."""
        apart = (*OF_INSULATION, *_RISES, _HELD, _REACHED)
        return [
            one
            for one in self.findings
            if one.decides
            and one.outcome == FINDING_NOT_TESTED
            and one.declared is not None
            and one.id not in apart
            and not one.id.startswith((*_OF_STARTING, *OF_THE_MOTOR))
        ]

    @property
    def unsafe(self) -> list[Finding]:
        """Findings that forbid to energise the motor."""
        return [finding for finding in self.findings if forbids_use(finding)]


def verdict_of(
    job: Job,
    reduction: Reduction,
    figures: Figures,
    findings: tuple[Finding, ...],
    *,
    evidence: tuple[Evidence, ...] = (),
    rating: AssessedRating | None = None,
    reservations: tuple[Message, ...] = (),
) -> Verdict:
    """One word for the test, what it covers, and why.

    Failed insulation and safety come first: nothing else makes such a motor fit for use. A test with physically
    impossible readings, or on a supply no motor may run on, carries no statement about the motor, nor does one of a motor
    without a usable plate, nor one that never came near the rating. Readings that contradict each other cap a pass or
    withhold it. An assessed rating is stated, and is no pass.
    """
    case = _Case(job, reduction, figures, findings, evidence, rating, reservations)
    verdict = _reserved(_capped(_outcome(case), case), reservations)
    scope = _of_statement(verdict, tuple(_scope(case)))
    return replace(verdict, headline=_headline(verdict, case), scope=scope)


def _outcome(case: _Case) -> Verdict:
    """Outcome, kind and reasons, the readings taken as they are."""
    unsafe = case.unsafe
    fault = fault_of(case.reduction.points)
    failed = [] if fault else [finding for finding in case.judged if finding.outcome not in ACCEPTED]
    if unsafe:
        outcome = worst(finding.outcome for finding in (*unsafe, *failed))
        others = [finding for finding in failed if finding not in unsafe]
        return Verdict(outcome, tuple(_reason(finding) for finding in (*unsafe, *others)))
    if fault:
        rows = tuple(entry.message for entry in case.evidence if entry.id in ROW_CHECKS)
        return Verdict(NO_VERDICT, (fault, *rows), kind=READINGS)
    unlike = [finding for finding in case.findings if finding.id in OF_SUPPLY and finding.decides]
    if unlike and not is_empty_plate(case.job):
        titles = tuple(finding.title for finding in unlike)
        return Verdict(NO_VERDICT, (Message("verdict.supply", titles=titles, note=unlike[0].note),), kind=SUPPLY)
    if failed:
        return Verdict(worst(finding.outcome for finding in failed), tuple(_reason(finding) for finding in failed))
    if case.job.nameplate.power is None:
        return Verdict(NO_VERDICT, (_no_plate(case.job), *_assessed(case.rating)), kind=NO_PLATE)
    if not any(place in finding.id for finding in case.judged for place in _AT_RATING):
        return Verdict(NO_VERDICT, (_why_not(case.findings), *_assessed(case.rating)), kind=NOT_AT_RATING)
    return _met(case)


def _met(case: _Case) -> Verdict:
    """A pass, or a conditional one, with what lies near its limit and what was not tested."""
    judged = case.judged
    near = tuple(finding.title for finding in judged if finding.outcome == CONDITIONAL_PASS)
    not_made = tuple(
        finding.title
        for finding in case.findings
        if finding.outcome == FINDING_NOT_TESTED and (finding.decides or finding.id in _RISES)
    )
    kept, in_all = len(case.against_plate), len(case.against_plate) + len(case.not_made)
    met = (
        Message("verdict.met_in_part", kept=kept, count=in_all) if case.not_made else Message("verdict.met", count=kept)
    )
    reasons = [met]
    if near:
        reasons.append(Message("verdict.near", titles=near))
    if not_made:
        reasons.append(Message("verdict.not_tested", titles=not_made))
    return Verdict(worst(finding.outcome for finding in judged), tuple(reasons))


def _capped(verdict: Verdict, case: _Case) -> Verdict:
    """The verdict with what speaks against the readings: a pass is at most conditional, or withheld.

    A fail is withheld too, unless the insulation fails, which is read apart from the load, or only rows contradict that
    lie off their neighbours: with and without these the verdict is formed anyway.
    """
    evidence = case.evidence
    if case.unsafe or verdict.kind in (NO_PLATE, READINGS):
        return verdict
    in_question = {entry.row for entry in rows_off(evidence)}
    withholding = [entry for entry in evidence if entry.effect == WITHHOLDS]
    elsewhere = [entry for entry in withholding if entry.table != LOAD_TEST or entry.row not in in_question]
    if elsewhere or (withholding and verdict.outcome not in (FAIL, NO_VERDICT)):
        return Verdict(NO_VERDICT, tuple(entry.message for entry in withholding), kind=READINGS)
    assumed = [entry for entry in evidence if entry.id == GEAR_ASSUMED]
    if assumed and _fails_by_load_alone(verdict, case):
        reasons = (Message("verdict.gear_assumed"), *(entry.message for entry in assumed))
        return Verdict(NO_VERDICT, (*reasons, *verdict.reasons), kind=READINGS)
    capping = tuple(entry.message for entry in evidence if entry.effect == CAPS)
    if capping and verdict.outcome == PASS:
        reasons = (Message("verdict.capped"), *capping)
        return replace(verdict, outcome=CONDITIONAL_PASS, reasons=(*reasons, *verdict.reasons))
    return verdict


def _reserved(verdict: Verdict, reservations: tuple[Message, ...]) -> Verdict:
    """The verdict with what was found before the brake: a pass is at most conditional, any other keeps its outcome."""
    if not reservations:
        return verdict
    if verdict.outcome == PASS:
        return replace(verdict, outcome=CONDITIONAL_PASS, reasons=(*reservations, *verdict.reasons))
    return replace(verdict, reasons=(*verdict.reasons, *reservations))


#: The evidence that a plate was brought to the output shaft with an efficiency nobody stated.
GEAR_ASSUMED = "gear_efficiency_assumed"


def _fails_by_load_alone(verdict: Verdict, case: _Case) -> bool:
    """Whether a motor fails, and only by figures that are held against the plate at a load."""
    failed = [finding for finding in case.judged if finding.outcome not in ACCEPTED]
    against_plate = {finding.id for finding in case.against_plate}
    return verdict.outcome in (FAIL, "conditional fail") and all(finding.id in against_plate for finding in failed)


def with_rows_in_question(results: Results, second: Results) -> Results:
    """Results of a test with rows off their neighbours, their verdict formed with and without these rows.

    Parameters
    ----------
    results : Results
        Of all rows as written.
    second : Results
        Of the same test without the rows in question.

    Notes
    -----
    Both Fail stays Fail, and so a conditional fail; where both accept it is at most a conditional pass; anything else is
    no verdict. A figure that the rows move by more than its uncertainty is named, and not printed large; nor is a
    headline that holds such a figure, as that of a motor without a plate.
    """
    verdict = _weighed(results.verdict, second.verdict, results.plausibility)
    return replace(results, verdict=replace(verdict, in_question=tuple(_moved(results, second))))


#: Verdicts that accept a motor.
_ACCEPTING = (PASS, CONDITIONAL_PASS)


def _weighed(verdict: Verdict, second: Verdict, evidence: tuple[Evidence, ...]) -> Verdict:
    rows = tuple(str(entry.row) for entry in rows_off(evidence))
    if (
        verdict.outcome == NO_VERDICT
        and verdict.kind == NO_PLATE
        and _headline_moved(verdict.headline, second.headline)
    ):
        reasons = (Message("verdict.rows_move_headline", rows=rows), *verdict.reasons)
        return replace(verdict, reasons=reasons, headline=_WORDS[NO_VERDICT])
    if verdict.outcome == NO_VERDICT or (verdict.outcome == second.outcome and verdict.outcome not in _ACCEPTING):
        return verdict
    if verdict.outcome in _ACCEPTING and second.outcome in _ACCEPTING:
        reasons = (Message("verdict.rows_in_question", rows=rows), *verdict.reasons)
        headline = _accepted(CONDITIONAL_PASS, verdict.headline)
        return replace(verdict, outcome=CONDITIONAL_PASS, reasons=reasons, headline=headline)
    reasons = (Message("verdict.rows_decide", rows=rows),)
    withheld = replace(verdict, outcome=NO_VERDICT, kind=READINGS, reasons=reasons, headline=_WORDS[NO_VERDICT])
    return replace(withheld, scope=_of_statement(withheld, verdict.scope))


def _headline_moved(here: Message | None, there: Message | None) -> bool:
    """Whether the power of the headline hangs on the rows in question: of another kind, or beyond its uncertainty."""
    if here is None or there is None or here.key != there.key:
        return here != there
    power, other = here.values.get("power"), there.values.get("power")
    if not (isinstance(power, Quantity) and isinstance(other, Quantity)):
        return power != other
    return abs(power.value - other.value) > (power.expanded_uncertainty or 1e-9 * abs(power.value))


#: Points whose figures a page prints large, and these figures.
_LARGE_POINTS = ("at_rated_power", "at_rated_current")
_LARGE = ("shaft_power", "torque", "speed", "current", "efficiency")


def _moved(results: Results, second: Results) -> Iterator[str]:
    """Figures that differ between the two by more than their uncertainty, as 'at_rated_power.current'."""
    for place in _LARGE_POINTS:
        here, there = getattr(results, place), getattr(second, place)
        for name in _LARGE:
            figure = None if here is None else getattr(here, name)
            other = None if there is None else getattr(there, name)
            if figure is None:
                continue
            margin = figure.expanded_uncertainty or 1e-9 * abs(figure.value)
            if other is None or abs(figure.value - other.value) > margin:
                yield f"{place}.{name}"


# What is printed large.


#: The word of each outcome, as a page prints it large.
_WORDS = {
    outcome: Message(f"headline.{outcome.replace(' ', '_')}")
    for outcome in (PASS, CONDITIONAL_PASS, "conditional fail", FAIL, NO_VERDICT)
}


#: The word of a motor accepted in some of the values its plate declares, the others not tested.
_IN_PART = {outcome: f"headline.{outcome.replace(' ', '_')}_in_part" for outcome in _ACCEPTING}


def _accepted(outcome: str, before: Message | None) -> Message:
    """The word of an accepting outcome, in as many checks as the headline before it says."""
    if before is not None and before.key in _IN_PART.values():
        return Message(_IN_PART[outcome], **before.values)
    return _WORDS[outcome]


def _headline(verdict: Verdict, case: _Case) -> Message:
    if verdict.outcome in _ACCEPTING and case.not_made:
        kept = len(case.against_plate)
        return Message(_IN_PART[verdict.outcome], kept=kept, count=kept + len(case.not_made))
    if verdict.outcome != NO_VERDICT or verdict.kind != NO_PLATE:
        return _WORDS[verdict.outcome]
    rating = case.rating
    if rating is not None and rating.power is not None:
        if case.job.nameplate.current is not None:
            return Message("headline.rated_at_current", power=rating.power, current=_set(case.job.nameplate.current))
        label = PlateFigures(rating.power_label) if rating.power_label else rating.power
        return Message("headline.bench_rated", power=label)
    point = _heaviest(case.figures.points)
    if point is None or point.shaft_power is None:
        return _WORDS[NO_VERDICT]
    if point.current is None:
        return Message("headline.measured", power=point.shaft_power)
    return Message("headline.measured_at_current", power=point.shaft_power, current=point.current)


def _set(current: float) -> Quantity:
    """A value that the point was set to, which has no uncertainty of its own. [A]"""
    return Quantity(current, "A")


def _heaviest(points: tuple[Point, ...]) -> Point | None:
    """The point of greatest shaft power that can be true."""
    usable = [point for point in points if point.shaft_power is not None and not point.flags]
    return max(usable, key=lambda point: point.shaft_power.value if point.shaft_power else 0.0, default=None)


# Why.


def _no_plate(job: Job) -> Message:
    return Message("verdict.no_plate" if is_empty_plate(job) else "verdict.plate_without_power")


def _assessed(rating: AssessedRating | None) -> tuple[Message, ...]:
    """What there is to say of an assessed rating."""
    if rating is None:
        return ()
    if rating.power is None:
        count = len(rating.to_measure)
        if not count:
            return (Message("verdict.no_rating", words=rating.words),)
        return (Message("verdict.no_rating_yet", words=rating.words, count=count),)
    label = PlateFigures(rating.power_label) if rating.power_label else Message("verdict.see_below")
    if rating.limited_by:
        return (Message("verdict.rating_limited", words=rating.words, label=label, limit=rating.limited_by),)
    return (Message("verdict.rating", words=rating.words, label=label),)


#: From so many times its limit on, a value is said in times and not in per cent.
_MANY_TIMES = 10.0


def _reason(finding: Finding) -> Message:
    limits, measured = finding.required, finding.measured
    nearly = finding.outcome in CONDITIONAL
    if measured is not None and limits is not None:
        if limits.low is not None and measured < limits.low:
            key = "verdict.nearly_below" if nearly else "verdict.below"
            return Message(key, title=finding.title, off=abs(measured / limits.low - 1.0))
        if limits.high is not None and measured > _MANY_TIMES * limits.high > 0.0:
            return Message("verdict.times_above", title=finding.title, times=measured / limits.high)
        if limits.high is not None and measured > limits.high:
            key = "verdict.nearly_above" if nearly else "verdict.above"
            return Message(key, title=finding.title, off=abs(measured / limits.high - 1.0))
    return Message("verdict.because", title=finding.title, note=finding.note)


def _why_not(findings: tuple[Finding, ...]) -> Message:
    notes = tuple(
        dict.fromkeys(
            finding.note
            for finding in findings
            if finding.outcome == FINDING_NOT_TESTED and finding.decides and finding.note
        )
    )
    return Message("verdict.not_at_rating", notes=notes[:3]) if notes else Message("verdict.plate_too_little")


# What the verdict covers.


def _scope(case: _Case) -> Iterator[ScopeItem]:
    """Nameplate, insulation, winding temperature, service factor and starting, each as far as it was tested."""
    yield _nameplate(case)
    yield _insulation(case)
    yield _winding(case)
    yield _service_factor(case)
    yield _starting(case)


#: Subjects that rest on the readings of the load.
_BY_LOAD = (NAMEPLATE, SERVICE_FACTOR, STARTING)


def _of_statement(verdict: Verdict, scope: tuple[ScopeItem, ...]) -> tuple[ScopeItem, ...]:
    """The scope of what is stated: on readings or a supply that allow no statement nothing counts as met or failed."""
    if verdict.kind not in (READINGS, SUPPLY):
        return scope
    return tuple(
        ScopeItem(item.subject, NOT_TESTED) if item.subject in _BY_LOAD and item.state != NOT_DECLARED else item
        for item in scope
    )


def _nameplate(case: _Case) -> ScopeItem:
    if case.job.nameplate.power is None:
        return ScopeItem(NAMEPLATE, NOT_DECLARED)
    judged = case.against_plate
    if not judged:
        return ScopeItem(NAMEPLATE, NOT_TESTED)
    kept = [finding for finding in judged if finding.outcome in ACCEPTED]
    if len(kept) == len(judged) and case.not_made:
        # What the plate declares and nobody tested is not met by what was.
        count, titles = len(judged) + len(case.not_made), tuple(finding.title for finding in case.not_made)
        return ScopeItem(NAMEPLATE, NOT_TESTED, Message(CHECKS_IN_PART, kept=len(kept), count=count, titles=titles))
    if len(kept) == len(judged):
        return ScopeItem(NAMEPLATE, MET, Message("scope.checks", kept=len(kept), count=len(judged)))
    detail = Message("scope.checks_failed", failed=len(judged) - len(kept), count=len(judged))
    return ScopeItem(NAMEPLATE, FAILED, detail)


def _insulation(case: _Case) -> ScopeItem:
    findings = [finding for finding in case.findings if finding.id == RESISTANCE]
    index = [finding for finding in case.findings if finding.id == INDEX and finding.decides]
    if case.figures.insulation is None or not findings:
        return ScopeItem(INSULATION, NOT_TESTED)
    value, uncertainty = findings[0].measured, findings[0].expanded_uncertainty
    resistance = None if value is None else Quantity(value, "ohm", uncertainty)
    detail = None if resistance is None else Message("scope.resistance", resistance=resistance)
    return ScopeItem(INSULATION, _state((*findings, *index)), detail)


def _winding(case: _Case) -> ScopeItem:
    findings = [finding for finding in case.findings if finding.id in _RISES]
    made = [finding for finding in findings if finding.outcome != FINDING_NOT_TESTED]
    if not made:
        measured = isinstance(case.figures.heat.rise, WindingRise)
        unlimited = measured and case.job.nameplate.insulation_class is None
        return ScopeItem(WINDING_TEMPERATURE, NOT_DECLARED if unlimited else NOT_TESTED)
    shown = max(made, key=lambda finding: rank(finding.outcome))
    if shown.measured is None or shown.required is None or shown.required.high is None:
        return ScopeItem(WINDING_TEMPERATURE, _state(made))
    detail = Message("scope.rise", rise=shown.measured, allowed=shown.required.high)
    return ScopeItem(WINDING_TEMPERATURE, _state(made), detail)


def _service_factor(case: _Case) -> ScopeItem:
    reached = next((finding for finding in case.findings if finding.id == _REACHED), None)
    held = next((finding for finding in case.findings if finding.id == _HELD), None)
    if reached is None:
        return ScopeItem(SERVICE_FACTOR, NOT_DECLARED)
    if reached.outcome == FINDING_NOT_TESTED:
        return ScopeItem(SERVICE_FACTOR, NOT_TESTED)
    if reached.outcome not in ACCEPTED:
        return ScopeItem(SERVICE_FACTOR, FAILED)
    time = None if held is None else held.measured
    detail = None if time is None else Message("scope.held", time=time)
    return ScopeItem(SERVICE_FACTOR, MET if held is not None and held.outcome == PASS else REACHED, detail)


def _starting(case: _Case) -> ScopeItem:
    findings = [finding for finding in case.findings if finding.id.startswith(_OF_STARTING)]
    made = [finding for finding in findings if finding.outcome != FINDING_NOT_TESTED]
    # What the plate declares and nobody tested is not met by what was.
    counted = [finding for finding in findings if finding in made or finding.decides]
    return ScopeItem(STARTING, _state(counted) if made else NOT_TESTED)


def _state(findings: Iterable[Finding]) -> str:
    """Of several findings: failed where one failed, not tested where one could not be made, else met."""
    listed = list(findings)
    made = [finding for finding in listed if finding.outcome != FINDING_NOT_TESTED]
    if any(finding.outcome not in ACCEPTED for finding in made):
        return FAILED
    return MET if len(made) == len(listed) else NOT_TESTED
