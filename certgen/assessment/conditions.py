"""How the test was made, in sentences, and what could not be computed for want of what."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from certgen.assessment.decision import rule_in_words
from certgen.job.model import DC, INDUCTION, MOTOR_SHAFT, SINGLE_PHASE, Job
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Rig
from certgen.messages.catalogue import Message
from certgen.physics.mechanics import STANDARD_GRAVITY
from certgen.quantity import Quantity, measured
from certgen.readings.model import Readings
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.assumed_inputs import assumed_in_words
from certgen.reduction.uncertainty.errors import Errors, gravity
from certgen.reduction.uncertainty.linear import Correlated
from certgen.reduction.uncertainty.winding_errors import room
from certgen.results.changing_speed import missing_run_down, missing_sweep, run_down_method, sweep_method
from certgen.results.characteristic import mean_frequency, missing_characteristic
from certgen.results.heat import missing_heat
from certgen.results.log import missing_log
from certgen.results.losses import missing_losses
from certgen.results.model import AssessedRating, Characteristic, Conditions, Finding, Losses
from certgen.results.uncertainty import errors_of, with_errors
from certgen.standards.criteria import CriteriaSet


def conditions_of(
    job: Job,
    rig: Rig,
    readings: Readings,
    reduction: Reduction,
    *,
    criteria: CriteriaSet,
    findings: tuple[Finding, ...],
    rating: AssessedRating | None,
    losses: Losses | None,
    characteristic: Characteristic,
    not_evaluated: tuple[str, ...],
) -> Conditions:
    """Everything the page says on how the test was made."""
    uses_gravity = rig.scale is not None and rig.scale.reads == "mass" and rig.absorber.kind != TORQUE_SENSOR
    stated = job.conditions.local_gravity
    return Conditions(
        rig=rig.name,
        method=(*_method(job, rig, readings), *sweep_method(reduction), *run_down_method(reduction)),
        criteria=f"{criteria.title}, edition {criteria.edition}",
        decision_rule=rule_in_words(job.decision_rule, findings),
        ambient=_sure(job.conditions.ambient, "K", reduction, room),
        supply_frequency=None
        if job.motor.type == DC
        else _sure(_mean(reduction.points.frequency), "Hz", reduction, mean_frequency),
        supply_frequency_basis=reduction.frequency_basis if job.motor.type != DC else "",
        local_gravity=_sure(STANDARD_GRAVITY if stated is None else stated, "m/s^2", reduction, gravity)
        if uses_gravity
        else None,
        local_gravity_basis="stated" if stated is not None else "standard gravity, local value not stated",
        instruments=tuple(_instruments(rig)),
        not_evaluated=not_evaluated,
        missing=(
            *missing_log(reduction),
            *missing_losses(job, losses),
            *missing_sweep(reduction),
            *missing_run_down(reduction),
            *_missing(job, reduction, findings, rating),
            *missing_heat(job),
            *missing_characteristic(job, reduction, characteristic),
        ),
    )


def _sure(value: float | None, unit: str, reduction: Reduction, of: Callable[[Errors], Correlated]) -> Quantity | None:
    """A condition of the test with its uncertainty, where that is stated."""
    errors = errors_of(reduction)
    return with_errors(measured(value, unit), None if errors is None else of(errors), errors)


def _mean(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> float | None:
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else None


def _method(job: Job, rig: Rig, readings: Readings) -> Iterator[str]:
    kind = rig.absorber.kind
    reads = rig.scale.reads if rig.scale else ""
    weighed = "mass shown times local gravity" if reads == "mass" else "force shown"
    if kind == ARM and rig.arm_length:
        yield f"Torque by an arm of {rig.arm_length.value:.4g} m on a scale, {weighed}."
    elif kind == ROPE and rig.drum_radius:
        rope = f" and half the rope of {rig.rope_diameter.value * 1000:.3g} mm" if rig.rope_diameter else ""
        yield (
            f"Torque by rope brake: difference of two balances ({weighed}) times drum radius "
            f"{rig.drum_radius.value:.4g} m{rope}."
        )
    else:
        yield "Torque by a torque sensor."
    yield from _corrections(rig, readings)
    if rig.drive.kind == "belt" and rig.drive.ratio and rig.drive.efficiency:
        yield (
            f"Belt of ratio {rig.drive.ratio:.4g} and efficiency {rig.drive.efficiency:.0%} between motor and absorber, "
            "taken out of the result."
        )
    if job.motor.type == SINGLE_PHASE:
        yield (
            "Single-phase torque pulsates at twice the supply frequency: read as the mean the scale settles to over "
            "several turns."
        )
    gear = job.nameplate.gear
    if gear is not None:
        yield f"Geared motor, ratio {gear.ratio:.4g}: speed, torque and power are those of the output shaft."
        if gear.speed_of == MOTOR_SHAFT:
            yield "The plate's speed is the motor's own and was divided by the gear ratio."
    yield _electrical(job, readings)


def _corrections(rig: Rig, readings: Readings) -> Iterator[str]:
    zero = readings.zero
    if zero.before is not None and zero.after is not None:
        yield "Zero read before and after, the drift taken as linear."
    elif zero.before is not None or zero.after is not None:
        yield "Zero read once."
    else:
        yield "No zero reading."
    if rig.absorber.kind != TORQUE_SENSOR:
        calibration = rig.scale.calibration if rig.scale else None
        if calibration is None:
            yield "No calibration of the scale is recorded."
        else:
            on = f" of {calibration.on.isoformat()}" if calibration.on else ""
            yield f"Scale corrected by its calibration line{on}, {len(calibration.applied)} loads."
    if rig.tare_torque is not None:
        yield f"Tare torque {rig.tare_torque.value:.3g} N·m added."


#: Columns that make input power together; of three lines the first stands for all.
_VOLTS_AMPERES_FACTOR = (("voltage", "_ab"), ("current", "_a"), ("power_factor", ""))


def _electrical(job: Job, readings: Readings) -> str:
    names = readings.load_test.columns
    if "wattmeter_1" in names:
        return "Input power by two wattmeters."
    if "input_power" in names:
        return "Input power by wattmeter."
    if job.motor.type == DC and {"voltage", "current"} <= names.keys():
        return "Input power as volts times amperes."
    if all({one, f"{one}{line}"} & names.keys() for one, line in _VOLTS_AMPERES_FACTOR):
        return "Input power as volts, amperes and power factor."
    return "Input power was not measured."


def _instruments(rig: Rig) -> Iterator[str]:
    tachometer = rig.tachometer
    if tachometer.pulses_per_revolution is not None:
        gate = f", gate {tachometer.gate:g} s" if tachometer.gate else ""
        yield f"Tachometer {tachometer.pulses_per_revolution} pulses a revolution{gate}, on the {tachometer.on} shaft"
    if rig.scale is not None and rig.scale.resolution is not None:
        unit = "kg" if rig.scale.resolution.dimension == "mass" else "N"
        yield f"Scale, resolution {rig.scale.resolution.value:.3g} {unit}"


def _missing(
    job: Job, reduction: Reduction, findings: tuple[Finding, ...], rating: AssessedRating | None
) -> Iterator[Message | str]:
    points = reduction.points
    if reduction.curve_missing:
        yield f"Curves and interpolated points: {reduction.curve_missing}."
    if job.motor.type in INDUCTION and not np.isfinite(points.slip).any():
        lacking = (
            "the supply frequency is not known" if not reduction.frequency_basis else "the number of poles is not known"
        )
        yield f"Slip: {lacking}."
    if not np.isfinite(points.input_power).any():
        no_factor = job.motor.type != DC and not np.isfinite(points.power_factor).any()
        lacking = "Efficiency, losses and power factor" if no_factor else "Efficiency and losses"
        yield f"{lacking}: input power was not measured."
    for title, quantity in (("Current", points.current), ("Voltage", points.voltage)):
        if not np.isfinite(quantity).any():
            yield f"{title}: not measured."
    if not np.isfinite(points.temperature).any():
        yield "Temperature: not measured, so the figures hold for the unknown temperature of the test."
    if rating is not None and rating.to_measure:
        yield f"Assessed rating: needs {'; '.join(rating.to_measure)}."
    yield from (f"{one.title}: {one.note}." for one in findings if one.outcome == "not tested" and one.note)
    yield from _missing_uncertainty(reduction)


def _missing_uncertainty(reduction: Reduction) -> Iterator[Message | str]:
    """What was assumed of uncertainties, and what would have to be stated for those that are missing."""
    sure = reduction.uncertainties
    if sure is None:
        yield "Uncertainty: not stated."
        return
    if sure.missing_inputs:
        yield Message("missing.uncertainty", to_state=sure.missing_inputs)
    assumed = assumed_in_words(sure.assumed)
    if assumed is not None:
        yield assumed
