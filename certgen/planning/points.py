"""The planned load points: each with its targets, and whether the rig holds it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.job.rig import ROPE
from certgen.physics.induction import synchronous_speed
from certgen.physics.mechanics import motor_torque_through_drive, shaft_power
from certgen.planning.expectation import Expectation
from certgen.planning.holding import OF_TORQUE, Bench, time_borne
from certgen.planning.plan import PlannedPoint, figure
from certgen.planning.scale_reading import scale_line, scale_reading
from certgen.quantity import measured
from certgen.reduction.rig_demand import AskedOf
from certgen.standards.procedures import LoadsOfTest

# Which loads are planned, and in which order.


#: Equal steps in which a motor without a usable plate is loaded, up to what the rig holds. Common practice, no source.
STEPS = 8
#: The name of running without load.
NO_LOAD = "no load"
#: Loads nearer to each other than this are one load. [1]
_SAME = 0.005


@dataclass(frozen=True)
class Load:
    """One load by its name and its part of the rated one."""

    name: str
    part: float


def loads_of(job: Job, wanted: LoadsOfTest) -> tuple[Load, ...]:
    """The loads of a motor whose rated torque is known, the greatest first.

    An induction motor ends without load; a motor that may race never runs without.
    """
    parts = {part: Load(f"{part:.0%}".replace("%", " %"), part) for part in wanted.loads}
    factor = job.nameplate.service_factor
    if factor is not None and factor > 1.0:
        near = next((part for part in parts if abs(part - factor) <= _SAME), factor)
        parts.pop(near, None)
        percent = f"{100.0 * factor:g} %"
        parts[factor] = Load(f"{percent}, service factor", factor)
    falling = tuple(parts[part] for part in sorted(parts, reverse=True))
    return (*falling, Load(NO_LOAD, 0.0)) if job.motor.type in INDUCTION else falling


# The planned load points: each with its targets, and whether the rig holds it.


@dataclass(frozen=True)
class Target:
    """One load with what is expected of the motor there, in SI at the tested shaft; ``nan`` where not known."""

    name: str
    load: float
    torque: float
    speed: float
    current: float


def targets_of(bench: Bench, expected: Expectation, loads: tuple[Load, ...]) -> tuple[Target, ...]:
    """Expected torque, speed and current of each load.

    Without load a coupled motor still turns the absorber against its tare torque.
    """
    found = []
    for load in loads:
        torque = expected.torque_at_load(load.part) if load.part > 0.0 else _tare_at_shaft(bench)
        speed = expected.speed_at_torque(torque)
        current = expected.current_at_load(load.part, torque)
        found.append(Target(load.name, load.part, _known(torque), _known(speed), _known(current)))
    return tuple(found)


def step_targets(bench: Bench, most: float) -> tuple[Target, ...]:
    """Equal steps up to the most torque the rig holds [N*m], for a motor whose rating is not known.

    An induction motor begins without load.
    """
    unknown = math.nan
    idle = (Target(NO_LOAD, 0.0, _tare_at_shaft(bench), unknown, unknown),)
    steps = tuple(Target(f"step {one}", unknown, most * one / STEPS, unknown, unknown) for one in range(1, STEPS + 1))
    return (*idle, *steps) if bench.job.motor.type in INDUCTION else steps


def planned(bench: Bench, targets: tuple[Target, ...], fastest: tuple[Target, ...]) -> tuple[PlannedPoint, ...]:
    """The points as the plan tells them; a limit that holds the ``fastest`` the motor can turn holds every load."""
    held_by_speed = {one.name for one in demand_of(bench, fastest) if one.worst is not None and not one.passed.any()}
    return tuple(_planned(bench, target, held_by_speed) for target in targets)


def fastest_of(bench: Bench, expected: Expectation) -> tuple[Target, ...]:
    """The fastest an induction motor turns by itself: synchronous speed, that of two poles where they are not known."""
    job = bench.job
    if job.motor.type not in INDUCTION:
        return ()
    name, speed = "synchronous speed", expected.synchronous_speed
    frequency = job.conditions.supply_frequency or job.nameplate.frequency
    if speed is None and frequency is not None and job.nameplate.gear is None:
        name, speed = "two poles, the fastest it can be", float(synchronous_speed(frequency, 2))
    return () if speed is None else (Target(name, math.nan, math.nan, speed, math.nan),)


def demand_of(bench: Bench, targets: tuple[Target, ...]) -> tuple[AskedOf, ...]:
    """Every limit of the rig against all targets."""
    torque = np.array([target.torque for target in targets])
    return bench.asked(torque, np.array([target.speed for target in targets]))


def _planned(bench: Bench, target: Target, held_by_speed: set[str]) -> PlannedPoint:
    asked = demand_of(bench, (target,))
    by_name = {one.name: one for one in asked}
    power = _finite(float(by_name["absorber power"].asked[0]))
    reading = _finite(scale_reading(bench.job, bench.rig, target.torque))
    seconds, words = time_borne(bench.rig, power)
    unknown = tuple(one.name for one in asked if _not_compared(one) and one.name not in held_by_speed)
    point = PlannedPoint(
        name=target.name,
        load=measured(target.load, "1"),
        torque=measured(target.torque, "N*m"),
        scale=measured(reading, scale_line(bench.job, bench.rig).si_unit),
        speed=measured(target.speed, "rad/s"),
        current=measured(target.current, "A"),
        shaft_power=measured(float(shaft_power(target.torque, target.speed)), "W"),
        absorber_torque=measured(float(by_name["torque"].asked[0]), "N*m"),
        absorber_power=measured(power, "W"),
        holds=_holds(asked, unknown),
        refused=tuple(_refusal(one, bench) for one in asked if one.passed[0]),
        not_compared=unknown,
        may_be_held=measured(seconds, "s"),
        held=words,
    )
    return _below_tare(point, bench, target)


def _below_tare(point: PlannedPoint, bench: Bench, target: Target) -> PlannedPoint:
    """A load smaller than the absorber's own friction cannot be set: the scale would have to show less than nothing."""
    at_least = _tare_at_shaft(bench)
    if not target.torque < at_least * (1.0 - 1e-9):
        return point
    why = f"the tare torque alone loads the motor with {figure(at_least, 'N*m', 3)}"
    return replace(point, scale=None, holds=False, refused=(*point.refused, why))


def _holds(asked: tuple[AskedOf, ...], unknown: tuple[str, ...]) -> bool | None:
    """Whether the rig holds one point; unknown where a stated limit, or every limit of torque, could not be compared."""
    if any(bool(one.passed[0]) for one in asked):
        return False
    compared = any(one.name in OF_TORQUE and one.worst is not None for one in asked)
    return True if compared and not unknown else None


def _not_compared(one: AskedOf) -> bool:
    """Whether a stated limit says nothing of one point; the brake's current shows at the brake alone."""
    return one.stated and one.worst is None and one.name != "brake current"


def _refusal(one: AskedOf, bench: Bench) -> str:
    asked, limit = float(one.asked[0]), float(one.limit[0])
    rope = one.name == "scale" and bench.rig.absorber.kind == ROPE
    least = " (the tight side shows at least that)" if rope else ""
    return f"{one.name} {figure(asked, one.unit)}{least}, limit {figure(limit, one.unit)}"


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
