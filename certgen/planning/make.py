"""Job and rig before the test, made into a plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from certgen import __version__
from certgen.job.model import DC, THREE_PHASE, Job, ReadingsSource
from certgen.job.plate_ratings import undecided
from certgen.job.rig import ROPE, TORQUE_SENSOR, Meters, Rig
from certgen.messages.catalogue import Message
from certgen.planning.expectation import Expectation, breakdown_of, expectation_of, starting_of
from certgen.planning.holding import Bench, most_torque_held
from certgen.planning.plan import ColumnToRead, Plan
from certgen.planning.points import (
    LAST_STEP,
    STEPS,
    Target,
    fastest_of,
    loads_of,
    planned,
    refused_at_plate_speed,
    step_targets,
    targets_of,
)
from certgen.planning.rig_checks import Reach, outcome_of, reach_of, rig_checks, rig_notes
from certgen.planning.scale_reading import own_unit, scale_basis, scale_line
from certgen.planning.steps import precautions_of, steps_of, stops_of
from certgen.quantity import measured
from certgen.readings.model import Table
from certgen.standards.criteria import DEFAULT, SHIPPED, CriteriaSet, companions_of, shipped_criteria
from certgen.standards.procedures import LoadsOfTest, loads_of_test

# What is read at each load: one column an instrument of the rig.


def columns_to_read(bench: Bench) -> tuple[ColumnToRead, ...]:
    """Speed, torque, then what the meters of the rig read; volts, amperes and watts where it lists no meters."""
    job, rig = bench.job, bench.rig
    meters = rig.meters
    wanted = [("speed", "rpm"), *_of_torque(bench)]
    if meters is None or meters.voltage is not None:
        wanted.append(("voltage", "V"))
    if meters is None or meters.current is not None:
        lines = job.motor.type == THREE_PHASE
        wanted += [(name, "A") for name in (("current_a", "current_b", "current_c") if lines else ("current",))]
    if job.motor.type != DC:
        wanted += _of_power(meters)
    if meters is not None and meters.frequency is not None and job.motor.type != DC:
        wanted.append(("frequency", "Hz"))
    thermometer = meters is not None and meters.winding_temperature is not None
    degrees = "degF" if job.sheet.units == "us" else "degC"
    wanted.append(("winding_temperature" if thermometer else "frame_temperature", degrees))
    return tuple(ColumnToRead(name, unit) for name, unit in wanted)


def _of_torque(bench: Bench) -> list[tuple[str, str]]:
    unit = own_unit(bench.job, bench.rig)
    kind = bench.rig.absorber.kind
    if kind == TORQUE_SENSOR:
        return [("torque", unit)]
    return [("scale", unit), ("scale_2", unit)] if kind == ROPE else [("scale", unit)]


def _of_power(meters: Meters | None) -> list[tuple[str, str]]:
    if meters is None or meters.input_power is not None:
        return [("input_power", "W")]
    return [("power_factor", "1")] if meters.power_factor is not None else []


# Job and rig before the test, made into a plan.


def make_plan(
    job: Job, rig: Rig, envelope: Table | None, inputs: Mapping[str, str], criteria: CriteriaSet | None = None
) -> Plan:
    """Everything that can be said before a test.

    Parameters
    ----------
    job : Job
        Motor, plate and conditions; certificate and readings may be absent. [SI]
    rig : Rig
        The bench. [SI]
    envelope : Table or None
        Most torque the absorber holds, by speed. [SI]
    inputs : mapping of str to str
        Files read, and their digests.
    criteria : CriteriaSet or None
        Its tables beside it choose load points and the rise a class allows; left out: the published set the job names.

    Returns
    -------
    Plan
        Load points, limits, stop list and precautions. [SI]

    References
    ----------
    Load points by IEC 60034-2-1 or IEEE Std 112, method B, as in :mod:`certgen.standards.procedures`.
    """
    readings: ReadingsSource | None = job.readings
    job = replace(job, readings=readings or ReadingsSource())
    if criteria is None:
        criteria = shipped_criteria(job.criteria if job.criteria in SHIPPED else DEFAULT)
    bench, expected = Bench(job, rig, envelope, criteria), expectation_of(job)
    wanted = loads_of_test(companions_of(criteria).procedure, three_phase=job.motor.type == THREE_PHASE)
    targets, loads_source = _targets(bench, expected, wanted)
    fastest = (*fastest_of(bench, expected), *refused_at_plate_speed(bench))
    points = planned(bench, targets, fastest)
    reach = reach_of(bench, expected, targets, points)
    starting, checks = starting_of(bench), rig_checks(bench, targets, fastest)
    outcome = outcome_of(points, checks, expected.rated_torque)
    return Plan(
        certificate=job.certificate,
        motor=job.motor,
        nameplate=job.nameplate,
        rig=rig.name,
        outcome=outcome,
        rated_torque=measured(expected.rated_torque, "N*m"),
        rated_torque_basis=expected.rated_torque_basis,
        synchronous_speed=measured(expected.synchronous_speed, "rad/s"),
        rated_slip=measured(expected.rated_slip, "1"),
        points=points,
        columns=columns_to_read(bench),
        loads_source=loads_source,
        order=wanted.order_source if expected.rated_torque is not None else Message("plan.order.rising"),
        greatest_load=measured(reach.load, "1"),
        greatest_load_by=reach.by,
        scale_unit=scale_line(job, rig).unit,
        scale_basis=scale_basis(job, rig),
        expectations=_expectations(expected),
        rig_checks=checks,
        rig_notes=rig_notes(bench, points, starting),
        breakdown=breakdown_of(bench, expected),
        starting=starting,
        steps=steps_of(bench, expected, points, outcome, order=wanted.order_source),
        stops=stops_of(bench, expected, points),
        precautions=precautions_of(bench),
        missing=tuple(_missing(bench, expected, reach, targets)),
        program="certgen",
        version=__version__,
        inputs=dict(inputs),
    )


def _targets(bench: Bench, expected: Expectation, wanted: LoadsOfTest) -> tuple[tuple[Target, ...], Message | None]:
    if expected.rated_torque is not None:
        key = "plan.loads_by.rated_power" if expected.rated_slip is not None else "plan.loads_by.rated_torque"
        return targets_of(bench, expected, loads_of(bench.job, wanted)), Message(key, source=wanted.source)
    speed = expected.synchronous_speed
    most = most_torque_held(bench, math.nan if speed is None else speed)
    if not most:
        return (), None
    return step_targets(bench, expected, most), Message("plan.loads_by.steps", count=STEPS, part=LAST_STEP)


def _expectations(expected: Expectation) -> tuple[Message, ...]:
    if expected.rated_torque is None:
        return ()
    return (
        Message("plan.expected.speed", basis=expected.speed_basis),
        Message("plan.expected.current", basis=expected.current_basis),
    )


def _missing(bench: Bench, expected: Expectation, reach: Reach, targets: tuple[Target, ...]) -> Iterator[Message]:
    several = tuple(found.written for found in undecided(bench.job.nameplate).values())
    if several:
        yield Message("plan.missing.which_rating", values=several)
    if expected.rated_torque is None:
        yield Message("plan.missing.rated_torque", basis=expected.rated_torque_basis)
        if not targets:
            yield Message("plan.missing.loads")
    heat = bench.rig.absorber_heat
    if heat is None:
        yield Message("plan.missing.absorber_heat")
    elif heat.short_time is None and heat.time_constant is None:
        yield Message("plan.missing.short_time")
    if bench.envelope is None:
        yield Message("plan.missing.brake_envelope")
    if reach.load is None and targets and not _any_limit(bench):
        yield Message("plan.missing.limits")


def _any_limit(bench: Bench) -> bool:
    limits = bench.rig.limits
    return (
        any(limit is not None for limit in (limits.torque, limits.scale, limits.coupling_torque))
        or bench.envelope is not None
    )
