"""Values of the plate that this test compared with nothing, each with the reason: nobody is to think they were judged."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.assessment.findings import applies
from certgen.assessment.heat import RISE, TEMPERATURE
from certgen.job.model import DC, INDUCTION, Job
from certgen.messages.catalogue import Message
from certgen.results.model import AssessedRating, Finding
from certgen.results.rated import service_factor_power
from certgen.standards.criteria import DECLARED_STARTING, CriteriaSet

#: Values that rows of a criteria set compare, and that a row may be missing for.
_COMPARED = ("efficiency", "power_factor")
#: Values that say something of induction motors alone.
_OF_INDUCTION = ("poles", "design_letter", "code_letter")


def unused_plate_values(
    job: Job, criteria: CriteriaSet, findings: tuple[Finding, ...], rating: AssessedRating | None
) -> tuple[Message, ...]:
    """A sentence for every value on the plate that changed nothing in the results.

    Parameters
    ----------
    job : Job
        Its plate, and the kind of motor. [SI]
    criteria : CriteriaSet
        Its rows hold plate values against measured ones.
    findings : tuple of Finding
        What was judged; the plate's ambient temperature counts where a winding was.
    rating : AssessedRating or None
        The rating assessed, which goes by the plate's ambient temperature too.

    Returns
    -------
    tuple of Message
        In the order of the plate's keys. A duty has sentences of its own, and 'S1' or none mean the same.
    """
    return (*_of_kind(job), *_without_row(job, criteria), *_of_service_factor(job), *_ambient(job, findings, rating))


def _of_kind(job: Job) -> Iterator[Message]:
    plate, kind = job.nameplate, job.motor.type
    if plate.frequency is not None and kind == DC:
        yield Message("unused_plate.of_kind", quantity=Message("name.frequency"))
    if kind in INDUCTION:
        return
    for name in _OF_INDUCTION:
        if getattr(plate, name) is not None:
            quantity = Message("name.number_of_poles" if name == "poles" else f"name.{name}")
            yield Message("unused_plate.of_kind", quantity=quantity)


def _without_row(job: Job, criteria: CriteriaSet) -> Iterator[Message]:
    """Values that no row of the set compares for this motor."""
    plate = job.nameplate
    rows = {row.declared for row in criteria.criteria if applies(row, job)}
    starting = {row.quantity for row in criteria.declared_starting if not row.types or job.motor.type in row.types}
    for name, found in (*((name, rows) for name in _COMPARED), *((name, starting) for name in DECLARED_STARTING)):
        if getattr(plate, name) is None or name in found:
            continue
        quantity = Message(f"name.{name}")
        if name == "efficiency" and plate.power is None:
            yield Message("unused_plate.without", quantity=quantity, missing=Message("name.rated_power"))
        else:
            yield Message("missing.no_row", quantity=quantity, title=criteria.title)


def _of_service_factor(job: Job) -> Iterator[Message]:
    plate = job.nameplate
    if plate.service_factor is not None and plate.service_factor > 1.0 and plate.power is None:
        yield Message(
            "unused_plate.without",
            quantity=Message("name.service_factor_power"),
            missing=Message("name.rated_power"),
        )
    if plate.service_factor_current is not None and service_factor_power(job) is None:
        missing = "power" if plate.power is None else "service_factor_power"
        yield Message("missing.service_factor_current", quantity=Message(f"name.{missing}"))


def _ambient(job: Job, findings: tuple[Finding, ...], rating: AssessedRating | None) -> Iterator[Message]:
    """The plate's hottest place moves the limit of a rise, and nothing else."""
    held_against_it = any(one.id in (RISE, TEMPERATURE) and one.required is not None for one in findings)
    rated = rating is not None and rating.power is not None
    if job.nameplate.ambient is not None and not held_against_it and not rated:
        yield Message("unused_plate.ambient")
