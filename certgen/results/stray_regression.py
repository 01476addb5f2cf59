"""The stray-load regression as results: its line, by which rules it is accepted, and why it is not."""

from __future__ import annotations

import math

import numpy as np

from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.reduction.loss_procedure import Regression, StrayFit, fit_stray
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.model import Curve, StrayRegression
from certgen.results.uncertainty import with_uncertainty
from certgen.standards.procedures import LossProcedure, loss_procedures


def stray_result(
    regression: Regression,
    procedure: LossProcedure,
    *,
    slope: Uncertainty | None = None,
    intercept: Uncertainty | None = None,
) -> StrayRegression:
    """The line by the rule of one procedure, and what every other procedure's rule says of the same residuals."""
    fit = regression.fit
    accepted = {}
    for other in loss_procedures():
        judged = fit_stray(
            regression.torque, regression.residual, regression.rows, least_correlation=other.least_correlation
        )
        sound = _intercept_part(judged, regression) <= other.greatest_intercept and not _negative(regression)
        accepted[other.title] = judged.accepted and sound
    return StrayRegression(
        slope=with_uncertainty(Quantity(fit.line.slope, "W/(N*m)^2"), slope),
        intercept=with_uncertainty(Quantity(fit.line.intercept, "W"), intercept),
        correlation=Quantity(fit.line.correlation, "1"),
        rows=tuple(row + 1 for row in fit.rows),
        removed_row=None if fit.removed is None else fit.removed + 1,
        accepted=accepted,
        note=_negative(regression) or _note(fit, procedure) or _large_intercept(regression, procedure),
        residuals=_residuals(regression),
    )


def _residuals(regression: Regression) -> Curve:
    """Torque and residual loss of the rows that make the line, then of the one left out."""
    fit = regression.fit
    rows = [*fit.rows, *(() if fit.removed is None else (fit.removed,))]
    columns = {"torque": regression.torque[rows], "residual_loss": regression.residual[rows]}
    return Curve(
        {name: tuple(values.tolist()) for name, values in columns.items()}, {"torque": "N*m", "residual_loss": "W"}
    )


def _note(fit: StrayFit, procedure: LossProcedure) -> Message | None:
    if fit.accepted and fit.removed is not None:
        return Message("stray.row_left_out", correlation=fit.line.correlation, row=fit.removed + 1)
    if fit.accepted:
        return None
    found = [Message("stray.correlation", correlation=fit.line.correlation)]
    if fit.second_correlation is not None:
        found.append(Message("stray.without_worst", correlation=fit.second_correlation))
    if fit.line.slope <= 0.0:
        found.append(Message("stray.falls"))
    source = procedure.source("least_correlation")
    return Message("stray.refused", found=tuple(found), least=procedure.least_correlation, source=source)


def _negative(regression: Regression) -> Message | None:
    """That the losses found one by one are more than the motor took in, at half of the loads or more."""
    residual = regression.residual[regression.rows]
    count = int(np.count_nonzero(residual < 0.0))
    if 2 * count < residual.size:
        return None
    return Message("stray.negative", count=count, rows=int(residual.size), least=float(residual.min()))


def _intercept_part(fit: StrayFit, regression: Regression) -> float:
    """Size of the intercept over the stray load loss at rated torque. [1]"""
    stray = fit.line.slope * regression.rated_torque**2
    return abs(fit.line.intercept / stray) if stray > 0.0 else math.inf


def _large_intercept(regression: Regression, procedure: LossProcedure) -> Message | None:
    part, most = _intercept_part(regression.fit, regression), procedure.greatest_intercept
    if part <= most:
        return None
    return Message("stray.large_intercept", part=part, most=most, source=procedure.source("greatest_intercept"))
