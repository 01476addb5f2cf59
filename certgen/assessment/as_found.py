"""The motor as found: everything measured and looked at before the brake, judged, and as labels and texts."""

from __future__ import annotations

from certgen.assessment.capacitors import PREFIX as CAPACITOR
from certgen.assessment.capacitors import capacitor_findings, capacitor_reservations, capacitors_in_words
from certgen.assessment.inspection import inspected_items, inspection_findings, inspection_reservations
from certgen.assessment.safety import PREFIX as SAFETY
from certgen.assessment.safety import safety_findings, safety_in_words, safety_reservations
from certgen.assessment.windings import UNBALANCE, winding_findings, windings_in_words
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.results.as_found import AsFound
from certgen.results.compute import Figures
from certgen.results.model import Finding

#: Findings the verdict rests on although no plate declares what they are of.
OF_THE_MOTOR = (UNBALANCE, CAPACITOR, SAFETY)


def as_found_of(job: Job, figures: Figures) -> AsFound:
    """Inspection and measurements as they stand in the results."""
    return AsFound(
        inspection=inspected_items(job),
        windings=figures.windings,
        capacitors=figures.capacitors,
        start_switch=figures.start_switch,
        safety=figures.safety,
    )


def findings_as_found(job: Job, found: AsFound) -> tuple[Finding, ...]:
    """The findings on what was measured, then on items of safety."""
    return (
        *winding_findings(job, found.windings),
        *capacitor_findings(found.capacitors, job.decision_rule),
        *safety_findings(job, found.safety),
        *inspection_findings(found.inspection),
    )


def reservations(found: AsFound, findings: tuple[Finding, ...]) -> tuple[Message, ...]:
    """Why a pass is at most conditional, a sentence each."""
    return (
        *inspection_reservations(found.inspection),
        *safety_reservations(found.safety),
        *capacitor_reservations(findings),
    )


def measured_in_words(found: AsFound) -> tuple[tuple[Message, Message], ...]:
    """Label and text of everything measured before the brake."""
    return (
        *windings_in_words(found.windings),
        *capacitors_in_words(found.capacitors, found.start_switch),
        *safety_in_words(found.safety),
    )
