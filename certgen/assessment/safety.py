"""The safety tests judged: what forbids to energise a motor, what caps its verdict, and what is reported."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from certgen.assessment.decision import as_found, decide, joined
from certgen.assessment.inspection import PREFIX as INSPECTION
from certgen.assessment.insulation import OF_INSULATION, UNSOUND
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.results.model import FAIL, FINDING_NOT_TESTED, PASS, Finding, Limits
from certgen.results.safety import SafetyMeasured, WithstandTest
from certgen.results.uncertainty import uncertainty_of
from certgen.standards.criteria import PUBLISHED
from certgen.standards.inspection_limits import protective_bond_allowed, withstand_levels
from certgen.standards.insulation_limits import least_insulation, voltage_of_test

#: What the findings of safety tests begin with.
PREFIX = "safety_"
#: What a withstand test lasts for. [s] IEC 60034-1, 9.2, from memory.
_MINUTE = 60.0


def forbids_use(finding: Finding) -> bool:
    """Whether a finding forbids to energise the motor: insulation, an item of safety or a safety test that failed."""
    of_safety = finding.id in OF_INSULATION or of_safety_of_use(finding)
    return of_safety and finding.decides and finding.outcome in UNSOUND


def of_safety_of_use(finding: Finding) -> bool:
    """Whether a finding is of the inspection or of the safety tests."""
    return finding.id.startswith((INSPECTION, PREFIX))


def safety_findings(job: Job, found: SafetyMeasured | None) -> tuple[Finding, ...]:
    """The findings on bond, insulation between windings and withstand voltage; none where nothing was tested."""
    return () if found is None else tuple(_findings(job, found))


def _findings(job: Job, found: SafetyMeasured) -> Iterator[Finding]:
    if found.protective_bond is not None:
        limit, source = protective_bond_allowed()
        yield _decided("bond", found.protective_bond, Limits(high=limit), source, job)
    if found.between_windings is not None and found.between_windings_voltage is not None:
        yield _between_windings(found.between_windings, found.between_windings_voltage.value, job)
    if found.withstand is not None:
        yield _withstand(found.withstand, job)


def _decided(name: str, measured: Quantity, limits: Limits, source: Message | str, job: Job) -> Finding:
    decision = as_found(decide(measured.value, limits, uncertainty_of(measured), job.decision_rule))
    return _finding(name, measured, limits, source, **decision)


def _finding(name: str, measured: Quantity, limits: Limits | None, source: Message | str, **rest: Any) -> Finding:
    return Finding(
        id=f"{PREFIX}{name}",
        title=Message(f"safety.{name}"),
        unit=measured.unit,
        measured=measured.value,
        required=limits,
        source=source,
        basis=PUBLISHED,
        **rest,
    )


def _between_windings(measured: Quantity, voltage: float, job: Job) -> Finding:
    """As insulation to the frame, as read: warmer windings read lower, so a cold pass is no pass at 40 degC."""
    rated = job.nameplate.voltage
    if rated is None:
        note = Message("insulation.no_rated_voltage")
        return _finding("between_windings", measured, None, "", outcome=FINDING_NOT_TESTED, note=note)
    least = least_insulation(rated, job.nameplate.power)
    finding = _decided("between_windings", measured, Limits(low=least.resistance), least.source, job)
    lowest, _, source = voltage_of_test(rated)
    if voltage < 0.99 * lowest and finding.outcome not in UNSOUND:
        note = Message("insulation.low_voltage", voltage=voltage, least=lowest, source=source)
        return _finding("between_windings", measured, None, least.source, outcome=FINDING_NOT_TESTED, note=note)
    return finding


def _withstand(test: WithstandTest, job: Job) -> Finding:
    """A breakdown fails at any voltage; what held counts from the voltage of an overhauled motor on, for a minute."""
    rated = job.nameplate.voltage
    levels = None if rated is None else withstand_levels(rated, job.nameplate.power)
    limits = None if levels is None else Limits(low=levels.overhauled)
    source = "" if levels is None else levels.source
    if not test.held:
        note = Message("safety.broke_down", voltage=test.voltage.value)
        return _finding("withstand", test.voltage, limits, source, outcome=FAIL, note=note)
    notes: list[Message] = []
    if levels is None:
        notes.append(Message("insulation.no_rated_voltage"))
    elif test.voltage.value < 0.99 * levels.overhauled:
        notes.append(Message("safety.withstand_low", least=levels.overhauled))
    if test.time.value < 0.99 * _MINUTE:
        notes.append(Message("safety.withstand_short", time=test.time.value))
    outcome = FINDING_NOT_TESTED if notes else PASS
    if levels is not None and test.voltage.value > 1.01 * levels.new:
        notes.append(Message("safety.withstand_high", most=levels.new))
    return _finding("withstand", test.voltage, limits, source, outcome=outcome, note=joined(tuple(notes)))


def safety_reservations(found: SafetyMeasured | None) -> tuple[Message, ...]:
    """What caps a pass: surges that do not agree, a protector that did not work when tried."""
    if found is None:
        return ()
    reasons = []
    if found.surge_agrees is False:
        reasons.append(Message("safety.surge_reservation"))
    if found.protector_good is False:
        reasons.append(Message("safety.protector_reservation"))
    return tuple(reasons)


def safety_in_words(found: SafetyMeasured | None) -> Iterator[tuple[Message, Message]]:
    """Label and text of every safety test."""
    if found is None:
        return
    if found.protective_bond is not None:
        yield Message("safety.bond"), Message("safety.resistance", figure=found.protective_bond)
    if found.between_windings is not None:
        text = Message("safety.at_voltage", figure=found.between_windings, voltage=found.between_windings_voltage)
        yield Message("safety.between_windings"), text
    if found.withstand is not None:
        yield Message("safety.withstand"), _withstand_in_words(found.withstand)
    if found.surge_agrees is not None:
        state = Message("safety.surge_agrees" if found.surge_agrees else "safety.surge_differs")
        yield Message("safety.surge"), _with(state, found.surge_finding)
    if found.protector_present is not None:
        yield Message("safety.protector"), _with(_protector(found), found.protector_finding)


def _withstand_in_words(test: WithstandTest) -> Message:
    state = Message("safety.held" if test.held else "safety.failed")
    given = {"voltage": test.voltage.value, "time": test.time.value, "state": state}
    if test.leakage is None:
        return Message("safety.withstand_of", **given)
    return Message("safety.withstand_leakage", **given, leakage=test.leakage.value)


def _protector(found: SafetyMeasured) -> Message:
    if not found.protector_present:
        return Message("safety.protector_none")
    if found.protector_good is None:
        return Message("safety.protector_not_tried")
    return Message("safety.protector_works" if found.protector_good else "safety.protector_fails")


def _with(state: Message, finding: str) -> Message:
    return Message("safety.with_finding", state=state, finding=finding) if finding else state
