"""Insulation resistance and polarization index against their least values."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from certgen.assessment.decision import CONDITIONAL, CONDITIONAL_FAIL, CONDITIONAL_PASS, FAIL, PASS, as_found, decide
from certgen.job.model import Insulation, Job
from certgen.physics.domain import Array
from certgen.physics.winding import THERMOPLASTIC, THERMOSETTING, correction_to_40, polarization_index
from certgen.quantity import Quantity, measured
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.reduction.uncertainty.winding_errors import InsulationErrors, insulation_errors
from certgen.results.model import Finding, InsulationResult, Limits
from certgen.results.uncertainty import errors_of, with_errors
from certgen.standards import insulation_limits as limits

RESISTANCE, INDEX = "insulation", "polarization_index"
#: Findings below which no verdict is better, and which forbid to energise the motor.
OF_INSULATION = (RESISTANCE, INDEX)

_ICE_POINT = 273.15  # K
#: Ends of the range over which a resistance is corrected. [K] IEEE Std 43-2013, from memory.
_COLDEST, _HOTTEST = _ICE_POINT + 10.0, _ICE_POINT + 85.0
_INSIDE = 1e-3
#: Outcomes below the least allowed, by however little.
UNSOUND = (FAIL, CONDITIONAL_FAIL)


@dataclass(frozen=True)
class _At40:
    """The factor to 40 degC: ``None`` where it is not known, then with the greatest it could be."""

    factor: float | None
    at_most: float
    said: str


def insulation_of(job: Job, reduction: Reduction) -> tuple[InsulationResult | None, tuple[Finding, ...]]:
    """The insulation reading judged, as figures and findings; nothing where there is none.

    Parameters
    ----------
    job : Job
        The reading; the plate's voltage and insulation class. [SI]
    reduction : Reduction
        Its greatest supply voltage stands in where the plate gives none. [SI]

    Notes
    -----
    The resistance after one minute, corrected to 40 degC, is held against the least of IEEE Std 43 (from memory);
    it passes only where it could be corrected, and fails where even the warmest winding would not lift it. The
    polarization index is held against that of the thermal class, unless the resistance is so great that it says
    nothing; of a random winding it is told and does not matter.
    """
    read = job.readings.insulation
    if read is None:
        return None, ()
    letter = job.nameplate.insulation_class
    at_40 = _correction(read, letter)
    sure, errors = _errors(reduction, letter), errors_of(reduction)
    index = None if read.at_10_min is None else float(polarization_index(read.at_1_min, read.at_10_min))
    rated = _rated_voltage(job, reduction)
    told = sure.at_1_min if at_40.factor is None else sure.corrected
    both = (_resistance(read, rated, at_40), _index(index, read, (letter, rated), at_40))
    doubts = (
        None if one is None or errors is None else errors.uncertainty(one) for one in (told, sure.polarization_index)
    )
    pairs = zip(both, doubts, strict=True)
    findings = tuple(_decided(one, doubt, job.decision_rule) for one, doubt in pairs if one is not None)
    least, least_index = (next((one for one in findings if one.id == name), None) for name in OF_INSULATION)
    result = InsulationResult(
        outcome=_worst(findings),
        at_1_min=with_errors(Quantity(read.at_1_min, "ohm"), sure.at_1_min, errors) or Quantity(read.at_1_min, "ohm"),
        at_40_degC=None
        if at_40.factor is None
        else with_errors(measured(read.at_1_min * at_40.factor, "ohm"), sure.corrected, errors),
        minimum=_low(least, "ohm"),
        polarization_index=with_errors(measured(index, "1"), sure.polarization_index, errors),
        minimum_polarization_index=_low(least_index, "1"),
        notes=tuple(_notes(findings, index, read, at_40, rated)),
    )
    return result, findings


def _errors(reduction: Reduction, letter: str | None) -> InsulationErrors:
    errors, kinds = errors_of(reduction), _kinds(letter)
    if errors is None:
        return InsulationErrors()

    def factor(kelvin: Array) -> Array:
        # A little inside the ends of the range, so that a reading at an end can be moved.
        inside = np.clip(kelvin, _COLDEST + _INSIDE, _HOTTEST - _INSIDE)
        factors = [np.asarray(correction_to_40(inside, insulation=one)) for one in kinds]
        return np.asarray(np.min(factors, axis=0))

    return insulation_errors(errors, factor)


def _decided(found: Finding, doubt: Uncertainty | None, rule: str) -> Finding:
    """A finding that passed or failed by its value alone, decided with the uncertainty of the value."""
    if found.outcome not in (PASS, FAIL) or found.measured is None or found.required is None:
        return found
    decision = decide(found.measured, found.required, doubt, rule)
    if decision.outcome not in (found.outcome, *CONDITIONAL):
        return found  # failed whatever its temperature: the value alone would not tell it
    return replace(found, **as_found(decision))


def _worst(findings: tuple[Finding, ...]) -> str:
    """The worst outcome of those that matter; what could not be judged is worse than what is met."""
    outcomes = [one.outcome for one in findings if one.matters]
    order = (FAIL, CONDITIONAL_FAIL, "not tested", CONDITIONAL_PASS)
    return next((one for one in order if one in outcomes), PASS)


def _low(finding: Finding | None, unit: str) -> Quantity | None:
    return None if finding is None or finding.required is None else measured(finding.required.low, unit)


def _rated_voltage(job: Job, reduction: Reduction) -> float | None:
    volts = reduction.points.voltage[np.isfinite(reduction.points.voltage)]
    return job.nameplate.voltage or (float(volts.max()) if volts.size else None)


def _kinds(letter: str | None) -> tuple[str, ...]:
    """The kinds of insulation a class may be: both where it is not known."""
    kind = limits.insulation_kind(letter)
    return (THERMOSETTING, THERMOPLASTIC) if kind is None else (kind,)


def _correction(read: Insulation, letter: str | None) -> _At40:
    kind, kinds = limits.insulation_kind(letter), _kinds(letter)
    if read.temperature is None or not _COLDEST - 1e-6 <= read.temperature <= _HOTTEST + 1e-6:
        cold = read.temperature is not None and read.temperature < _COLDEST
        most = 1.0 if cold else max(float(correction_to_40(_HOTTEST, insulation=one)) for one in kinds)
        why = "is not recorded" if read.temperature is None else "lies outside 10 to 85 °C"
        return _At40(None, most, f"the winding's temperature {why}, so the reading is not corrected to 40 °C")
    factor = min(float(correction_to_40(read.temperature, insulation=one)) for one in kinds)
    how = f"as {kind}" if kind is not None else "by the lower of two rules, its kind not being known"
    said = f"corrected to 40 °C from {read.temperature - _ICE_POINT:.0f} °C {how} ({limits.correction_source()})"
    return _At40(factor, factor, said)


def _resistance(read: Insulation, rated: float | None, at_40: _At40) -> Finding:
    value = read.at_1_min * (1.0 if at_40.factor is None else at_40.factor)
    least = None if rated is None else limits.least_insulation(rated)
    if rated is None or least is None:
        return _finding(RESISTANCE, "not tested", value, None, note="the rated voltage is not known")
    reasons = [] if at_40.factor is not None else [at_40.said]
    from_volts, to_volts, source = limits.voltage_of_test(rated)
    if read.voltage < 0.99 * from_volts:
        reasons.append(f"read at {read.voltage:.0f} V, where {from_volts:.0f} V at least is asked ({source})")
    failed = read.at_1_min * at_40.at_most < least.resistance
    told = list(reasons)
    if at_40.factor is not None and read.temperature is not None:
        told.append(f"at 40 °C, corrected from {read.temperature - _ICE_POINT:.0f} °C")
    if read.voltage > 1.01 * to_volts:
        told.append(f"read at {read.voltage:.0f} V, above the {to_volts:.0f} V asked")
    outcome = "fail" if failed else "not tested" if reasons else "pass"
    return _finding(RESISTANCE, outcome, value, least.resistance, note="; ".join(told), source=least.source)


def _index(
    index: float | None, read: Insulation, plate: tuple[str | None, float | None], at_40: _At40
) -> Finding | None:
    """The finding on the index, by class and rated voltage; ``None`` where it was not read or nothing is asked."""
    letter, rated = plate
    least = limits.least_polarization_index(letter)
    if index is None or least is None or _waived(read, at_40):
        return None
    outcome = "pass" if index >= least else "fail"
    source = f"{limits.polarization_index_source()}, class {letter}"
    binds = limits.polarization_index_binds(rated)
    note = "" if binds else f"may not apply to a random winding ({limits.random_wound_source()})"
    return _finding(INDEX, outcome, index, least, note=note, source=source, matters=binds)


def _waived(read: Insulation, at_40: _At40) -> bool:
    return at_40.factor is not None and limits.polarization_index_waived(read.at_1_min * at_40.factor)


def _finding(
    name: str, outcome: str, value: float, least: float | None, *, note: str, source: str = "", matters: bool = True
) -> Finding:
    return Finding(
        id=name,
        title="Insulation resistance" if name == RESISTANCE else "Polarization index",
        outcome=outcome,
        unit="ohm" if name == RESISTANCE else "1",
        measured=value,
        required=None if least is None else Limits(low=least),
        source=source,
        note=note,
        matters=matters,
    )


def _notes(
    findings: tuple[Finding, ...], index: float | None, read: Insulation, at_40: _At40, rated: float | None
) -> Iterator[str]:
    """How the figures were come by; the findings' own remarks stand with them."""
    yield f"{at_40.said[0].upper()}{at_40.said[1:]}."
    if rated is not None:
        yield f"The least is that of windings {limits.least_insulation(rated).holds_for}, made after about 1970."
    if index is None:
        yield "Polarization index: no reading after ten minutes."
    elif _waived(read, at_40):
        source = limits.polarization_index_source(waived=True)
        yield f"Polarization index waived, as the resistance is so great ({source})."
    elif len(findings) == 1:
        yield "Polarization index: no least value for the insulation class, which is not known or not listed."
