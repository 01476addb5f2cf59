"""The planned load points: each with its targets, and whether the rig holds it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.job.rig import ROPE
from certgen.messages.catalogue import Message
from certgen.physics.induction import synchronous_speed
from certgen.physics.mechanics import motor_torque_through_drive, shaft_power
from certgen.planning.expectation import Expectation
from certgen.planning.holding import OF_TORQUE, Bench, time_borne
from certgen.planning.plan import PlannedPoint
from certgen.planning.scale_reading import scale_line, scale_reading
from certgen.quantity import Quantity, measured
from certgen.reduction.rig_demand import AskedOf
from certgen.standards.procedures import LoadsOfTest

# Which loads are planned, and in which order.


#: Equal steps in which a motor without a usable plate is loaded, up to what the rig holds. Common practice, no source.
STEPS = 8
#: The name of running without load.
NO_LOAD = Message("plan.load.none")
#: Loads nearer to each other than this are one load. [1]
_SAME = 0.005


@dataclass(frozen=True)
class Load:
    """One load by its name and its part of the rated one."""

    name: Message
    part: float


def loads_of(job: Job, wanted: LoadsOfTest) -> tuple[Load, ...]:
    """The loads of a motor whose rated torque is known, the greatest first.

    An induction motor ends without load; a motor that may race never runs without.
    """
    parts = {part: Load(Message("plan.load.part", part=part), part) for part in wanted.loads}
    factor = job.nameplate.service_factor
    if factor is not None and factor > 1.0:
        near = next((part for part in parts if abs(part - factor) <= _SAME), factor)
        parts.pop(near, None)
        parts[factor] = Load(Message("plan.load.service_factor", part=factor), factor)
    falling = tuple(parts[part] for part in sorted(parts, reverse=True))
    return (*falling, Load(NO_LOAD, 0.0)) if job.motor.type in INDUCTION else falling


# The planned load points: each with its targets, and whether the rig holds it.


@dataclass(frozen=True)
class Target:
    """One load with what is expected of the motor there, in SI at the tested shaft; ``nan`` where not known."""

    name: Message
    load: float
    torque: float
    speed: float
    current: float


def targets_of(bench: Bench, expected: Expectation, loads: tuple[Load, ...]) -> tuple[Target, ...]:
    """Expected torque, speed and current of each load.

    Without load a coupled motor still turns the absorber against its tare torque.
    """
    targets = []
    for load in loads:
        torque = expected.torque_at_load(load.part) if load.part > 0.0 else _tare_at_shaft(bench)
        speed = expected.speed_at_torque(torque)
        current = expected.current_at_load(load.part, torque)
        targets.append(Target(load.name, load.part, _known(torque), _known(speed), _known(current)))
    return tuple(targets)


def step_targets(bench: Bench, most: float) -> tuple[Target, ...]:
    """Equal steps up to the most torque the rig holds [N*m], for a motor whose rating is not known.

    An induction motor begins without load.
    """
    unknown = math.nan
    idle = (Target(NO_LOAD, 0.0, _tare_at_shaft(bench), unknown, unknown),)
    steps = tuple(
        Target(Message("plan.load.step", number=step), unknown, most * step / STEPS, unknown, unknown)
        for step in range(1, STEPS + 1)
    )
    return (*idle, *steps) if bench.job.motor.type in INDUCTION else steps


def planned(bench: Bench, targets: tuple[Target, ...], fastest: tuple[Target, ...]) -> tuple[PlannedPoint, ...]:
    """The points of the plan; a limit that holds the ``fastest`` the motor can turn holds every load."""
    at_fastest = demand_of(bench, fastest)
    held_by_speed = {limit.key for limit in at_fastest if limit.worst is not None and not limit.passed.any()}
    return tuple(_planned(bench, target, held_by_speed) for target in targets)


def fastest_of(bench: Bench, expected: Expectation) -> tuple[Target, ...]:
    """The fastest an induction motor turns by itself: synchronous speed, that of two poles where they are not known."""
    job = bench.job
    if job.motor.type not in INDUCTION:
        return ()
    name, speed = Message("plan.load.synchronous_speed"), expected.synchronous_speed
    frequency = job.conditions.supply_frequency or job.nameplate.frequency
    if speed is None and frequency is not None and job.nameplate.gear is None:
        name, speed = Message("plan.load.two_poles"), float(synchronous_speed(frequency, 2))
    return () if speed is None else (Target(name, math.nan, math.nan, speed, math.nan),)


def demand_of(bench: Bench, targets: tuple[Target, ...]) -> tuple[AskedOf, ...]:
    """Every limit of the rig against all targets."""
    torque = np.array([target.torque for target in targets])
    return bench.asked(torque, np.array([target.speed for target in targets]))


def _planned(bench: Bench, target: Target, held_by_speed: set[str]) -> PlannedPoint:
    asked = demand_of(bench, (target,))
    by_key = {limit.key: limit for limit in asked}
    power = _finite(float(by_key["limits.absorber_power"].asked[0]))
    reading = _finite(scale_reading(bench.job, bench.rig, target.torque))
    seconds, held = time_borne(bench.rig, power)
    unknown = tuple(limit.name for limit in asked if _not_compared(limit) and limit.key not in held_by_speed)
    point = PlannedPoint(
        name=target.name,
        load=measured(target.load, "1"),
        torque=measured(target.torque, "N*m"),
        scale=measured(reading, scale_line(bench.job, bench.rig).si_unit),
        speed=measured(target.speed, "rad/s"),
        current=measured(target.current, "A"),
        shaft_power=measured(float(shaft_power(target.torque, target.speed)), "W"),
        absorber_torque=measured(float(by_key["limits.torque"].asked[0]), "N*m"),
        absorber_power=measured(power, "W"),
        holds=_holds(asked, unknown),
        refused=tuple(_refusal(limit, bench) for limit in asked if limit.passed[0]),
        not_compared=unknown,
        may_be_held=measured(seconds, "s"),
        held=held,
    )
    return _below_tare(point, bench, target)


def _below_tare(point: PlannedPoint, bench: Bench, target: Target) -> PlannedPoint:
    """A load smaller than the absorber's own friction cannot be set: the scale would have to show less than nothing."""
    at_least = _tare_at_shaft(bench)
    if not target.torque < at_least * (1.0 - 1e-9):
        return point
    why = Message("plan.refused.by_tare", limit=Message("plan.refused.tare"), torque=at_least)
    return replace(point, scale=None, holds=False, refused=(*point.refused, why))


