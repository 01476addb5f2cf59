"""The capacitors judged: within the tolerance marked on them, or within the usual one of their kind."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.assessment.decision import ACCEPTED, as_found, decide
from certgen.messages.catalogue import Message
from certgen.results.as_found import CapacitorMeasured, StartSwitch
from certgen.results.model import Finding, Limits
from certgen.results.uncertainty import uncertainty_of
from certgen.standards.criteria import PUBLISHED, WORKSHOP

#: What the findings on capacitors begin with.
PREFIX = "capacitor_"


def capacitor_findings(capacitors: tuple[CapacitorMeasured, ...], rule: str) -> tuple[Finding, ...]:
    """A finding for each capacitor.

    The tolerance marked on its case is its maker's word and decides; where none is marked the usual one is reported, and a
    capacitor outside it caps the verdict.
    """
    return tuple(_finding(number, one, rule) for number, one in enumerate(capacitors, start=1))


def _finding(number: int, one: CapacitorMeasured, rule: str) -> Finding:
    required = Limits(one.least.value, one.most.value)
    decision = as_found(decide(one.measured.value, required, uncertainty_of(one.measured), rule))
    return Finding(
        id=f"{PREFIX}{number}",
        title=_title(one),
        unit="farad",
        declared=None if one.rated is None else one.rated.value,
        measured=one.measured.value,
        required=required,
        source=one.source,
        basis=PUBLISHED if one.marked else WORKSHOP,
        decides=one.marked,
        **decision,
    )


def _title(one: CapacitorMeasured) -> Message:
    return Message(f"capacitor.{one.kind}")


def capacitor_reservations(findings: tuple[Finding, ...]) -> tuple[Message, ...]:
    """Capacitors outside the usual tolerance of their kind, in one sentence; nothing where all are inside."""
    weak = tuple(
        one.title for one in findings if one.id.startswith(PREFIX) and not one.decides and one.outcome not in ACCEPTED
    )
    return (Message("capacitor.reservation", titles=weak),) if weak else ()


def capacitors_in_words(
    capacitors: tuple[CapacitorMeasured, ...], switch: StartSwitch | None
) -> Iterator[tuple[Message, Message]]:
    """Label and text of each capacitor, and of the start switch."""
    for one in capacitors:
        yield _title(one), _in_words(one)
        if one.dissipation_factor is not None:
            loss = Message("capacitor.loss", resistance=one.loss_resistance, factor=one.dissipation_factor.value)
            yield _title(one), loss
    if switch is not None:
        key = "capacitor.switch" if switch.part is None else "capacitor.switch_part"
        given = {"speed": switch.opens_at.value}
        label = Message("capacitor.label.switch")
        yield label, Message(key, **given) if switch.part is None else Message(key, **given, part=switch.part.value)


def _in_words(one: CapacitorMeasured) -> Message:
    limits = {"least": one.least, "most": one.most, "figure": one.measured}
    if one.marked:
        return Message("capacitor.marked", **limits)
    return Message("capacitor.usual", **limits, source=one.source)
