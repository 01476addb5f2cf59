"""What the rig holds against what the planned loads ask, limit by limit, and up to which load it holds the motor."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from itertools import chain

import numpy as np

from certgen.job.rig import TORQUE_SENSOR, Meter
from certgen.planning.expectation import Expectation
from certgen.planning.holding import Bench
from certgen.planning.plan import (
    ALL_HELD,
    ALL_REFUSED,
    EXCEEDED,
    HOLDS,
    NOT_ALL_COMPARED,
    NOT_KNOWN,
    NOT_STATED,
    SOME_REFUSED,
    PlannedPoint,
    RigCheck,
    Starting,
    figure,
    named,
    own,
)
from certgen.planning.points import Load, Target, demand_of, targets_of
from certgen.planning.scale_reading import scale_line
from certgen.quantity import measured
from certgen.reduction.rig_demand import AskedOf


@dataclass(frozen=True)
class Reach:
    """Up to which part of rated load the rig holds the motor, and what ends it; ``None`` where nothing does."""

    load: float | None
    by: str


def rig_checks(bench: Bench, targets: tuple[Target, ...], fastest: tuple[Target, ...]) -> tuple[RigCheck, ...]:
    """Every limit against the load that asks most of it; one whose radius, mass or rope the rig lacks is left out.

    The fastest the motor turns is held against the limits of speed too.
    """
    looked_at = (*targets, *fastest)
    return tuple(_check(one, looked_at) for one in demand_of(bench, looked_at))


def _check(one: AskedOf, targets: tuple[Target, ...]) -> RigCheck:
    worst = one.worst if one.stated else _greatest(one)
    at = "" if worst is None else targets[worst].name
    asked = None if worst is None else measured(float(one.asked[worst]), one.unit)
    limit = None if worst is None else measured(float(one.limit[worst]), one.unit)
    if not one.stated:
        return RigCheck(one.name, NOT_STATED, asked, None, at, f"the rig states no {one.key}")
    if worst is None:
        stated = measured(float(one.limit[0]), one.unit) if one.limit.size else None
        return RigCheck(one.name, NOT_KNOWN, None, stated, at, _why_unknown(one))
    lacking = _not_compared(one, targets)
    if bool(one.passed.any()):
        return RigCheck(one.name, EXCEEDED, asked, limit, at, lacking)
    return RigCheck(one.name, NOT_KNOWN if lacking else HOLDS, asked, limit, at, lacking)


def _greatest(one: AskedOf) -> int | None:
    return None if np.isnan(one.asked).all() else int(np.nanargmax(one.asked))


def _why_unknown(one: AskedOf) -> str:
    if one.name == "brake current":
        return "it shows at the brake alone: watch its ammeter"
    if one.name == "torque at this speed" and np.isfinite(one.asked).any():
        return "the brake's envelope has no row about these speeds"
    return "the load is not known before the test"


def _not_compared(one: AskedOf, targets: tuple[Target, ...]) -> str:
    """Loads whose demand, or whose limit, is not known; a limit of speed alone needs the fastest only."""
    if any(math.isnan(target.torque) and math.isfinite(ask) for target, ask in zip(targets, one.asked, strict=True)):
        return ""
    of_loads = [index for index, target in enumerate(targets) if math.isfinite(target.torque)]
    names = [
        targets[index].name for index in of_loads if not math.isfinite(one.asked[index] / (one.limit[index] or 1.0))
    ]
    return f"not compared at {named(names, len(of_loads))}" if names else ""


def reach_of(
    bench: Bench, expected: Expectation, targets: tuple[Target, ...], points: tuple[PlannedPoint, ...]
) -> Reach:
    """The greatest part of rated load held, where a planned load above it is refused.

    Found by halving between the greatest load held and the next one planned.
    """
    loaded = [(target.load, point) for target, point in zip(targets, points, strict=True) if target.load > 0.0]
    refused = [load for load, point in loaded if point.holds is False]
    held = [load for load, point in loaded if point.holds is not False]
    if not refused or not held or max(held) > max(refused):
        return Reach(None, "")
    low, high = max(held), min(load for load in refused if load > max(held))
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (low, middle) if _passed_at(bench, expected, middle) else (middle, high)
    return Reach(low, " and ".join(_passed_at(bench, expected, high)))


def _passed_at(bench: Bench, expected: Expectation, load: float) -> list[str]:
    targets = targets_of(bench, expected, (Load("", load),))
    return [one.name for one in demand_of(bench, targets) if bool(one.passed[0])]


def outcome_of(points: tuple[PlannedPoint, ...]) -> str:
    """Whether the motor can be tested on the rig; the run without load counts for nothing here."""
    loaded = [point.holds for point in points if point.load is None or point.load.value > 0.0]
    if loaded and all(one is False for one in loaded):
        return ALL_REFUSED
    if False in loaded:
        return SOME_REFUSED
    return ALL_HELD if loaded and None not in loaded else NOT_ALL_COMPARED


# What makes the rig's readings doubtful before one is taken: scale, calibration, and the ranges of the meters.


#: Part of its span below which a scale is used poorly. Common practice, no source.
LEAST_USE = 0.1
#: Part of the torque above which a tare torque is too large to be added from a table. Common practice, no source.
_LARGE_TARE = 0.05
_DAY = 86400.0


def rig_notes(bench: Bench, points: tuple[PlannedPoint, ...], starting: Starting | None) -> tuple[str, ...]:
    """One sentence for each thing that would make a reading doubtful."""
    return tuple(
        chain(_use(bench, points), _calibration(bench, points), _tare(bench, points), _meters(bench, points, starting))
    )


def _use(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[str]:
    span, point = bench.rig.limits.scale, _rated(points)
    if span is None or point is None or point.scale is None or bench.rig.absorber.kind == TORQUE_SENSOR:
        return
    if point.scale.value < LEAST_USE * span.value:
        unit = scale_line(bench.job, bench.rig).unit
        shown, whole = own(point.scale.value, unit), own(span.value, unit)
        yield (
            f"The scale is used below a tenth of its span ({shown} of {whole} at {point.name}): a lighter scale or a "
            "shorter arm measures better."
        )


def _calibration(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[str]:
    scale = bench.rig.scale
    if scale is None or bench.rig.absorber.kind == TORQUE_SENSOR:
        return
    calibration, unit = scale.calibration, scale_line(bench.job, bench.rig).unit
    if calibration is None:
        yield "The scale has no calibration: put known loads on it before the test and write down what it shows."
        return
    most = max(one.value for one in calibration.indicated)
    beyond = [point.name for point in points if point.scale is not None and point.scale.value > most * (1.0 + 1e-9)]
    if beyond:
        upto = own(most, unit)
        yield f"The scale was calibrated up to {upto} only: beyond that its line is not known ({', '.join(beyond)})."
    if calibration.on is not None and calibration.valid is not None:
        due = calibration.on + timedelta(days=int(calibration.valid / _DAY))
        yield f"The calibration of the scale holds until {due.isoformat()}: test before that day, or calibrate it again."


def _tare(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[str]:
    tare, point = bench.rig.tare_torque, _rated(points)
    if tare is None or point is None or point.absorber_torque is None:
        return
    part = tare.value / point.absorber_torque.value
    if part > _LARGE_TARE:
        yield f"The tare torque is {part:.0%} of the torque at {point.name}: free the trunnions, or measure it anew."


def _meters(bench: Bench, points: tuple[PlannedPoint, ...], starting: Starting | None) -> Iterator[str]:
    meters, plate = bench.rig.meters, bench.job.nameplate
    if meters is None:
        return
    currents = [point.current.value for point in points if point.current is not None]
    yield from _range("ammeter", meters.current, max(currents, default=None), "A")
    yield from _range("voltmeter", meters.voltage, plate.voltage, "V")
    rated = plate.power / plate.efficiency if plate.power and plate.efficiency else None
    yield from _range("wattmeter", meters.input_power, rated, "W")
    if bench.rig.absorber.kind == TORQUE_SENSOR:
        torques = [point.absorber_torque.value for point in points if point.absorber_torque is not None]
        yield from _range("torque sensor", meters.torque, max(torques, default=None), "N*m")
    inrush = None if starting is None or starting.least_current is None else starting.least_current.value
    whole = None if meters.current is None else meters.current.full_scale
    if inrush is not None and whole is not None and inrush > whole:
        takes, reads = figure(inrush, "A", 3), figure(whole, "A", 3)
        yield f"Starting takes {takes} or more, the ammeter reads to {reads}: bridge it until the motor runs."


def _range(name: str, meter: Meter | None, expected: float | None, unit: str) -> Iterator[str]:
    whole = None if meter is None else meter.full_scale
    if whole is not None and expected is not None and expected > whole:
        yield f"The {name} reads to {figure(whole, unit, 3)}, {figure(expected, unit, 3)} is expected: take a larger range."


def _rated(points: tuple[PlannedPoint, ...]) -> PlannedPoint | None:
    return next((point for point in points if point.load is not None and abs(point.load.value - 1.0) < 1e-9), None)
