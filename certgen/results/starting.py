"""Starting and overload: the figures the test gives, and in sentences how they were scaled and what was tested."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.reduction.load_curve import NEAR_STANDSTILL
from certgen.reduction.model import HeldRotor, LockedRotor, Reduction, TorqueSpeed

_RPM = 60.0 / (2.0 * math.pi)
#: Below this part of rated voltage the page says that saturation makes the true figures higher. [1] Common practice, no
#: source.
_FAR_BELOW = 0.8
#: Voltages this near rated voltage need no sentence beside breakdown and pull-up torque. [1]
_NEAR_RATED = 0.01

CURRENT = "locked_rotor_current"
TITLES = {
    "locked_rotor_torque": "locked-rotor torque",
    "pull_up_torque": "pull-up torque",
    "breakdown_torque": "breakdown torque",
    CURRENT: "locked-rotor current",
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


def proved(job: Job, reduction: Reduction) -> tuple[str, ...]:
    """The sentences of a test."""
    sentences: list[str] = []
    if reduction.locked_rotor is not None:
        sentences += _locked_rotor(job, reduction.locked_rotor)
    if reduction.extremes is not None:
        sentences += _torque_speed(job, reduction, reduction.extremes)
    return tuple(sentences)


def _locked_rotor(job: Job, held: LockedRotor) -> Iterator[str]:
    current, torque = held.current, held.torque
    if current is not None and torque is not None and _same_supply(current, torque):
        yield _scaled(job, current, "figures", "current with {0}, torque with its square")
        return
    if current is not None:
        yield _scaled(job, current, "current", "with {0}")
    if torque is not None:
        yield _scaled(job, torque, "torque", "with the square of {0}")


def _same_supply(one: HeldRotor, other: HeldRotor) -> bool:
    return one.voltage == other.voltage and one.other_frequency == other.other_frequency


def _scaled(job: Job, held: HeldRotor, what: str, law: str) -> str:
    plate = job.nameplate
    if not math.isfinite(held.voltage):
        return f"Locked-rotor {what} not scaled: the voltage was not read."
    read_at = f"{held.voltage:.4g} V"
    if plate.voltage is None:
        return f"Locked-rotor {what} as read at {read_at}, not scaled: the plate gives no voltage."
    if job.motor.type not in INDUCTION:
        return f"Locked-rotor {what} as read at {read_at}, not scaled."
    rated, basis = f"{plate.voltage:.4g} V", "voltage"
    if held.other_frequency and plate.frequency is not None:
        read_at, rated = f"{read_at}, {held.frequency:.4g} Hz", f"{rated}, {plate.frequency:.4g} Hz"
        basis = "volts per hertz"
    if read_at == rated:
        return f"Locked-rotor {what} as read at {read_at}, the rated supply."
    far = ""
    if held.voltage < _FAR_BELOW * plate.voltage:
        far = " Saturation makes the true figures at rated voltage higher."
    return f"Locked-rotor {what} scaled from {read_at} to {rated}: {law.format(basis)}.{far}"


def _torque_speed(job: Job, reduction: Reduction, extremes: TorqueSpeed) -> Iterator[str]:
    if extremes.breakdown is not None:
        yield from _below_breakdown(extremes, extremes.breakdown.speed)
        voltage = _voltage_at(reduction, extremes.breakdown.speed)
        rated = job.nameplate.voltage
        if rated is not None and abs(voltage / rated - 1.0) > _NEAR_RATED:
            yield f"Breakdown and pull-up torque are as tested at {voltage:.4g} V, not scaled to {rated:.4g} V."
    elif _rises_to_standstill(reduction, extremes):
        yield "Torque rises down to standstill: there is no breakdown torque above the locked-rotor torque."
    else:
        greatest = extremes.greatest
        yield (
            f"Breakdown torque is above {greatest.torque:.3g} N·m, the greatest tested "
            f"({greatest.speed * _RPM:.0f} rpm)."
        )


def _below_breakdown(extremes: TorqueSpeed, breakdown_speed: float) -> Iterator[str]:
    slowest = "standstill" if extremes.slowest == 0.0 else f"{extremes.slowest * _RPM:.0f} rpm"
    apart = f"{extremes.widest_gap * _RPM:.0f} rpm"
    if extremes.pull_up is not None:
        yield (
            f"Pull-up torque is the least of {extremes.points_below + 1} speeds from {slowest} to breakdown, "
            f"at most {apart} apart."
        )
    elif extremes.slowest > NEAR_STANDSTILL * breakdown_speed:
        yield f"Tested down to {slowest}: pull-up torque is not known."
    else:
        yield f"Tested speeds below breakdown lie up to {apart} apart: pull-up torque is not known."


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
