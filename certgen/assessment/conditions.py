"""How the test was made, in sentences, and what could not be computed for want of what."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from certgen.assessment.decision import rule_in_words
from certgen.assessment.heat import missing_duty
from certgen.job.model import (
    ASSUMED_GEAR_EFFICIENCY,
    AT_MOTOR,
    DC,
    GEAR_EFFICIENCY_LIMIT,
    INDUCTION,
    SINGLE_PHASE,
    Job,
)
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Rig
from certgen.messages.catalogue import Message
from certgen.readings.model import Readings
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.assumed_inputs import assumed_in_words
from certgen.results.changing_speed import missing_run_down, missing_sweep, run_down_method, sweep_method
from certgen.results.characteristic import missing_characteristic
from certgen.results.compute import Figures
from certgen.results.heat import missing_heat
from certgen.results.log import missing_log
from certgen.results.losses import missing_losses
from certgen.results.model import AssessedRating, Conditions, Finding
from certgen.results.rated import service_factor_power
from certgen.standards.criteria import DECLARED_STARTING, CriteriaSet, companions_of, not_named


def conditions_of(
    job: Job,
    rig: Rig,
    reduction: Reduction,
    figures: Figures,
    *,
    criteria: CriteriaSet,
    findings: tuple[Finding, ...],
    rating: AssessedRating | None,
    not_evaluated: tuple[str, ...],
) -> Conditions:
    """Everything the page says on how the test was made."""
    surroundings = figures.surroundings
    stated = job.conditions.local_gravity
    return Conditions(
        rig=rig.name,
        method=(
            *_method(job, rig, figures.readings),
            *sweep_method(reduction),
            *run_down_method(reduction),
            *_tables_taken(criteria),
        ),
        criteria=f"{criteria.title}, edition {criteria.edition}",
        decision_rule=rule_in_words(job.decision_rule, findings),
        ambient=surroundings.ambient,
        supply_frequency=surroundings.supply_frequency,
        supply_frequency_basis=str(reduction.frequency_basis or "") if job.motor.type != DC else "",
        local_gravity=surroundings.local_gravity,
        local_gravity_basis="stated" if stated is not None else "standard gravity, local value not stated",
        instruments=tuple(_instruments(rig)),
        not_evaluated=not_evaluated,
        missing=(
            *missing_log(reduction),
            *missing_losses(job, figures.losses),
            *missing_sweep(reduction),
            *missing_run_down(reduction),
            *_missing(job, reduction, findings, rating),
            *missing_heat(job),
            *missing_duty(job, findings),
            *_plate_keys_unused(job, criteria),
            *missing_characteristic(job, reduction, figures.characteristic),
        ),
    )


def _method(job: Job, rig: Rig, readings: Readings) -> Iterator[Message | str]:
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
        if gear.plate_at == AT_MOTOR:
            known = gear.efficiency is not None
            yield Message(
                "method.plate_of_the_motor" if known else "method.plate_of_the_motor_assumed",
                efficiency=gear.efficiency or ASSUMED_GEAR_EFFICIENCY,
                **({} if known else {"limit": GEAR_EFFICIENCY_LIMIT}),
            )
        else:
            yield Message("method.plate_of_the_output_shaft")
    yield _electrical(job, readings)


def _plate_keys_unused(job: Job, criteria: CriteriaSet) -> Iterator[Message]:
    """Plate values that this test compares nothing with, each with the reason."""
    plate = job.nameplate
    if plate.service_factor_current is not None and service_factor_power(job) is None:
        missing = "power" if plate.power is None else "service_factor_power"
        yield Message("missing.service_factor_current", quantity=Message(f"name.{missing}"))
    rows = {row.quantity for row in criteria.declared_starting if not row.types or job.motor.type in row.types}
    for name in DECLARED_STARTING:
        if getattr(plate, name) is not None and name not in rows:
            yield Message("missing.no_row", quantity=Message(f"name.{name}"), title=criteria.title)


def _tables_taken(criteria: CriteriaSet) -> Iterator[Message]:
    """Whose tables stand in for those a set of the workshop's own does not name."""
    absent = not_named(criteria)
    if absent:
        beside = companions_of(criteria)
        taken = tuple(Message(f"beside.{name}", table=_standard(getattr(beside, name))) for name in absent)
        yield Message("method.tables_not_named", title=criteria.title, taken=taken)


def _standard(name: str) -> Message:
    """A table by the name of its standard."""
    return Message(f"standard.{name.replace('-', '_')}")


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
    if all({column, f"{column}{line}"} & names.keys() for column, line in _VOLTS_AMPERES_FACTOR):
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
        missing = (
            "the supply frequency is not known" if not reduction.frequency_basis else "the number of poles is not known"
        )
        yield f"Slip: {missing}."
    if not np.isfinite(points.input_power).any():
        no_factor = job.motor.type != DC and not np.isfinite(points.power_factor).any()
        missing = "Efficiency, losses and power factor" if no_factor else "Efficiency and losses"
        yield f"{missing}: input power was not measured."
    for title, quantity in (("Current", points.current), ("Voltage", points.voltage)):
        if not np.isfinite(quantity).any():
            yield f"{title}: not measured."
    if not np.isfinite(points.temperature).any():
        yield "Temperature: not measured, so the figures hold for the unknown temperature of the test."
    if rating is not None and rating.to_measure:
        yield f"Assessed rating: needs {'; '.join(map(str, rating.to_measure))}."
    yield from (
        f"{finding.title}: {finding.note}." for finding in findings if finding.outcome == "not tested" and finding.note
    )
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
