"""Logs of a motor on a brake whose truth is known: when each load was held, at which torque and speed."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from builders import make_job, make_readings, make_rig
from scipy.signal import lfilter

from certgen.document.build import Dimensioned
from certgen.job.model import Conditions, ReadingsSource
from certgen.job.rig import RigLimits
from certgen.job.table import Steady, TableSource
from certgen.reduction.log.model import FAULTS
from certgen.reduction.log.reduce import reduced_log

SYNCHRONOUS = 1500.0 * math.pi / 30.0  # rad/s
SLIP = 0.005  # at 1 N*m
UP = (2.0, 4.0, 6.0, 8.0, 10.0)
DOWN = (10.0, 7.5, 5.0, 2.5, 0.2)


@dataclass(frozen=True)
class Plan:
    """How a test was run: loads [N*m] held for so long after each change [s], and what the instruments add."""

    loads: tuple[float, ...] = UP
    held: float = 15.0
    change: float = 3.0
    interval: float = 0.1
    torque_scatter: float = 0.02  # N*m
    speed_scatter: float = 0.08  # rad/s
    correlation: float = 0.0  # of one sample with the next
    torque_step: float = 0.0  # of the display
    speed_step: float = 0.0
    stands_at_the_ends: float = 0.0  # s at standstill before and after, with 2 s of running up and down


@dataclass
class Log:
    """A log and its truth: for each load when it was reached and left [s], and what it was [N*m]."""

    time: Any
    speed: Any
    torque: Any
    truth: list[tuple[float, float, float]]
    more: dict[str, Any] = field(default_factory=dict)

    def at(self, seconds: float) -> int:
        return int(np.searchsorted(self.time, seconds))

    def between(self, start: float, end: float) -> slice:
        return slice(self.at(start), self.at(end))


def scatter(rng: np.random.Generator, count: int, size: float, correlation: float) -> Any:
    """Stationary AR(1) scatter of a standard deviation."""
    if correlation == 0.0:
        return rng.normal(0.0, size, count)
    steps = rng.normal(0.0, size * math.sqrt(1.0 - correlation**2), count + 200)
    return lfilter([1.0], [1.0, -correlation], steps)[200:]


def run(seed: int, plan: Plan | None = None, **changes: Any) -> Log:
    """The log of one test, the same for the same seed."""
    plan = replace(plan or Plan(), **changes)
    rng = np.random.default_rng(seed)
    begin = plan.stands_at_the_ends + (2.0 if plan.stands_at_the_ends else 0.0)
    length = begin + len(plan.loads) * (plan.held + plan.change)
    time = np.arange(0.0, length + begin, plan.interval)
    knots, loads, truth = [0.0, begin], [plan.loads[0] if plan.change == 0 else 0.2] * 2, []
    for number, load in enumerate(plan.loads):
        start = begin + number * (plan.held + plan.change)
        knots += [start + plan.change + 1e-9, start + plan.change + plan.held]
        loads += [load, load]
        truth.append((start + plan.change, start + plan.change + plan.held, load))
    torque = np.interp(time, knots, loads)
    speed = SYNCHRONOUS * (1.0 - SLIP * torque)
    if plan.stands_at_the_ends:
        turning = np.clip((time - plan.stands_at_the_ends) / 2.0, 0.0, 1.0)
        turning = np.minimum(turning, np.clip((length + 2.0 - time) / 2.0, 0.0, 1.0))
        speed *= turning
        torque = np.where((time < begin) | (time > length), 0.05 * turning, torque)
    turns = speed > 0.0
    torque = torque + scatter(rng, time.size, plan.torque_scatter, plan.correlation)
    speed = np.where(turns, speed + scatter(rng, time.size, plan.speed_scatter, plan.correlation), 0.0)
    if plan.torque_step:
        torque = np.round(torque / plan.torque_step) * plan.torque_step
    if plan.speed_step:
        speed = np.round(speed / plan.speed_step) * plan.speed_step
    return Log(time, speed, torque, truth)


def logged_job(steady: Steady | None = None, **plate: Any) -> Any:
    """A job whose load test is a log."""
    source = TableSource("readings.load_test", (1, 1), (), steady=steady or Steady())
    job = make_job(conditions=Conditions(supply_frequency=50.0), **plate)
    return replace(job, readings=ReadingsSource(load_test=source))


def reduced(log: Log, steady: Steady | None = None, rig: Any = None, **plate: Any) -> Any:
    """The log as the program reduces it, torque from a sensor."""
    readings = make_readings(time=log.time, speed=log.speed, torque=log.torque, **log.more)
    return reduced_log(logged_job(steady, **plate), rig or make_rig(), readings)


def weighed(log: Log, span: float, steady: Steady | None = None) -> Any:
    """The same with the torque read on a scale under an arm, whose span [kg] the rig states."""
    rig = make_rig("arm", limits=RigLimits(scale=Dimensioned(span, "mass")))
    readings = make_readings(time=log.time, speed=log.speed, scale=log.torque, **log.more)
    return reduced_log(logged_job(steady), rig, readings)


def faults(found: Any) -> dict[str, int]:
    """How many samples each fault took, by its name."""
    counts: dict[str, int] = {}
    for one in found.left_out:
        if one.reason in FAULTS:
            counts[one.reason.name] = counts.get(one.reason.name, 0) + one.count
    return counts
