"""The planned load points: each with its targets, and whether the rig holds it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from certgen.job.model import INDUCTION, THREE_PHASE, Job
from certgen.job.rig import ROPE
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.induction import synchronous_speed
from certgen.physics.mechanics import motor_torque_through_drive, shaft_power
from certgen.planning.expectation import Expectation
from certgen.planning.holding import OF_TORQUE, Bench, time_borne
from certgen.planning.plan import PlannedPoint, own
from certgen.planning.scale_reading import scale_line, scale_reading
from certgen.quantity import Quantity, measured
from certgen.reduction.rig_demand import AskedOf
from certgen.standards.procedures import LoadsOfTest

# Which loads are planned, and in which order.


#: Equal steps in which a motor without a usable plate is loaded, up to what the rig holds. Common practice, no source.
STEPS = 8
#: Part of what the rig holds that the last of them aims at: below it lie the signs to stop at. [1] Common practice, no
#: source.
LAST_STEP = 0.9
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
    power_at_most: float = math.nan  # at the tested shaft, where the speed is not known [W]


def targets_of(bench: Bench, expected: Expectation, loads: tuple[Load, ...]) -> tuple[Target, ...]:
    """Expected torque, speed and current of each load.

    Without load a coupled motor still turns the absorber against its tare torque.
    """
    targets = []
    for load in loads:
        torque = expected.torque_at_load(load.part) if load.part > 0.0 else _tare_at_shaft(bench)
        speed = expected.speed_at_torque(torque)
        current = expected.current_at_load(load.part, torque)
        target = Target(load.name, load.part, _known(torque), _known(speed), _known(current))
        targets.append(target if speed is not None else _bounded(target, bench, expected))
    return tuple(targets)


def step_targets(bench: Bench, expected: Expectation, most: float) -> tuple[Target, ...]:
    """Equal steps up to a part of the most torque the rig holds [N*m], for a motor whose rating is not known.

    The last one stays below what the stop list stops at. An induction motor begins without load.
    """
    unknown = math.nan
    idle = (Target(NO_LOAD, 0.0, _tare_at_shaft(bench), unknown, unknown),)
    steps = tuple(
        Target(Message("plan.load.step", number=step), unknown, LAST_STEP * most * step / STEPS, unknown, unknown)
        for step in range(1, STEPS + 1)
    )
    wanted = (*idle, *steps) if bench.job.motor.type in INDUCTION else steps
    return tuple(_bounded(target, bench, expected) for target in wanted)


# The most power a load of unknown speed can bring to the shaft: by speed, by the plate, or by the supply.


#: Greatest efficiency of a motor of these sizes: no class of IEC 60034-30-1 asks for more. [1] From memory.
GREATEST_EFFICIENCY = 0.97


def _bounded(target: Target, bench: Bench, expected: Expectation) -> Target:
    """A load of unknown speed with the least of the powers it cannot pass.

    An induction motor stays below synchronous speed. A motor slows as it is loaded, so that beyond rated torque it stays
    below rated speed. No motor gives more than it takes: volts times amperes of the plate up to rated load (a motor of
    unknown rating is not loaded past them), or what the supply can give, times the greatest efficiency.
    """
    plate, supply = bench.job.nameplate, bench.rig.limits.supply_power
    bounds = [target.torque * fastest.speed for fastest in fastest_of(bench, expected)]
    if expected.rated_speed is not None and target.load > 1.0:
        bounds.append(target.torque * expected.rated_speed)
    if plate.voltage and plate.current and not target.load > 1.0:
        phases = math.sqrt(3.0) if bench.job.motor.type == THREE_PHASE else 1.0
        bounds.append(phases * plate.voltage * plate.current * GREATEST_EFFICIENCY)
    if supply is not None:
        bounds.append(supply * GREATEST_EFFICIENCY)
    return replace(target, power_at_most=min(bounds, default=math.nan))


def power_bounds(bench: Bench, key: str, targets: tuple[Target, ...]) -> Array:
    """What loads of unknown speed cannot pass of a limit of power, shape (n,); ``nan`` for any other limit. [W]"""
    drive = bench.rig.drive
    by_key = {"limits.absorber_power": drive.efficiency if drive.kind == "belt" else 1.0, "limits.belt_power": 1.0}
    return np.array([target.power_at_most for target in targets]) * (by_key.get(key) or math.nan)


def planned(bench: Bench, targets: tuple[Target, ...], fastest: tuple[Target, ...]) -> tuple[PlannedPoint, ...]:
    """The points of the plan.

    A limit that holds the ``fastest`` the motor can turn holds every load; one that does not refuses every load whose
    speed is not known.
    """
    at_fastest = tuple(limit for limit in demand_of(bench, fastest) if limit.worst is not None)
    return tuple(_planned(bench, target, at_fastest) for target in targets)


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


def refused_at_plate_speed(bench: Bench) -> tuple[Target, ...]:
    """The plate's speed, where what turns there passes a limit of the rig: up to rated load the motor turns no slower.

    It refuses; it clears nothing, since a lighter load turns faster.
    """
    speed = bench.job.nameplate.speed
    if speed is None:
        return ()
    target = Target(Message("plan.load.plate_speed"), math.nan, math.nan, speed, math.nan)
    return (target,) if any(bool(limit.passed[0]) for limit in demand_of(bench, (target,))) else ()


def demand_of(bench: Bench, targets: tuple[Target, ...]) -> tuple[AskedOf, ...]:
    """Every limit of the rig against all targets."""
    torque = np.array([target.torque for target in targets])
    return bench.asked(torque, np.array([target.speed for target in targets]))


def _planned(bench: Bench, target: Target, at_fastest: tuple[AskedOf, ...]) -> PlannedPoint:
    asked = demand_of(bench, (target,))
    by_key = {limit.key: limit for limit in asked}
    power = _finite(float(by_key["limits.absorber_power"].asked[0]))
    bound = None if power is not None else _finite(float(power_bounds(bench, "limits.absorber_power", (target,))[0]))
    reading = _finite(scale_reading(bench.job, bench.rig, target.torque))
    seconds, held = time_borne(bench.rig, bound if power is None else power)
    by_speed = at_fastest if math.isnan(target.speed) else ()
    passed = tuple(limit for limit in (*asked, *by_speed) if limit.passed[0])
    compared = {limit.key for limit in at_fastest}
    unknown = tuple(
        limit.title
        for limit in asked
        if _not_compared(limit) and limit.key not in compared and not _within(bench, limit, target)
    )
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
        absorber_power_at_most=measured(bound, "W"),
        holds=False if passed else _holds(asked, unknown),
        refused=tuple(_refusal(limit, bench) for limit in passed),
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
    """Whether the rig holds a point that passes no limit; unknown where a stated limit, or every limit of torque, could
    not be compared."""
    compared = any(limit.key in OF_TORQUE and limit.worst is not None for limit in asked)
    return True if compared and not unknown else None


def _not_compared(limit: AskedOf) -> bool:
    """Whether a stated limit says nothing of one point; the brake's current shows at the brake alone."""
    return limit.stated and limit.worst is None and limit.key != "limits.brake_current"


def _within(bench: Bench, limit: AskedOf, target: Target) -> bool:
    """Whether a load whose power is not known cannot pass a limit of power."""
    return bool((power_bounds(bench, limit.key, (target,)) <= limit.limit)[0])


def _refusal(limit: AskedOf, bench: Bench) -> Message:
    asked, most = float(limit.asked[0]), float(limit.limit[0])
    if limit.key != "limits.scale":
        asks, holds = Quantity(asked, limit.unit), Quantity(most, limit.unit)
        return Message("plan.refused.by_limit", limit=limit.title, asked=asks, most=holds)
    unit = scale_line(bench.job, bench.rig).unit
    key = "plan.refused.by_tight_side" if bench.rig.absorber.kind == ROPE else "plan.refused.by_scale"
    return Message(key, limit=limit.title, asked=own(asked, unit), most=own(most, unit))


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
