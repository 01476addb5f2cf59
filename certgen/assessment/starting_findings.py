"""Findings on starting and overload: code letter, the promises of a design letter, breakdown torque."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.assessment.decision import outcome_of
from certgen.assessment.declared import rated_torque
from certgen.assessment.findings import source_of
from certgen.assessment.letters import DesignRating, design_rating
from certgen.assessment.results import Characteristic, Finding, Limits
from certgen.assessment.starting import CURRENT, TITLES, StartingFigures, starting_figures
from certgen.job.model import INDUCTION, THREE_PHASE, Job
from certgen.reduction.model import Reduction
from certgen.standards.code_letters import code_letter_source, letter_bounds
from certgen.standards.criteria import BREAKDOWN, CODE_LETTER, DESIGN_LETTER, RESTS, CriteriaSet, StartingCriterion
from certgen.standards.nema_design_torques import TORQUES

_GREATEST_TESTED = "greatest torque tested; breakdown torque is not below it"


def starting_findings(
    job: Job, reduction: Reduction, criteria: CriteriaSet, found: Characteristic
) -> tuple[Finding, ...]:
    """Every finding that the rows of a criteria set on starting ask for and the test can answer.

    A promise of the design letter that was not tested makes no finding; the conditions name it.
    """
    findings: list[Finding] = []
    for row in criteria.starting:
        if row.judges == CODE_LETTER:
            findings += _code_letter(job, row, found)
        elif row.judges == DESIGN_LETTER:
            findings += _design_letter(job, reduction, row)
        elif row.judges == BREAKDOWN:
            findings += _breakdown(job, reduction, row, criteria)
    return tuple(findings)


def _code_letter(job: Job, row: StartingCriterion, found: Characteristic) -> Iterator[Finding]:
    """Whether the measured locked-rotor kVA per hp lie within the letter of the plate."""
    plate = job.nameplate.code_letter
    if plate is None or job.motor.type not in INDUCTION:
        return
    low, high = letter_bounds(plate)
    measured = None if found.kva_per_hp is None else found.kva_per_hp.value
    if measured is not None:
        outcome = "pass" if found.code_letter == plate else "fail"
        note = f"code letter {found.code_letter} measured, {plate} on the plate"
    else:
        outcome = "not tested"
        note = _why_no_kva(job, found)
    yield Finding(
        id="code_letter",
        title=f"Locked-rotor kVA per hp of code letter {plate}",
        outcome=outcome,
        unit="kVA/hp",
        declared=low if row.verdict == RESTS else None,
        measured=measured,
        required=Limits(low, high),
        source=code_letter_source(),
        note=note,
        matters=row.verdict == RESTS,
    )


def _why_no_kva(job: Job, found: Characteristic) -> str:
    if found.locked_rotor_current is None:
        return "the current with the rotor locked was not read"
    lacking = "power" if job.nameplate.power is None else "voltage"
    if getattr(job.nameplate, lacking) is None:
        return f"the nameplate gives no {lacking}"
    return "the voltage with the rotor locked was not read"


def _design_letter(job: Job, reduction: Reduction, row: StartingCriterion) -> Iterator[Finding]:
    """The least torques and the greatest current that the plate's letter promises."""
    letter, rating, rated = job.nameplate.design_letter, design_rating(job, reduction), rated_torque(job)
    if letter is None or isinstance(rating, str):
        return
    figures = starting_figures(reduction)
    if rated is not None:
        for torque in TORQUES:
            yield from _least_torque(torque, letter, rating, figures, rated=rated, row=row)
    limit = rating.greatest_current(letter)
    if limit is not None and math.isfinite(figures.locked_rotor_current):
        limits = Limits(high=limit.value)
        yield Finding(
            id=f"{CURRENT}_of_design",
            title=f"Locked-rotor current of design {letter}",
            outcome=outcome_of(figures.locked_rotor_current, limits),
            unit="A",
            declared=limit.value,
            measured=figures.locked_rotor_current,
            required=limits,
            source=limit.source,
            matters=row.verdict == RESTS,
        )


def _least_torque(
    torque: str, letter: str, rating: DesignRating, figures: StartingFigures, *, rated: float, row: StartingCriterion
) -> Iterator[Finding]:
    least = rating.least(letter, torque)
    if least is None:
        return
    limits = Limits(low=least.value * rated)
    value, note = _shown(torque, figures, least.value * rated)
    if not math.isfinite(value):
        return
    yield Finding(
        id=f"{torque}_of_design",
        title=f"{TITLES[torque].capitalize()} of design {letter}",
        outcome=outcome_of(value, limits),
        unit="N*m",
        declared=least.value * rated,
        measured=value,
        required=limits,
        source=least.source,
        note=note,
        matters=row.verdict == RESTS,
    )


def _shown(torque: str, figures: StartingFigures, least: float) -> tuple[float, str]:
    """The torque to judge with its note: short of breakdown, the greatest tested stands for it if it is enough."""
    value: float = getattr(figures, torque)
    if torque == "breakdown_torque" and not math.isfinite(value) and figures.greatest_torque >= least:
        return figures.greatest_torque, _GREATEST_TESTED
    return value, ""


def _breakdown(job: Job, reduction: Reduction, row: StartingCriterion, criteria: CriteriaSet) -> Iterator[Finding]:
    """Whether breakdown torque is the least multiple of rated torque."""
    rated = rated_torque(job)
    if rated is None or row.least is None or job.motor.type != THREE_PHASE:
        return
    limits = Limits(low=row.least * rated)
    value, note = _shown("breakdown_torque", starting_figures(reduction), row.least * rated)
    if not math.isfinite(value):
        return
    yield Finding(
        id="breakdown_torque",
        title=f"Breakdown torque, {row.least:g} times rated",
        outcome=outcome_of(value, limits),
        unit="N*m",
        declared=limits.low if row.verdict == RESTS else None,
        measured=value,
        required=limits,
        source=source_of(row, criteria),
        note=note,
        matters=row.verdict == RESTS,
    )