def _holds(asked: tuple[AskedOf, ...], unknown: tuple[Message | str, ...]) -> bool | None:
    """Whether the rig holds one point; unknown where a stated limit, or every limit of torque, could not be compared."""
    if any(bool(limit.passed[0]) for limit in asked):
        return False
    compared = any(limit.key in OF_TORQUE and limit.worst is not None for limit in asked)
    return True if compared and not unknown else None


def _not_compared(limit: AskedOf) -> bool:
    """Whether a stated limit says nothing of one point; the brake's current shows at the brake alone."""
    return limit.stated and limit.worst is None and limit.key != "limits.brake_current"


def _refusal(limit: AskedOf, bench: Bench) -> Message:
    rope = limit.key == "limits.scale" and bench.rig.absorber.kind == ROPE
    return Message(
        "plan.refused.by_tight_side" if rope else "plan.refused.by_limit",
        limit=limit.name,
        asked=Quantity(float(limit.asked[0]), limit.unit),
        most=Quantity(float(limit.limit[0]), limit.unit),
    )


def _tare_at_shaft(bench: Bench) -> float:
    """Torque the absorber's own friction asks of the motor. [N*m]"""
    rig = bench.rig
    tare = rig.tare_torque.value if rig.tare_torque else 0.0
    if rig.drive.kind == "belt" and rig.drive.ratio and rig.drive.efficiency:
        return float(motor_torque_through_drive(tare, rig.drive.ratio, rig.drive.efficiency))
    return tare


def _known(value: float | None) -> float:
    return math.nan if value is None else value


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
