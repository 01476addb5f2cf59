"""Insulation findings: resistance and polarization index held against their least values."""

from __future__ import annotations

from dataclasses import replace

from certgen.assessment.decision import CONDITIONAL, as_found, decide, joined
from certgen.job.model import DC, FIELD_WINDING, UNIVERSAL, Job
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity, measured
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.insulation import REFERENCE, InsulationFigures
from certgen.results.model import CONDITIONAL_FAIL, CONDITIONAL_PASS, FAIL, PASS, Finding, InsulationResult, Limits
from certgen.standards import insulation_limits as limits

RESISTANCE, INDEX = "insulation", "polarization_index"
#: Findings below which no verdict is better, and which forbid to energise the motor.
OF_INSULATION = (RESISTANCE, INDEX)
#: Outcomes below the least allowed, by however little.
UNSOUND = (FAIL, CONDITIONAL_FAIL)


def insulation_findings(job: Job, figures: InsulationFigures | None) -> tuple[Finding, ...]:
    """The findings on an insulation reading; none where nothing was read.

    Parameters
    ----------
    job : Job
        Its insulation class, and the decision rule it asks for.
    figures : InsulationFigures or None
        The reading corrected to 40 degC, its index, and their least values. [SI]

    Notes
    -----
    The resistance passes only where it could be corrected, and fails where even the warmest winding would not lift it;
    that of a field winding alone does not pass for the motor. An index that does not bind a winding is given, and warns
    where it is low: of a class without a least value, below the lowest of any class.
    """
    if figures is None:
        return ()
    findings = [_decided(_resistance(figures), figures.resistance_uncertainty, job.decision_rule)]
    index = _index(figures, job)
    if index is not None:
        findings.append(_decided(index, figures.index_uncertainty, job.decision_rule))
    return tuple(findings)


def insulation_result(figures: InsulationFigures | None, findings: tuple[Finding, ...]) -> InsulationResult | None:
    """The figures of an insulation reading with the outcome of its findings; ``None`` where nothing was read."""
    if figures is None:
        return None
    least = figures.least_resistance
    return InsulationResult(
        outcome=_worst(findings),
        at_1_min=figures.at_1_min,
        at_40_degC=figures.corrected,
        minimum=None if least is None else Quantity(least.resistance, "ohm"),
        polarization_index=figures.polarization_index,
        minimum_polarization_index=measured(figures.least_index, "1"),
        notes=figures.notes,
    )


def _decided(finding: Finding, uncertainty: Uncertainty | None, rule: str) -> Finding:
    """A finding that passed or failed by its value alone, decided with the uncertainty of the value."""
    if finding.outcome not in (PASS, FAIL) or finding.measured is None or finding.required is None:
        return finding
    decision = decide(finding.measured, finding.required, uncertainty, rule)
    if decision.outcome not in (finding.outcome, *CONDITIONAL):
        return finding  # failed whatever its temperature: the value alone would not tell it
    return replace(finding, **as_found(decision))


def _worst(findings: tuple[Finding, ...]) -> str:
    """The worst outcome of those that matter; what could not be judged is worse than what is met."""
    outcomes = [finding.outcome for finding in findings if finding.decides and finding.id in OF_INSULATION]
    order = (FAIL, CONDITIONAL_FAIL, "not tested", CONDITIONAL_PASS)
    return next((outcome for outcome in order if outcome in outcomes), PASS)


def _resistance(figures: InsulationFigures) -> Finding:
    read, correction, value = figures.read, figures.correction, figures.compared_resistance
    rated, least = figures.rated_voltage, figures.least_resistance
    if rated is None or least is None:
        return _finding(RESISTANCE, "not tested", value, None, note=Message("insulation.no_rated_voltage"))
    reasons = [] if correction.factor is not None else [correction.text]
    from_volts, to_volts, source = limits.voltage_of_test(rated)
    if read.voltage < 0.99 * from_volts:
        low = Message("insulation.low_voltage", voltage=read.voltage, least=from_volts, source=source)
        reasons.append(low)
    if read.winding == FIELD_WINDING:
        reasons.append(Message("insulation.field_alone"))
    failed = read.at_1_min * correction.at_most < least.resistance
    remarks = list(reasons)
    if correction.factor is not None and read.temperature is not None:
        remarks.append(Message("insulation.corrected_from", reference=REFERENCE, temperature=read.temperature))
    if read.voltage > 1.01 * to_volts:
        remarks.append(Message("insulation.high_voltage", voltage=read.voltage, most=to_volts))
    outcome = "fail" if failed else "not tested" if reasons else "pass"
    return _finding(RESISTANCE, outcome, value, least.resistance, note=joined(tuple(remarks)), source=least.source)


def _index(figures: InsulationFigures, job: Job) -> Finding | None:
    """The finding on the index, by class and rated voltage; ``None`` where it was not read or is waived."""
    index, letter, power = figures.polarization_index, job.nameplate.insulation_class, job.nameplate.power
    if index is None or figures.index_waived:
        return None
    clause = limits.polarization_index_source(power)
    if figures.least_index is None:
        least = limits.lowest_polarization_index()
        if index.value >= least:
            return None
        note: Message | str = Message("insulation.index_below_any_class")
        return _finding(INDEX, "fail", index.value, least, note=note, source=clause, decides=False)
    least = figures.least_index
    outcome = "pass" if index.value >= least else "fail"
    source = Message("source.of_class", clause=clause, letter=letter)
    field, commutator = figures.read.winding == FIELD_WINDING, job.motor.type in (DC, UNIVERSAL)
    why = limits.why_index_only_warns(figures.rated_voltage, commutator=commutator, field=field)
    return _finding(INDEX, outcome, index.value, least, note=why or "", source=source, decides=why is None)


def _finding(
    name: str,
    outcome: str,
    value: float,
    least: float | None,
    *,
    note: Message | str,
    source: Message | str = "",
    decides: bool = True,
) -> Finding:
    return Finding(
        id=name,
        title=Message(f"finding.{name}"),
        outcome=outcome,
        unit="ohm" if name == RESISTANCE else "1",
        measured=value,
        required=None if least is None else Limits(low=least),
        source=source,
        note=note,
        decides=decides,
    )
