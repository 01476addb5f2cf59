"""The stray-load regression as results, and what a reader must know of a segregation."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.assessment.doubts import with_doubt
from certgen.assessment.results import StrayRegression
from certgen.job.model import Job
from certgen.quantity import Quantity
from certgen.reduction.loss_test import Separated
from certgen.reduction.residual import Regression
from certgen.reduction.stray import StrayFit, fit_stray
from certgen.reduction.uncertainty.model import Doubt
from certgen.standards.loss_procedure import LossProcedure, loss_procedures


def stray_result(
    regression: Regression, procedure: LossProcedure, *, slope: Doubt | None = None, intercept: Doubt | None = None
) -> StrayRegression:
    """The line by the rule of one procedure, and what every other procedure's rule says of the same residuals."""
    fit = regression.fit
    accepted = {}
    for other in loss_procedures():
        judged = fit_stray(
            regression.torque, regression.residual, regression.rows, least_correlation=other.least_correlation
        )
        accepted[other.title] = judged.accepted
    return StrayRegression(
        slope=with_doubt(Quantity(fit.line.slope, "W/(N*m)^2"), slope),
        intercept=with_doubt(Quantity(fit.line.intercept, "W"), intercept),
        correlation=Quantity(fit.line.correlation, "1"),
        rows=tuple(row + 1 for row in fit.rows),
        removed_row=None if fit.removed is None else fit.removed + 1,
        accepted=accepted,
        note=_note(fit, procedure) or _large_intercept(regression, procedure),
    )


def _note(fit: StrayFit, procedure: LossProcedure) -> str:
    found = f"correlation {fit.line.correlation:.3f}"
    if fit.accepted and fit.removed is not None:
        return f"{found} with row {fit.removed + 1} left out"
    if fit.accepted:
        return ""
    second = "" if fit.second_correlation is None else f", {fit.second_correlation:.3f} without its worst point"
    falls = ", the loss falls with torque" if fit.line.slope <= 0.0 else ""
    rule = f"at least {procedure.least_correlation:.2f} by {procedure.source('least_correlation')}"
    return f"{found}{second}{falls}; {rule}"


def _large_intercept(regression: Regression, procedure: LossProcedure) -> str:
    line = regression.fit.line
    part = line.intercept / (line.slope * regression.rated_torque**2)
    if abs(part) <= procedure.greatest_intercept:
        return ""
    source = procedure.source("greatest_intercept")
    return f"intercept {part:.0%} of the stray load loss at rated torque, which is much: doubt the readings ({source})"


def segregation_notes(job: Job, separated: Separated, correction: float | None) -> tuple[str, ...]:
    """Sentences on what a segregation rests on."""
    return tuple(_notes(job, separated, correction))


def _notes(job: Job, separated: Separated, correction: float | None) -> Iterator[str]:
    procedure, winding = separated.procedure, job.readings.winding
    taken = ", taken as between lines" if winding is not None and winding.between is None else ""
    yield f"Stator winding: {separated.winding.basis}{taken}; copper, k = {procedure.copper_constant:g}, assumed."
    yield f"No-load winding: {separated.no_load_basis}."
    core = f"core loss at {procedure.core_loss_at} ({procedure.source('core_loss_at')})"
    yield f"Friction and windage from {separated.no_load.low_voltages} low voltages; {core}."
    if correction is not None:
        yield (
            f"Dynamometer correction {correction:+.3f} N·m from the run with the brake off, in the segregation only "
            "(formula from memory)."
        )
