"""The motor as found: everything measured and looked at before the brake, judged, and as labels and texts."""

from __future__ import annotations

from certgen.assessment.inspection import inspected_items, inspection_findings, inspection_reservations
from certgen.assessment.windings import UNBALANCE, winding_findings, windings_in_words
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.results.as_found import AsFound
from certgen.results.compute import Figures
from certgen.results.model import Finding

#: Findings the verdict rests on although no plate declares what they are of.
OF_THE_MOTOR = (UNBALANCE,)


def as_found_of(job: Job, figures: Figures) -> AsFound:
    """Inspection and measurements as they stand in the results."""
    return AsFound(inspection=inspected_items(job), windings=figures.windings)


def findings_as_found(job: Job, found: AsFound) -> tuple[Finding, ...]:
    """The findings on what was measured, then on items of safety."""
    return (*winding_findings(job, found.windings), *inspection_findings(found.inspection))


def reservations(found: AsFound) -> tuple[Message, ...]:
    """Why a pass is at most conditional, a sentence each."""
    return inspection_reservations(found.inspection)


def measured_in_words(found: AsFound) -> tuple[tuple[Message, Message], ...]:
    """Label and text of everything measured before the brake."""
    return tuple(windings_in_words(found.windings))
