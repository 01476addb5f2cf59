"""What the rig holds against what the planned loads ask, limit by limit, and up to which load it holds the motor."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import chain

import numpy as np

from certgen.job.rig import TORQUE_SENSOR, Meter
from certgen.messages.catalogue import Message
from certgen.planning.expectation import Expectation
from certgen.planning.holding import OF_TORQUE, Bench
from certgen.planning.plan import (
    ALL_HELD,
    ALL_REFUSED,
    EXCEEDED,
    HOLDS,
    NOT_KNOWN,
    NOT_STATED,
    SOME_REFUSED,
    UNLOADED_REFUSED,
    PlannedPoint,
    RigCheck,
    Starting,
    loads_named,
    own,
)
from certgen.planning.points import Load, Target, demand_of, power_bounds, targets_of
from certgen.planning.scale_reading import scale_line
from certgen.quantity import Quantity, measured
from certgen.reduction.rig_demand import AskedOf


@dataclass(frozen=True)
class Reach:
    """Up to which part of rated load the rig holds the motor, and what ends it; ``None`` where nothing does."""

    load: float | None
    by: Message | None


def rig_checks(bench: Bench, targets: tuple[Target, ...], fastest: tuple[Target, ...]) -> tuple[RigCheck, ...]:
    """Every limit against the load that asks most of it; one whose radius, mass or rope the rig lacks is left out.

    The fastest the motor turns is held against the limits of speed too.
    """
    looked_at = (*targets, *fastest)
    checks = (
        _check(_with_bounds(demand, bench, looked_at), demand, looked_at) for demand in demand_of(bench, looked_at)
    )
    return tuple(checks)


def _with_bounds(demand: AskedOf, bench: Bench, targets: tuple[Target, ...]) -> AskedOf:
    """What loads ask, or what they cannot pass where that is not known."""
    bounds = power_bounds(bench, demand.key, targets)
    return replace(demand, asked=np.where(np.isnan(demand.asked), bounds, demand.asked))


def _check(demand: AskedOf, known: AskedOf, targets: tuple[Target, ...]) -> RigCheck:
    """``demand`` with bounds, ``known`` without."""
    worst = demand.worst if demand.stated else _greatest(demand)
    key, name, unit = demand.key, demand.title, demand.unit
    at = None if worst is None else targets[worst].name
    asked = None if worst is None else measured(float(demand.asked[worst]), unit)
    limit = None if worst is None else measured(float(demand.limit[worst]), unit)
    at_most = worst is not None and math.isnan(known.asked[worst])
    if not demand.stated:
        return RigCheck(key, name, NOT_STATED, asked, None, at, Message("plan.check.states_no", key=key), at_most)
    if worst is None:
        stated = measured(float(demand.limit[0]), unit) if demand.limit.size else None
        return RigCheck(key, name, NOT_KNOWN, None, stated, at, _why_unknown(demand))
    held = demand.asked <= demand.limit
    gap = _not_compared(replace(demand, asked=np.where(held, demand.asked, known.asked)), targets)
    if bool(known.passed.any()):
        return RigCheck(key, name, EXCEEDED, asked, limit, at, gap, at_most)
    return RigCheck(key, name, HOLDS if gap is None else NOT_KNOWN, asked, limit, at, gap, at_most)


def _greatest(demand: AskedOf) -> int | None:
    return None if np.isnan(demand.asked).all() else int(np.nanargmax(demand.asked))


def _why_unknown(demand: AskedOf) -> Message:
    if demand.key == "limits.brake_current":
        return Message("plan.check.at_brake_alone")
    if demand.key == "brake_envelope" and np.isfinite(demand.asked).any():
        return Message("plan.check.beyond_envelope")
    return Message("plan.check.load_not_known")


def _not_compared(demand: AskedOf, targets: tuple[Target, ...]) -> Message | None:
    """Loads whose demand, or whose limit, is not known; a limit of speed alone needs the fastest only."""
    asked, limit = demand.asked, demand.limit
    if any(math.isnan(target.torque) and math.isfinite(ask) for target, ask in zip(targets, asked, strict=True)):
        return None
    of_loads = [index for index, target in enumerate(targets) if math.isfinite(target.torque)]
    names = [targets[index].name for index in of_loads if not math.isfinite(asked[index] / (limit[index] or 1.0))]
    return Message("plan.check.not_compared", loads=loads_named(names, len(of_loads))) if names else None


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
        return Reach(None, None)
    low, high = max(held), min(load for load in refused if load > max(held))
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (low, middle) if _passed_at(bench, expected, middle) else (middle, high)
    return Reach(low, Message("plan.limits", names=_passed_at(bench, expected, high)))


def _passed_at(bench: Bench, expected: Expectation, load: float) -> tuple[Message, ...]:
    targets = targets_of(bench, expected, (Load(Message("plan.load.part", part=load), load),))
    return tuple(limit.title for limit in demand_of(bench, targets) if bool(limit.passed[0]))


def outcome_of(points: tuple[PlannedPoint, ...], checks: tuple[RigCheck, ...], rated_torque: float | None) -> Message:
    """Whether the motor can be tested on the rig, what is not known first.

    A motor that passes a limit before it is loaded is not run at all: without load, or at the fastest it turns.
    """
    loaded = [point for point in points if _loaded(point)]
    by_holds = [point.holds for point in loaded]
    exceeded = any(check.outcome == EXCEEDED for check in checks)
    if (loaded and all(holds is False for holds in by_holds)) or (exceeded and not loaded):
        return ALL_REFUSED
    if any(point.holds is False for point in points if not _loaded(point)):
        return UNLOADED_REFUSED
    if False in by_holds:
        known = SOME_REFUSED
    elif loaded and None not in by_holds:
        known = ALL_HELD
    else:
        known = Message("plan.rig.not_all_compared", limits=_open_limits(points, checks))
    return known if rated_torque is not None else Message("plan.rig.rating_not_known", known=known)


def _loaded(point: PlannedPoint) -> bool:
    return point.load is None or point.load.value > 0.0


def _open_limits(points: tuple[PlannedPoint, ...], checks: tuple[RigCheck, ...]) -> tuple[Message | str, ...]:
    """The limits that could not be held against every load; that of torque where none is stated."""
    names = dict.fromkeys(limit for point in points for limit in point.not_compared)
    if not any(check.key in OF_TORQUE and check.outcome == HOLDS for check in checks):
        names = {Message("limit.torque"): None, **names}
    return tuple(names)


# What makes the rig's readings doubtful before one is taken: scale, calibration, and the ranges of the meters.


#: Part of its span below which a scale is used poorly. Common practice, no source.
LEAST_USE = 0.1
#: Part of the torque above which a tare torque is too large to be added from a table. Common practice, no source.
_LARGE_TARE = 0.05
_DAY = 86400.0


def rig_notes(bench: Bench, points: tuple[PlannedPoint, ...], starting: Starting | None) -> tuple[Message, ...]:
    """One message for each thing that would make a reading doubtful."""
    return tuple(
        chain(_use(bench, points), _calibration(bench, points), _tare(bench, points), _meters(bench, points, starting))
    )


def _use(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[Message]:
    span, point = bench.rig.limits.scale, _rated(points)
    if span is None or point is None or point.scale is None or bench.rig.absorber.kind == TORQUE_SENSOR:
        return
    if point.scale.value < LEAST_USE * span.value:
        unit = scale_line(bench.job, bench.rig).unit
        shown, whole = own(point.scale.value, unit), own(span.value, unit)
        yield Message("plan.note.scale_little_used", shown=shown, span=whole, load=point.name)


def _calibration(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[Message]:
    scale = bench.rig.scale
    if scale is None or bench.rig.absorber.kind == TORQUE_SENSOR:
        return
    calibration, unit = scale.calibration, scale_line(bench.job, bench.rig).unit
    if calibration is None:
        yield Message("plan.note.no_calibration")
        return
    most = max(indicated.value for indicated in calibration.indicated)
    beyond = [point.name for point in points if point.scale is not None and point.scale.value > most * (1.0 + 1e-9)]
    if beyond:
        yield Message("plan.note.beyond_calibration", most=own(most, unit), loads=tuple(beyond))
    if calibration.on is not None and calibration.valid is not None:
        due = calibration.on + timedelta(days=min(int(calibration.valid / _DAY), (date.max - calibration.on).days))
        yield Message("plan.note.calibration_due", day=due)


def _tare(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[Message]:
    tare, point = bench.rig.tare_torque, _rated(points)
    if tare is None or point is None or point.absorber_torque is None:
        return
    part = tare.value / point.absorber_torque.value
    if part > _LARGE_TARE:
        yield Message("plan.note.large_tare", part=part, load=point.name)


def _meters(bench: Bench, points: tuple[PlannedPoint, ...], starting: Starting | None) -> Iterator[Message]:
    meters, plate = bench.rig.meters, bench.job.nameplate
    if meters is None:
        return
    currents = [point.current.value for point in points if point.current is not None]
    yield from _range("current", meters.current, max(currents, default=None), "A")
    yield from _range("voltage", meters.voltage, plate.voltage, "V")
    rated = plate.power / plate.efficiency if plate.power and plate.efficiency else None
    yield from _range("input_power", meters.input_power, rated, "W")
    if bench.rig.absorber.kind == TORQUE_SENSOR:
        torques = [point.absorber_torque.value for point in points if point.absorber_torque is not None]
        yield from _range("torque", meters.torque, max(torques, default=None), "N*m")
    inrush = None if starting is None or starting.least_current is None else starting.least_current.value
    whole = None if meters.current is None else meters.current.full_scale
    if inrush is not None and whole is not None and inrush > whole:
        yield Message("plan.note.bridge_ammeter", takes=inrush, reads=whole)


def _range(quantity: str, meter: Meter | None, expected: float | None, unit: str) -> Iterator[Message]:
    whole = None if meter is None else meter.full_scale
    if whole is not None and expected is not None and expected > whole:
        name = Message(f"plan.meter.{quantity}")
        yield Message(
            "plan.note.range", meter=name, full_scale=Quantity(whole, unit), expected=Quantity(expected, unit)
        )


def _rated(points: tuple[PlannedPoint, ...]) -> PlannedPoint | None:
    return next((point for point in points if point.load is not None and abs(point.load.value - 1.0) < 1e-9), None)
