"""What the rig holds against what the planned loads ask, limit by limit, and up to which load it holds the motor."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.planning.expectation import Expectation
from certgen.planning.holding import Bench
from certgen.planning.loads import Load
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
)
from certgen.planning.points import Target, demand_of, targets_of
from certgen.planning.told import named
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
