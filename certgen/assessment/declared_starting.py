"""Findings on what the plate declares of starting and overload: locked-rotor current, and the torques up to breakdown."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.assessment.decision import ACCEPTED, UNDECIDED, Decision, as_far_as_legible, as_found, decide
from certgen.assessment.findings import limits_of, source_of
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.reduction.model import Reduction
from certgen.results.model import Characteristic, Finding, Limits
from certgen.results.starting import CURRENT
from certgen.results.starting_at_rated import (
    BREAKDOWN,
    FAR_BELOW,
    LOCKED_TORQUE,
    PULL_UP,
    StartingFigure,
    figure_at_rated_voltage,
)
from certgen.standards.criteria import ABOVE, SHIPPED, CriteriaSet, DeclaredStarting

#: What follows the name of a quantity in the id of its finding.
DECLARED = "declared"
_UNITS = {CURRENT: "A", LOCKED_TORQUE: "N*m", PULL_UP: "N*m", BREAKDOWN: "N*m"}


def declared_starting_findings(
    job: Job, reduction: Reduction, criteria: CriteriaSet, characteristic: Characteristic
) -> tuple[Finding, ...]:
    """A finding for every value of starting and overload that the plate declares and the set has a row for.

    Parameters
    ----------
    job : Job
        Its plate declares them. [SI]
    reduction : Reduction
        Holds the locked-rotor readings and the ends of the torque-speed curve. [SI]
    criteria : CriteriaSet
        Its rows under ``declared_starting``.
    characteristic : Characteristic
        The same figures with their uncertainty.

    Notes
    -----
    Figures are compared at rated voltage: torques go with its square, current with the voltage itself. What was read far
    below rated voltage is a least value, as saturation makes the true one greater: it fails a current above its limit
    and passes a torque above its least, and proves nothing else.
    """
    return tuple(_findings(job, reduction, criteria, characteristic))


def _findings(
    job: Job, reduction: Reduction, criteria: CriteriaSet, characteristic: Characteristic
) -> Iterator[Finding]:
    for row in criteria.declared_starting:
        declared = getattr(job.nameplate, row.quantity)
        if declared is None or (row.types and job.motor.type not in row.types):
            continue
        limits = limits_of(row, declared)
        least = limits.low if limits.high is None else None
        figure = figure_at_rated_voltage(row.quantity, job, reduction, characteristic, least=least)
        found = _made(row, declared, limits, figure, job=job, criteria=criteria)
        yield from as_far_as_legible((found,), job, row.quantity)


def _made(
    row: DeclaredStarting, declared: float, limits: Limits, figure: StartingFigure, *, job: Job, criteria: CriteriaSet
) -> Finding:
    decision, note = UNDECIDED, figure.note
    if math.isfinite(figure.value):
        decision = decide(figure.value, limits, figure.uncertainty, job.decision_rule, harmless=row.harmless)
        if figure.read_at < FAR_BELOW:
            decision = proved_by_least(decision, figure.value, limits, harmless=row.harmless)
            note = Message("starting.read_far_below", part=figure.read_at)
    shipped = criteria.name in SHIPPED
    return Finding(
        id=f"{row.quantity}_{DECLARED}",
        title=Message(f"finding.{row.quantity}") if shipped else row.title,
        **as_found(decision),
        unit=_UNITS[row.quantity],
        declared=declared,
        measured=figure.value if math.isfinite(figure.value) else None,
        required=limits,
        source=source_of(row, criteria),
        note=note or "",
        basis=row.basis,
        decides=row.decides,
    )


def proved_by_least(decision: Decision, value: float, limits: Limits, *, harmless: str = "none") -> Decision:
    """What is left of a decision on a value that the true one may exceed, and cannot fall short of.

    Parameters
    ----------
    decision : Decision
        On the value as if it were the true one.
    value : float
        The least the true value can be. [any unit]
    limits : Limits
        Lowest and highest value allowed. [as value]
    harmless : str
        Side of the limits that fails no motor.

    Returns
    -------
    Decision
        Above a highest value that fails a motor the decision stands, and above a lowest one where there is no such
        highest value; else nothing is decided.
    """
    bounded_above = limits.high is not None and not (harmless == ABOVE and limits.low is not None)
    if decision.outcome in ACCEPTED:
        return UNDECIDED if bounded_above else decision
    too_great = bounded_above and limits.high is not None and value > limits.high
    return decision if too_great else UNDECIDED
