"""How the test was made, in sentences, and what could not be computed for want of what."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from certgen.assessment.decision import rule_in_words
from certgen.assessment.heat import missing_duty
from certgen.assessment.unused_plate import unused_plate_values
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
from certgen.quantity import measured
from certgen.readings.model import Readings
from certgen.reduction.model import Reduction
from certgen.results.changing_speed import missing_run_down, missing_sweep, run_down_method, sweep_method
from certgen.results.characteristic import missing_characteristic
from certgen.results.compute import Figures
from certgen.results.heat import missing_heat
from certgen.results.log import missing_log
from certgen.results.losses import missing_losses
from certgen.results.model import FINDING_NOT_TESTED, AssessedRating, Conditions, Finding
from certgen.standards.criteria import CriteriaSet, companions_of, not_named


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
        criteria=criteria_printed(criteria),
        decision_rule=rule_in_words(job.decision_rule, findings),
        ambient=surroundings.ambient,
        supply=job.conditions.supply,
        harmonics=measured(job.conditions.harmonics, "1"),
        ripple=measured(job.conditions.ripple, "1"),
        supply_frequency=surroundings.supply_frequency,
        supply_frequency_basis=reduction.frequency_basis if job.motor.type != DC else None,
        local_gravity=surroundings.local_gravity,
        local_gravity_basis=Message("conditions.standard_gravity" if stated is None else "conditions.gravity_stated"),
        instruments=tuple(_instruments(rig)),
        calibrations=figures.instruments,
        not_evaluated=not_evaluated,
        missing=(
            *missing_log(reduction),
            *missing_losses(job, figures.losses),
            *missing_sweep(reduction),
            *missing_run_down(reduction),
            *_missing(job, reduction, findings, rating),
            *_missing_uncertainty(reduction, figures),
            *missing_heat(job),
            *missing_duty(job, findings),
            *unused_plate_values(job, criteria, findings, rating),
            *missing_characteristic(job, reduction, figures.characteristic),
        ),
    )


def criteria_printed(criteria: CriteriaSet) -> Message:
    """Title and edition of a criteria set, as printed."""
    return Message("conditions.criteria_set", title=criteria.title, edition=criteria.edition)


def _method(job: Job, rig: Rig, readings: Readings) -> Iterator[Message]:
    yield _torque(rig)
    yield from _corrections(rig, readings)
    if rig.drive.kind == "belt" and rig.drive.ratio and rig.drive.efficiency:
        yield Message("method.belt", ratio=rig.drive.ratio, efficiency=rig.drive.efficiency)
    if job.motor.type == SINGLE_PHASE:
        yield Message("method.single_phase")
    gear = job.nameplate.gear
    if gear is not None:
        yield Message("method.geared", ratio=gear.ratio)
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


def _torque(rig: Rig) -> Message:
    mass = rig.scale is not None and rig.scale.reads == "mass"
    weighed = Message("method.mass" if mass else "method.force")
    if rig.absorber.kind == ARM and rig.arm_length:
        return Message("method.arm", length=rig.arm_length.value, weighed=weighed)
    if rig.absorber.kind == ROPE and rig.drum_radius:
        radius = rig.drum_radius.value
        if not rig.rope_diameter:
            return Message("method.rope", weighed=weighed, radius=radius)
        diameter = rig.rope_diameter.value
        return Message("method.rope_of_diameter", weighed=weighed, radius=radius, diameter=diameter)
    return Message("method.torque_sensor")


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


def _corrections(rig: Rig, readings: Readings) -> Iterator[Message]:
    zero = readings.zero
    if zero.before is not None and zero.after is not None:
        yield Message("method.zero_twice")
    elif zero.before is not None or zero.after is not None:
        yield Message("method.zero_once")
    else:
        yield Message("method.no_zero")
    if rig.absorber.kind != TORQUE_SENSOR:
        calibration = rig.scale.calibration if rig.scale else None
        if calibration is None:
            yield Message("method.no_calibration")
        elif calibration.on is None:
            yield Message("method.calibration", count=len(calibration.applied))
        else:
            yield Message("method.calibration_of", date=calibration.on, count=len(calibration.applied))
    if rig.tare_torque is not None:
        yield Message("method.tare", torque=rig.tare_torque.value)


#: Columns that make input power together; of three lines the first stands for all.
_VOLTS_AMPERES_FACTOR = (("voltage", "_ab"), ("current", "_a"), ("power_factor", ""))


def _electrical(job: Job, readings: Readings) -> Message:
    names = readings.load_test.columns
    if "wattmeter_1" in names:
        return Message("method.two_wattmeters")
    if "input_power" in names:
        return Message("method.wattmeter")
    if job.motor.type == DC and {"voltage", "current"} <= names.keys():
        return Message("method.volts_amperes")
    if all({column, f"{column}{line}"} & names.keys() for column, line in _VOLTS_AMPERES_FACTOR):
        return Message("method.volts_amperes_power_factor")
    return Message("method.no_input_power")


def _instruments(rig: Rig) -> Iterator[Message]:
    tachometer = rig.tachometer
    if tachometer.pulses_per_revolution is not None:
        pulses, shaft = tachometer.pulses_per_revolution, Message(f"conditions.shaft.{tachometer.on}")
        if tachometer.gate:
            yield Message("conditions.tachometer_with_gate", pulses=pulses, gate=tachometer.gate, shaft=shaft)
        else:
            yield Message("conditions.tachometer", pulses=pulses, shaft=shaft)
    if rig.scale is not None and rig.scale.resolution is not None:
        resolution = rig.scale.resolution
        key = "conditions.scale_in_kg" if resolution.dimension == "mass" else "conditions.scale_in_n"
        yield Message(key, resolution=resolution.value)


def _missing(
    job: Job, reduction: Reduction, findings: tuple[Finding, ...], rating: AssessedRating | None
) -> Iterator[Message]:
    points = reduction.points
    if reduction.curve_missing:
        yield Message("missing.curve", why=reduction.curve_missing)
    if job.motor.type in INDUCTION and not np.isfinite(points.slip).any():
        yield Message("missing.slip_without_poles" if reduction.frequency_basis else "missing.slip_without_frequency")
    if not np.isfinite(points.input_power).any():
        no_factor = job.motor.type != DC and not np.isfinite(points.power_factor).any()
        yield Message("missing.efficiency_and_power_factor" if no_factor else "missing.efficiency")
    for name in ("current", "voltage", "temperature"):
        if not np.isfinite(getattr(points, name)).any():
            yield Message(f"missing.{name}")
    if rating is not None and rating.to_measure:
        yield Message("missing.rating", to_measure=rating.to_measure)
    for finding in findings:
        if finding.outcome == FINDING_NOT_TESTED and finding.note:
            yield Message("missing.finding", title=finding.title, note=finding.note)


def _missing_uncertainty(reduction: Reduction, figures: Figures) -> Iterator[Message]:
    """What was assumed of uncertainties, and what would have to be stated for those that are missing."""
    sure = reduction.uncertainties
    if sure is None:
        yield Message("missing.every_uncertainty")
        return
    if sure.missing_inputs:
        yield Message("missing.uncertainty", to_state=sure.missing_inputs)
    if figures.assumed is not None:
        yield figures.assumed
