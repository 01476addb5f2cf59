"""What each test result allows an unmarked motor to be rated for: heat, torque in reserve, slip, the range tested."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from certgen.assessment.results import Characteristic, Thermal
from certgen.job.model import INDUCTION
from certgen.reduction.allowed_load import load_where, power_within
from certgen.reduction.model import LoadPoints
from certgen.standards.ratings import UNIT, Reserve, Step, greatest_usual_slip, torque_reserve
from certgen.standards.temperature_limits import RiseLimit

#: Furthest the rise of a heat run is scaled to another load, by the losses. Common practice, no source.
MOST_SCALING = 1.25


@dataclass(frozen=True, eq=False)
class LoadLimit:
    """One limit: its name, how it was found, the power it allows [W], and which steps of the ladder."""

    name: str
    basis: str
    power: float
    allows: Callable[[Step], bool]


def up_to(name: str, basis: str, power: float) -> LoadLimit:
    """A limit that allows every step up to a power [W]."""
    return LoadLimit(name, basis, power, lambda step: step.power <= power * (1.0 + 1e-9))


def said(power: float, unit: str) -> str:
    """A power [W] in the unit of a ladder, three digits."""
    return f"{power / UNIT[unit]:.3g} {unit}"


def heat_limit(
    thermal: Thermal, load: LoadPoints, curve: LoadPoints, allowed: RiseLimit, unit: str
) -> LoadLimit | None:
    """What the heat run allows: its final rise brought to the limit in proportion to the losses.

    ``load`` is the one point the run was made at. ``None`` where rise or losses are not known.
    """
    rise, losses = final_winding_rise(thermal), float(load.losses[0])
    if rise is None or not np.isfinite(losses) or not np.isfinite(curve.losses).all():
        return None
    scale = min(allowed.rise / rise, MOST_SCALING)
    power = power_within(curve, curve.losses, losses * scale)
    held = "in proportion to the losses"
    if scale == MOST_SCALING:
        held = f"taken no further than {MOST_SCALING:g} times the losses of the run"
    ran = said(float(load.shaft_power[0]), unit)
    basis = (
        f"Heat: at {ran} the winding settles at a rise of {rise:.0f} K, {allowed.rise:.0f} K allowed "
        f"({allowed.source}); {held}, {'no load' if power is None else f'up to {said(power, unit)}'}."
    )
    return up_to("the heat run", basis, -1.0 if power is None else power)


def final_winding_rise(thermal: Thermal) -> float | None:
    """Rise the winding tends to [K]: by resistance at switching off, carried on as the heat run goes on.

    A run that was steady but shows no exponential, as the motor was warm from its beginning, has nothing to carry on.
    """
    if thermal.winding_rise is None:
        return None
    if thermal.final_rise is None:
        return thermal.winding_rise.value if thermal.steady else None
    left = 0.0 if thermal.remaining_rise is None else thermal.remaining_rise.value
    reached = thermal.final_rise.value - left
    return thermal.winding_rise.value * (thermal.final_rise.value / reached if reached > 0.0 else 1.0)


def torque_limit(
    motor_type: str, characteristic: Characteristic, curve: LoadPoints, ladder: tuple[Step, ...]
) -> LoadLimit | None:
    """What the torque in reserve allows; ``None`` where no rule is known for the kind of motor.

    The reserve is that of breakdown torque of an induction motor, of the greatest torque tested of any other.
    """
    greatest, name = float(curve.torque.max()), "the greatest torque tested"
    if motor_type in INDUCTION:
        if characteristic.breakdown_torque is None:
            return None
        greatest, name = characteristic.breakdown_torque.value, "the breakdown torque"

    def reserve_at(step: Step) -> Reserve | None:
        return torque_reserve(motor_type, step, characteristic.poles)

    def allows(step: Step) -> bool:
        reserve, point = reserve_at(step), load_where(curve, "shaft_power", step.power)
        return reserve is not None and point is not None and float(point.torque[0]) * reserve.ratio <= greatest

    fitting = [index for index, step in enumerate(ladder) if allows(step)]
    following = ladder[min(max(fitting, default=-1) + 1, len(ladder) - 1)]
    reserve = reserve_at(following)
    if reserve is None:
        return None
    power = power_within(curve, curve.torque * reserve.ratio, greatest)
    found = f"up to the step of {ladder[fitting[-1]].label}" if fitting else "no step of the ladder"
    asked = f"{reserve.ratio:g} times rated torque or more ({reserve.source})"
    basis = f"Torque: {name}, {greatest:.3g} N·m, is to be {asked}; {found}."
    return LoadLimit(name, basis, -1.0 if power is None else power, allows)


def slip_limit(
    curve: LoadPoints, characteristic: Characteristic, declared: float | None, unit: str
) -> LoadLimit | None:
    """What the slip allows: that of the speed on the plate, else the greatest usual one; ``None`` if none is known."""
    if characteristic.poles is None or not np.isfinite(curve.slip).all():
        return None
    frequency = float(np.nanmean(curve.frequency))
    usual = greatest_usual_slip(characteristic.poles, frequency)
    if declared is not None:
        usual = (declared, "speed on the plate")
    if usual is None:
        return None
    power = power_within(curve, curve.slip, usual[0])
    found = "no load" if power is None else f"up to {said(power, unit)}"
    basis = f"Slip: at most {usual[0]:.1%} ({usual[1]}); {found}.".replace("%", " %")
    return up_to("the slip", basis, -1.0 if power is None else power)


def tested_limit(curve: LoadPoints, unit: str) -> LoadLimit:
    """Nothing is rated beyond what was tested."""
    greatest = float(np.nanmax(curve.shaft_power))
    return up_to("the range tested", f"Tested up to {said(greatest, unit)}.", greatest)


def greatest_step(ladder: tuple[Step, ...], limits: tuple[LoadLimit, ...]) -> tuple[Step | None, str]:
    """The greatest step every limit allows, and the name of the least of the limits that refuse the next one.

    Adding a limit never raises the step: the steps all limits allow become fewer or stay.
    """
    allowed = [index for index, step in enumerate(ladder) if all(limit.allows(step) for limit in limits)]
    best = max(allowed, default=-1)
    refusing = [] if best + 1 >= len(ladder) else [one for one in limits if not one.allows(ladder[best + 1])]
    held = min(refusing, key=lambda one: one.power).name if refusing else ""
    return (ladder[best] if best >= 0 else None), held
