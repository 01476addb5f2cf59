"""Starting and overload: the figures the test gives, and in sentences how they were scaled and what was tested."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.messages.catalogue import Message
from certgen.physics.induction import locked_rotor_torque_at
from certgen.reduction.load_curve import NEAR_STANDSTILL
from certgen.reduction.model import HeldRotor, LockedRotor, Reduction, TorqueAtSpeed, TorqueSpeed

#: Below this part of rated voltage the page says that saturation makes the true figures higher. [1] Common practice, no
#: source.
_FAR_BELOW = 0.8
#: Voltages this near rated voltage need no sentence beside breakdown and pull-up torque. [1]
_NEAR_RATED = 0.01

CURRENT = "locked_rotor_current"
TITLES = {
    "locked_rotor_torque": Message("name.locked_rotor_torque"),
    "pull_up_torque": Message("name.pull_up_torque"),
    "breakdown_torque": Message("name.breakdown_torque"),
    CURRENT: Message("name.locked_rotor_current"),
}


@dataclass(frozen=True)
class StartingFigures:
    """Torques [N*m] and line current [A] of starting and overload, ``nan`` where not known.

    All are at rated voltage, torques by its square; ``greatest_torque`` is the greatest with the shaft turning. What was
    read at a voltage that is not known, or at another frequency, is not known at rated voltage.
    """

    locked_rotor_torque: float = math.nan
    locked_rotor_current: float = math.nan
    pull_up_torque: float = math.nan
    breakdown_torque: float = math.nan
    greatest_torque: float = math.nan


def starting_figures(job: Job, reduction: Reduction) -> StartingFigures:
    """The figures of one test."""
    held, extremes = reduction.locked_rotor, reduction.extremes
    torque, current = (None, None) if held is None else (held.torque, held.current)
    pull_up = None if extremes is None else extremes.pull_up
    breakdown = breakdown_of(reduction)
    return StartingFigures(
        locked_rotor_torque=math.nan if torque is None else torque.at_rated,
        locked_rotor_current=math.nan if current is None else current.at_rated,
        pull_up_torque=_at_rated(pull_up, job, reduction),
        breakdown_torque=_at_rated(breakdown, job, reduction),
        greatest_torque=_at_rated(None if extremes is None else extremes.greatest, job, reduction),
    )


def breakdown_of(reduction: Reduction) -> TorqueAtSpeed | None:
    """Breakdown torque as tested: by the curve through its points where they tell it, else the greatest one read."""
    extremes = reduction.extremes
    if extremes is None or extremes.breakdown is None or extremes.summit is None:
        return None if extremes is None else extremes.breakdown
    return TorqueAtSpeed(extremes.summit.torque, extremes.summit.speed)


def _at_rated(tested: TorqueAtSpeed | None, job: Job, reduction: Reduction) -> float:
    part = None if tested is None else voltage_part(tested.speed, job, reduction)
    if tested is None or not isinstance(part, float):
        return math.nan
    return float(locked_rotor_torque_at(tested.torque, 1.0 / part))


def voltage_part(speed: float, job: Job, reduction: Reduction) -> float | Message:
    """Voltage over rated voltage [1] where the shaft had a speed [rad/s], or why torques there are not comparable.

    Within 1 % of rated voltage it is 1. The supply of another frequency is not brought to rated voltage by any rule here.
    """
    plate, points = job.nameplate, reduction.points
    speeds = np.where(np.isfinite(points.voltage), points.speed, np.nan)
    if plate.voltage is None or not np.isfinite(speeds).any():
        return Message("starting.plate_without_voltage" if plate.voltage is None else "starting.supply_not_read")
    row = int(np.nanargmin(np.abs(speeds - speed)))
    frequency, part = float(points.frequency[row]), float(points.voltage[row]) / plate.voltage
    if plate.frequency is not None and abs(frequency / plate.frequency - 1.0) > _NEAR_RATED:
        return Message("starting.other_frequency", frequency=frequency)
    return 1.0 if abs(part - 1.0) <= _NEAR_RATED else part


def proved(job: Job, reduction: Reduction) -> tuple[Message, ...]:
    """The sentences of a test."""
    sentences: list[Message] = []
    if reduction.locked_rotor is not None:
        sentences += _locked_rotor(job, reduction.locked_rotor)
    if reduction.extremes is not None:
        sentences += _torque_speed(job, reduction, reduction.extremes)
    return tuple(sentences)


def _locked_rotor(job: Job, held: LockedRotor) -> Iterator[Message]:
    current, torque = held.current, held.torque
    if current is not None and torque is not None and _same_supply(current, torque):
        yield _scaled(job, current, Message("starting.figures"), "starting.law.figures")
        return
    if current is not None:
        yield _scaled(job, current, Message("name.current"), "starting.law.current")
    if torque is not None:
        yield _scaled(job, torque, Message("name.torque"), "starting.law.torque")


def _same_supply(one: HeldRotor, other: HeldRotor) -> bool:
    return one.voltage == other.voltage and one.other_frequency == other.other_frequency


def _scaled(job: Job, held: HeldRotor, figures: Message, law: str) -> Message:
    plate = job.nameplate
    if not math.isfinite(held.voltage):
        return Message("starting.not_scaled", figures=figures)
    supply = Message("starting.volts", voltage=held.voltage)
    if plate.voltage is None:
        return Message("starting.no_rated_voltage", figures=figures, supply=supply)
    if job.motor.type not in INDUCTION:
        return Message("starting.as_read", figures=figures, supply=supply)
    rated, of = Message("starting.volts", voltage=plate.voltage), Message("name.voltage")
    if held.other_frequency and plate.frequency is not None:
        supply = Message("starting.volts_and_hertz", voltage=held.voltage, frequency=held.frequency)
        rated = Message("starting.volts_and_hertz", voltage=plate.voltage, frequency=plate.frequency)
        of = Message("starting.of_volts_per_hertz")
    if str(supply) == str(rated):  # as far as they are printed
        return Message("starting.at_rated_supply", figures=figures, supply=supply)
    key = "starting.scaled_from_far" if held.voltage < _FAR_BELOW * plate.voltage else "starting.scaled"
    return Message(key, figures=figures, supply=supply, rated=rated, law=Message(law, of=of))


def _torque_speed(job: Job, reduction: Reduction, extremes: TorqueSpeed) -> Iterator[Message]:
    if extremes.breakdown is not None:
        yield from _by_fit(reduction, extremes.breakdown)
        yield from _below_breakdown(extremes, extremes.breakdown.speed)
        yield from _brought_to_rated(job, reduction, extremes.breakdown.speed)
    elif _rises_to_standstill(reduction, extremes):
        yield Message("starting.rises_to_standstill")
    else:
        greatest = extremes.greatest
        yield Message("starting.breakdown_above", torque=greatest.torque, speed=greatest.speed)


def _by_fit(reduction: Reduction, read: TorqueAtSpeed) -> Iterator[Message]:
    summit = None if reduction.extremes is None else reduction.extremes.summit
    if summit is None:
        yield Message("starting.breakdown_as_read")
    else:
        how = Message("starting.fit.circuit" if summit.by_circuit else "starting.fit.parabola")
        yield Message(
            "starting.breakdown_by_fit", how=how, count=int(summit.rows.size), torque=read.torque, speed=read.speed
        )


def _brought_to_rated(job: Job, reduction: Reduction, speed: float) -> Iterator[Message]:
    """At which voltage breakdown and pull-up torque hold; nothing where they were tested at rated voltage."""
    part, rated = voltage_part(speed, job, reduction), job.nameplate.voltage
    if isinstance(part, Message):
        yield Message("starting.not_compared", reason=part)
    elif part != 1.0 and rated is not None:
        key = "starting.torques_scaled_from_far" if part < _FAR_BELOW else "starting.torques_scaled"
        yield Message(key, voltage=part * rated, rated=rated)


def _below_breakdown(extremes: TorqueSpeed, breakdown_speed: float) -> Iterator[Message]:
    slowest, apart = Message("starting.slowest", speed=extremes.slowest), extremes.widest_gap
    if extremes.slowest == 0.0:
        slowest = Message("starting.standstill")
    if extremes.pull_up is not None:
        yield Message("starting.pull_up_of", count=extremes.points_below + 1, slowest=slowest, apart=apart)
    elif extremes.slowest > NEAR_STANDSTILL * breakdown_speed:
        yield Message("starting.pull_up_not_reached", slowest=slowest)
    else:
        yield Message("starting.pull_up_too_far_apart", apart=apart)


def _rises_to_standstill(reduction: Reduction, extremes: TorqueSpeed) -> bool:
    """Whether the greatest torque is at standstill and a point near enough leaves no room for a summit between."""
    points = reduction.points
    usable = np.isfinite(points.torque) & ~points.impossible
    at_rest, turning = usable & (points.speed == 0.0), usable & (points.speed > 0.0)
    if not at_rest.any() or not turning.any():
        return False
    greater = float(points.torque[at_rest].max()) >= extremes.greatest.torque
    near = float(points.speed[turning].min()) <= NEAR_STANDSTILL * float(points.speed[turning].max())
    return greater and near
