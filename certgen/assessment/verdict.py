"""The verdict: the worst finding that matters, with its reasons in words; and what may be said of a rating."""

from __future__ import annotations

import numpy as np

from certgen.assessment.decision import ACCEPTED, CONDITIONAL, CONDITIONAL_PASS
from certgen.assessment.insulation import OF_INSULATION, UNSOUND
from certgen.assessment.supply import OF_SUPPLY
from certgen.job.model import Job
from certgen.reduction.model import LoadPoints, Reduction
from certgen.results.model import OUTCOMES, AssessedRating, Finding, Verdict
from certgen.results.rated import is_empty_plate
from certgen.results.rating import NO_RATING

# Readings that cannot be true of any motor: the measurement is at fault, and the motor cannot be judged by it.


def fault_of(points: LoadPoints) -> str:
    """In words, why the load points of a test [SI] cannot be true; empty where nothing speaks against them."""
    of_all = f"of {points.count} load points"
    impossible, over = int(points.impossible.sum()), int(points.above_volt_amperes.sum())
    if impossible:
        return f"{impossible} {of_all} would give more power than they take in, so the measurement is at fault."
    if over:
        return f"{over} {of_all} would take in more watts than volts times amperes, so the measurement is at fault."
    if _runs_backwards(points):
        return "The torque of the load is negative, so the measurement is at fault."
    return ""


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


def _unfit_for_rating(points: LoadPoints, findings: tuple[Finding, ...]) -> str:
    """Why a motor or its test is fit for no rating at all, as what to measure again; empty where nothing is."""
    if any(finding.id in OF_INSULATION and finding.outcome in UNSOUND for finding in findings):
        return "everything, once the insulation to the frame is sound"
    if any(finding.id in OF_SUPPLY and finding.matters for finding in findings):
        return "the load test again on a supply that a motor may run on"
    if bool(points.impossible.any()):
        return "the load test again: a point gave more power than it took in"
    return "the load test again, with readings that can be true" if fault_of(points) else ""


# The verdict itself.


#: A pass needs one of these judged: the motor was then loaded to its rating.
_AT_RATING = ("rated_current", "rated_power")


def verdict_of(
    job: Job, reduction: Reduction, findings: tuple[Finding, ...], rating: AssessedRating | None = None
) -> Verdict:
    """One word for the test, and why.

    Failed insulation comes first: nothing else makes such a motor fit for use. A test with physically
    impossible readings, or on a supply no motor may run on, carries no statement about the motor, nor does one of a motor
    without a usable plate, nor one that never came near the rating. An assessed rating is stated, and is no pass.
    """
    fault = fault_of(reduction.points)
    judged = [
        finding
        for finding in findings
        if finding.matters and finding.outcome != "not tested" and finding.declared is not None
    ]
    failed = [] if fault else [finding for finding in judged if finding.outcome not in ACCEPTED]
    unsafe = [
        finding
        for finding in findings
        if finding.id in OF_INSULATION and finding.matters and finding.outcome in UNSOUND
    ]
    if unsafe:
        worst = max((finding.outcome for finding in (*unsafe, *failed)), key=OUTCOMES.index)
        return Verdict(worst, tuple(_reason(finding) for finding in (*unsafe, *failed)))
    if fault:
        return Verdict("not tested", (fault,))
    if is_empty_plate(job):
        nothing = "The plate declares no rating, so there is nothing to judge against."
        return Verdict("not tested", (nothing, *_assessed(rating)))
    unlike = [finding for finding in findings if finding.id in OF_SUPPLY and finding.matters]
    if unlike:
        names = ", ".join(finding.title.lower() for finding in unlike)
        return Verdict("not tested", (f"{names[0].upper()}{names[1:]}: no statement is made, as {unlike[0].note}.",))
    if failed:
        worst = max((finding.outcome for finding in failed), key=OUTCOMES.index)
        return Verdict(worst, tuple(_reason(finding) for finding in failed))
    if not any(place in finding.id for finding in judged for place in _AT_RATING):
        return Verdict("not tested", (_why_not(findings), *_assessed(rating)))
    worst = max((finding.outcome for finding in judged), key=OUTCOMES.index)
    open_rows = [finding.title for finding in findings if finding.outcome == "not tested"]
    reasons = [f"All {len(judged)} comparisons with the nameplate are met."]
    near = [finding.title for finding in judged if finding.outcome == CONDITIONAL_PASS]
    if near:
        reasons.append(f"Within its limit, but by less than the uncertainty: {', '.join(near)}.")
    if open_rows:
        reasons.append(f"Not tested: {', '.join(open_rows)}.")
    return Verdict(worst, tuple(reasons))


def _assessed(rating: AssessedRating | None) -> tuple[str, ...]:
    """What there is to say of an assessed rating."""
    if rating is None:
        return ()
    if rating.power is None:
        count = len(rating.to_measure)
        wanted = f"; what it takes to measure is listed ({count})" if count else ""
        return (f"{rating.words}{wanted}.",)
    held = f", held down by {rating.limited_by}" if rating.limited_by else ""
    return (f"{rating.words}: {rating.power_label or 'see below'}{held}.",)


def _reason(finding: Finding) -> str:
    limits = finding.required
    if finding.measured is None or limits is None:
        return f"{finding.title}: {finding.note}."
    nearly = ", outside its limit by less than the uncertainty" if finding.outcome in CONDITIONAL else ""
    if limits.low is not None and finding.measured < limits.low:
        return f"{finding.title} is {_off(finding.measured, limits.low)} below the lowest allowed{nearly}."
    if limits.high is not None and finding.measured > limits.high:
        return f"{finding.title} is {_off(finding.measured, limits.high)} above the highest allowed{nearly}."
    return f"{finding.title}: {finding.note}."


def _off(measured: float, limit: float) -> str:
    return f"{abs(measured / limit - 1.0):.1%}".replace("%", " %")


def _why_not(findings: tuple[Finding, ...]) -> str:
    notes = dict.fromkeys(finding.note for finding in findings if finding.outcome == "not tested" and finding.note)
    reasons = "; ".join(list(notes)[:3])
    return (
        f"The motor was not judged at its rating: {reasons}."
        if reasons
        else "The plate gives too little to judge against."
    )
