"""Losses told apart where the readings allow it, the direct method with its reason where they do not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from certgen.assessment import loss_segregation as steps
from certgen.assessment.direct_current_losses import direct_current_losses
from certgen.assessment.reference_temperature import reference_temperature
from certgen.assessment.results import Finding, Limits, Losses, LossPoint, StrayRegression
from certgen.job.model import DC, OTHER, SINGLE_PHASE, UNIVERSAL, Job
from certgen.quantity import Quantity, measured
from certgen.readings.model import Readings
from certgen.reduction.model import Reduction
from certgen.reduction.stray import fit_stray
from certgen.reduction.too_few import TooFewReadings
from certgen.standards.loss_procedure import RATED_VOLTAGE, LossProcedure, loss_procedures, procedure_of

SEGREGATION = "loss segregation"
DIRECT = "direct"
#: Parts of rated load the losses are told at. IEC 60034-2-1 load points, from memory.
LOADS = (0.25, 0.5, 0.75, 1.0, 1.15, 1.25)
_PARTS = ("stator", "rotor", "core", "friction_windage")


def losses_of(job: Job, readings: Readings, reduction: Reduction, criteria: str) -> Losses | None:
    """Losses of one test, by the procedure that goes with a criteria set's name.

    ``None`` for kinds of motor no procedure is written for, and where input power was not measured.
    """
    kind = job.motor.type
    if kind in (UNIVERSAL, OTHER) or not np.isfinite(reduction.points.input_power).any():
        return None
    procedure = procedure_of(criteria)
    if kind == DC:
        known, reason, notes = direct_current_losses(job, readings, reduction, procedure)
        return direct_losses(reduction, reason, known, notes)
    if kind == SINGLE_PHASE:
        return direct_losses(reduction, "the losses of a single-phase motor are not told apart here")
    return _three_phase(job, readings, reduction, procedure)


def direct_losses(
    reduction: Reduction, reason: str, known: Mapping[str, Quantity | None] | None = None, notes: tuple[str, ...] = ()
) -> Losses:
    """The direct method: efficiency is output over input at rated power, as measured."""
    at_rated = reduction.operating.get("at_rated_power")
    inside = at_rated is not None and not at_rated.extrapolated
    efficiency = float(at_rated.point.efficiency[0]) if at_rated is not None and inside else None
    return Losses(
        method=DIRECT, reason=reason, efficiency=measured(efficiency, "1"), notes=notes, **dict(known or {})
    )


def _three_phase(job: Job, readings: Readings, reduction: Reduction, procedure: LossProcedure) -> Losses:
    known: dict[str, Quantity | None] = {}
    try:
        winding = steps.winding_of_test(job, readings, procedure)
        known = _stator_only(winding, reduction)
        separated = steps.separate(job, readings, reduction, winding=winding, procedure=procedure)
        known = _at_rated_power(separated, reduction)
        if job.nameplate.power is None or reduction.curve is None:
            raise TooFewReadings("the plate gives no rated power" if job.nameplate.power is None else reduction.curve_missing)
        correction = steps.correction_of(separated, reduction.brake_current, job.nameplate.power)
        added = 0.0 if correction is None else correction
        regression = steps.regress(separated, reduction, rated_power=job.nameplate.power, correction=added)
    except TooFewReadings as lack:
        return direct_losses(reduction, f"{lack}; losses at the temperature of the test" if known else str(lack), known)
    stray = _stray_regression(regression, procedure)
    notes = tuple(_notes(job, separated, correction))
    if not regression.fit.accepted:
        reason = f"the regression of the residual loss is refused: {stray.note}"
        known |= {"stray_regression": stray, "dynamometer_correction": measured(correction, "N*m")}  # type: ignore[dict-item]
        return direct_losses(reduction, reason, known, notes)
    reference, basis = reference_temperature(job, readings, winding.readings, procedure)
    curve = steps.loss_curve(
        separated, reduction.curve, slope=regression.fit.line.slope, correction=added, reference=reference
    )
    at_loads = tuple(_loss_points(curve, job.nameplate.power))
    rated = next((point for point in at_loads if point.load.value == 1.0), None)
    return Losses(
        method=SEGREGATION,
        reason=procedure.source("least_points"),
        **{name: getattr(rated, name, None) for name in (*_PARTS, "stray", "efficiency")},
        reference_temperature=measured(reference, "K"),
        stray_regression=stray,
        at_loads=at_loads,
        dynamometer_correction=measured(correction, "N*m"),
        notes=(f"Reference temperature: {basis}.", *notes),
    )


def _stator_only(winding: steps.WindingOfTest, reduction: Reduction) -> dict[str, Quantity | None]:
    return {}


def _at_rated_power(separated: steps.Separated, reduction: Reduction) -> dict[str, Quantity | None]:
    """Losses at rated power, at the temperature of the test; none where that point was not reached."""
    found = reduction.operating.get("at_rated_power")
    if found is None or found.extrapolated:
        return {}
    parts = separated.of(found.point)
    return {name: measured(float(getattr(parts, name)[0]), "W") for name in _PARTS}


def _loss_points(curve: steps.LossCurve, rated_power: float) -> Iterator[LossPoint]:
    for load in LOADS:
        found = curve.at(load * rated_power)
        if found is not None:
            efficiency = Quantity(found.pop("efficiency"), "1")
            watts = {name: Quantity(value, "W") for name, value in found.items()}
            yield LossPoint(load=Quantity(load, "1"), efficiency=efficiency, **watts)
