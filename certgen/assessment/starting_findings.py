"""Findings on starting and overload: code letter, the promises of a design letter, breakdown torque."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from certgen.assessment.decision import SIMPLE_ACCEPTANCE, UNDECIDED, Decision, as_found, decide
from certgen.assessment.declared_starting import proved_by_least
from certgen.assessment.findings import source_of
from certgen.job.model import INDUCTION, THREE_PHASE, Job
from certgen.messages.catalogue import Message
from certgen.reduction.model import Reduction
from certgen.results.classes import design_rating
from certgen.results.model import Characteristic, Finding, Limits
from certgen.results.rated import rated_torque
from certgen.results.starting import CURRENT, TITLES, starting_figures
from certgen.results.starting_at_rated import FAR_BELOW, figure_at_rated_voltage, locked_from_far_below
from certgen.results.uncertainty import uncertainty_of
from certgen.standards.criteria import BREAKDOWN, CODE_LETTER, DESIGN_LETTER, RESTS, CriteriaSet, StartingCriterion
from certgen.standards.nema_letters import TORQUES, Published, code_letter_source, letter_bounds


def starting_findings(
    job: Job, reduction: Reduction, criteria: CriteriaSet, characteristic: Characteristic
) -> tuple[Finding, ...]:
    """Every finding that the rows of a criteria set on starting ask for and the test can answer.

    A promise of the design letter that was not tested makes no finding; the conditions name it.
    """
    findings: list[Finding] = []
    for row in criteria.starting:
        if row.judges == CODE_LETTER:
            findings += _code_letter(job, row, characteristic)
        elif row.judges == DESIGN_LETTER:
            findings += _design_letter(job, reduction, row, characteristic)
        elif row.judges == BREAKDOWN:
            findings += _breakdown(job, reduction, row, criteria=criteria, characteristic=characteristic)
    return tuple(findings)


def _code_letter(job: Job, row: StartingCriterion, characteristic: Characteristic) -> Iterator[Finding]:
    """Whether the measured locked-rotor kVA per hp lie within the letter of the plate."""
    plate = job.nameplate.code_letter
    if plate is None or job.motor.type not in INDUCTION:
        return
    low, high = letter_bounds(plate)
    measured = None if characteristic.kva_per_hp is None else characteristic.kva_per_hp.value
    decision = Decision("not tested", SIMPLE_ACCEPTANCE)
    if measured is not None:
        # A letter ends just below its upper bound.
        decision = decide(measured, Limits(low, None if high is None else math.nextafter(high, 0.0)),
                          uncertainty_of(characteristic.kva_per_hp), job.decision_rule)  # fmt: skip
        note = Message("code_letter.measured", measured=characteristic.code_letter, plate=plate)
    else:
        note = _why_no_kva(job, characteristic)
    yield Finding(
        id="code_letter",
        title=Message("finding.code_letter", letter=plate),
        **as_found(decision),
        unit="kVA/hp",
        declared=low if row.verdict == RESTS else None,
        measured=measured,
        required=Limits(low, high),
        source=code_letter_source(),
        note=note,
        decides=row.verdict == RESTS,
    )


def _why_no_kva(job: Job, characteristic: Characteristic) -> Message:
    if characteristic.locked_rotor_current is None:
        return Message("code_letter.no_current")
    missing = "power" if job.nameplate.power is None else "voltage"
    if getattr(job.nameplate, missing) is None:
        return Message("finding.plate_gives_no", quantity=Message(f"name.{missing}"))
    return Message("code_letter.no_voltage")


def _design_letter(
    job: Job, reduction: Reduction, row: StartingCriterion, characteristic: Characteristic
) -> Iterator[Finding]:
    """The least torques and the greatest current that the plate's letter promises."""
    letter, rating, rated = job.nameplate.design_letter, design_rating(job, reduction), rated_torque(job)
    if letter is None or isinstance(rating, Message):
        return
    figures = starting_figures(job, reduction)
    if rated is not None:
        for torque in TORQUES:
            least = rating.least(letter, torque)
            if least is not None:
                yield from _least_torque(
                    torque, least, _Measured(job, reduction, characteristic), letter, rated=rated, row=row
                )
    limit = rating.greatest_current(letter)
    if limit is not None and math.isfinite(figures.locked_rotor_current):
        limits = Limits(high=limit.value)
        note: Message | str = ""
        known = uncertainty_of(characteristic.locked_rotor_current)
        decision = decide(figures.locked_rotor_current, limits, known, job.decision_rule)
        part = locked_from_far_below(CURRENT, job, reduction)
        if part is not None:
            decision = proved_by_least(decision, figures.locked_rotor_current, limits)
            note = Message("starting.read_far_below", part=part)
        yield Finding(
            id=f"{CURRENT}_of_design",
            title=Message("finding.of_design", figure=TITLES[CURRENT], letter=letter),
            **as_found(decision),
            unit="A",
            declared=limit.value,
            measured=figures.locked_rotor_current,
            required=limits,
            source=limit.source,
            note=note,
            decides=row.verdict == RESTS,
        )


