"""Starting and overload: the figures the test gives, and in sentences how they were scaled and what was tested."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.messages.catalogue import Message
from certgen.reduction.load_curve import NEAR_STANDSTILL
from certgen.reduction.model import HeldRotor, LockedRotor, Reduction, TorqueSpeed

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

    Those with the rotor locked are at rated voltage; ``greatest_torque`` is the greatest with the shaft turning.
    """

    locked_rotor_torque: float = math.nan
    locked_rotor_current: float = math.nan
    pull_up_torque: float = math.nan
    breakdown_torque: float = math.nan
    greatest_torque: float = math.nan


def starting_figures(reduction: Reduction) -> StartingFigures:
    """The figures of one test."""
    held, extremes = reduction.locked_rotor, reduction.extremes
    torque, current = (None, None) if held is None else (held.torque, held.current)
    pull_up, breakdown = (None, None) if extremes is None else (extremes.pull_up, extremes.breakdown)
    return StartingFigures(
        locked_rotor_torque=math.nan if torque is None else torque.at_rated,
        locked_rotor_current=math.nan if current is None else current.at_rated,
        pull_up_torque=math.nan if pull_up is None else pull_up.torque,
        breakdown_torque=math.nan if breakdown is None else breakdown.torque,
        greatest_torque=math.nan if extremes is None else extremes.greatest.torque,
    )


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
        yield from _below_breakdown(extremes, extremes.breakdown.speed)
        voltage = _voltage_at(reduction, extremes.breakdown.speed)
        rated = job.nameplate.voltage
        if rated is not None and abs(voltage / rated - 1.0) > _NEAR_RATED:
            yield Message("starting.not_scaled_to_rated", voltage=voltage, rated=rated)
    elif _rises_to_standstill(reduction, extremes):
        yield Message("starting.rises_to_standstill")
    else:
        greatest = extremes.greatest
        yield Message("starting.breakdown_above", torque=greatest.torque, speed=greatest.speed)


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


def _voltage_at(reduction: Reduction, speed: float) -> float:
    points = reduction.points
    return float(points.voltage[int(np.nanargmin(np.abs(points.speed - speed)))])