@dataclass(frozen=True)
class _Measured:
    """What the test says of starting and overload."""

    job: Job
    reduction: Reduction
    found: Characteristic

    def judged(self, torque: str, least: float) -> tuple[float, Message | str, Decision] | None:
        """The torque to judge, at rated voltage, with its note and outcome; ``None`` where it was not tested.

        Short of breakdown, the greatest torque tested stands for it if it is enough. What cannot be brought to rated
        voltage is not judged, and the note says why.
        """
        figure = figure_at_rated_voltage(torque, self.job, self.reduction, self.found, least=least)
        if not math.isfinite(figure.value):
            tested = figure.note is not None and figure.note.key != "finding.not_measured"
            return (math.nan, figure.note or "", UNDECIDED) if tested else None
        decision = decide(figure.value, Limits(low=least), figure.uncertainty, self.job.decision_rule)
        if figure.read_at < FAR_BELOW:
            decision = proved_by_least(decision, figure.value, Limits(low=least))
            return figure.value, Message("starting.read_far_below", part=figure.read_at), decision
        return figure.value, figure.note or "", decision


def _least_torque(
    torque: str, least: Published, measured: _Measured, letter: str, *, rated: float, row: StartingCriterion
) -> Iterator[Finding]:
    limits = Limits(low=least.value * rated)
    judged = measured.judged(torque, least.value * rated)
    if judged is None:
        return
    value, note, decision = judged
    yield Finding(
        id=f"{torque}_of_design",
        title=Message("finding.of_design", figure=TITLES[torque], letter=letter),
        **as_found(decision),
        unit="N*m",
        declared=least.value * rated,
        measured=value if math.isfinite(value) else None,
        required=limits,
        source=least.source,
        note=note,
        decides=row.verdict == RESTS,
    )


def _breakdown(
    job: Job, reduction: Reduction, row: StartingCriterion, *, criteria: CriteriaSet, characteristic: Characteristic
) -> Iterator[Finding]:
    """Whether breakdown torque is the least multiple of rated torque."""
    rated = rated_torque(job)
    if rated is None or row.least is None or job.motor.type != THREE_PHASE:
        return
    limits = Limits(low=row.least * rated)
    judged = _Measured(job, reduction, characteristic).judged("breakdown_torque", row.least * rated)
    if judged is None:
        return
    value, note, decision = judged
    yield Finding(
        id="breakdown_torque",
        title=Message("finding.breakdown_times_rated", ratio=row.least),
        **as_found(decision),
        unit="N*m",
        declared=limits.low if row.verdict == RESTS else None,
        measured=value if math.isfinite(value) else None,
        required=limits,
        source=source_of(row, criteria),
        note=note,
        decides=row.verdict == RESTS,
    )
