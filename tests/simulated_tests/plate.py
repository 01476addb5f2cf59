"""Plates whose declared values set a motor's true margins, and what is then true at the rating.

The limits are those a plate is held to: IEC 60034-1 Table 20 (slip 20 %, 30 % below 1 kW; efficiency 15 % of the losses'
share; power factor a sixth of what is missing to 1, from 0.02 to 0.07; speed of direct-current motors by kW per 1000 rpm),
and a tenth on current, which is common practice without a source. The speed rows are from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from simulated_tests.commutator import SERIES, UNIVERSAL
from simulated_tests.motor import RPM, Motor, Running, greatest, held

#: Temperature limits of the classes [K]: IEC 60034-1, Table 8, below and from 600 W (from memory).
RISE = {"A": (65.0, 60.0), "E": (75.0, 75.0), "B": (85.0, 80.0), "F": (110.0, 105.0), "H": (130.0, 125.0)}
#: The sides on which being off harms nobody.
HARMLESS = {"slip_at_rated_power": "low", "speed_at_rated_power": "high", "current_at_rated_power": "low"}
_AT_POWER = ("current", "slip", "speed", "efficiency", "power_factor")

#: Most power over volt-amperes that a maker has ever reason to punch: efficiency times power factor, and a little more.
#: Common practice, no source.
CARRIED = {"three-phase induction": 0.88, "single-phase induction": 0.84, "universal": 0.75, "dc": 0.94}

Limits = tuple[float | None, float | None]


@dataclass(frozen=True)
class Plate:
    """What is punched on it, in SI; ``None`` where it is worn away or never stood there."""

    power: float | None
    voltage: float
    frequency: float | None
    current: float | None = None
    speed: float | None = None
    poles: int | None = None
    power_factor: float | None = None
    efficiency: float | None = None
    service_factor: float | None = None
    service_factor_current: float | None = None
    insulation_class: str | None = None
    in_horsepower: bool = False


@dataclass(frozen=True)
class Truth:
    """What the motor truly does where the plate says, at the plate's supply and at working temperature.

    ``values`` are in SI by the name of the finding that judges each; ``limits`` what the plate holds it to; ``reserve`` is
    greatest shaft power over the plate's, less 1.
    """

    values: Mapping[str, float]
    limits: Mapping[str, Limits]
    reserve: float | None = None

    def margin(self, name: str, limits: Limits | None = None) -> float | None:
        """How far a true value lies inside its limits, in its unit; negative outside; ``None`` where nobody knows."""
        low, high = limits or self.limits.get(name, (None, None))
        value = self.values.get(name)
        if value is None or (low is None and high is None):
            return None
        return min(value - low if low is not None else np.inf, high - value if high is not None else np.inf)

    def better(self, name: str, limits: Limits | None = None) -> bool:
        """Whether a true value is outside on the side that harms nobody."""
        low, high = limits or self.limits.get(name, (None, None))
        value, side = self.values.get(name), HARMLESS.get(name)
        if value is None or side is None:
            return False
        return (low is not None and value < low) if side == "low" else (high is not None and value > high)


@dataclass(frozen=True)
class Margins:
    """By how much of itself each true value lies inside its limit: 'current', 'slip', 'speed', 'efficiency', ..."""

    of: Mapping[str, float] = field(default_factory=dict)
    short: bool = False  # the plate promises more power than the motor has


def draw_margins(draw: np.random.Generator, motor: Motor, expected: float) -> Margins:
    """Half of the motors near one limit, a third well inside all, the others anywhere.

    Parameters
    ----------
    expected : float
        Relative expanded uncertainty that such a bench may reach; margins near a limit are drawn in units of it and in
        per cent, half each.
    """
    comfortable = {
        "current": draw.uniform(0.05, 0.14), "slip": draw.uniform(0.07, 0.3), "speed": draw.uniform(0.03, 0.09),
        "efficiency": draw.uniform(0.015, 0.05), "power_factor": draw.uniform(0.03, 0.06), "rise": draw.uniform(0.1, 0.45),
        "service_factor_current": draw.uniform(0.04, 0.13),
    }  # fmt: skip
    way = draw.random()
    if way < 0.35:
        return Margins(comfortable)
    if way > 0.985:
        return Margins(comfortable, short=True)
    chosen = list(comfortable) if way > 0.85 else [str(draw.choice(_judged(motor)))]
    for name in chosen:
        units = draw.uniform(-3.5, 3.5) * expected * (2.0 if name in ("slip", "rise") else 1.0)
        comfortable[name] = units if draw.random() < 0.6 else draw.uniform(-0.15, 0.10)
    return Margins(comfortable)


def _judged(motor: Motor) -> list[str]:
    speed = "slip" if "induction" in motor.kind else "speed"
    return ["current", "current", speed, speed, "efficiency", "rise"] + ([] if motor.kind == "dc" else ["power_factor"])


def speed_tolerance(motor: Motor, power: float, speed: float) -> float:
    """Part by which the speed of a commutator motor may be off: Table 20 by kW per 1000 rpm, from memory."""
    row = int(np.searchsorted([0.67, 2.5, 10.0], power / 1000.0 / (speed / RPM / 1000.0), side="right"))
    return ((0.20, 0.15, 0.10, 0.075) if motor.name in (SERIES, UNIVERSAL) else (0.15, 0.10, 0.075, 0.05))[row]


def at_power(motor: Motor, power: float) -> Running:
    """The motor at a shaft power, the plate's supply and its working temperature."""
    return held(motor, "shaft_power", *(np.array([one]) for one in (power, motor.voltage, motor.frequency, motor.hot)))


def synchronous_speed(motor: Motor) -> float:
    """[rad/s]"""
    return 4.0 * np.pi * motor.frequency / motor.poles


def plate_of(draw: np.random.Generator, motor: Motor, margins: Margins) -> Plate:
    """A plate that the motor meets by the margins wanted, as finely as plates are punched."""
    power, off = motor.power, margins.of
    if margins.short:
        power = (
            1.0 / draw.uniform(0.75, 0.97) * greatest(motor, "shaft_power", motor.voltage, motor.frequency, motor.hot)
        )
        power = round(power, -1)
    true = at_power(motor, motor.power)
    current, efficiency, power_factor = (
        float(getattr(true, one)[0]) for one in ("current", "efficiency", "power_factor")
    )
    factor = float(draw.choice([1.15, 1.25])) if draw.random() < 0.2 and not margins.short else None
    above = None if factor is None else float(at_power(motor, factor * power).current[0])
    if above is not None and not np.isfinite(above):
        factor = above = None
    return Plate(
        power, motor.voltage, motor.frequency or None,
        current=_figures(max(current * (1.0 + off["current"]) / 1.1, _least_current(motor, power)), 3),
        speed=_declared_speed(motor, float(true.speed[0]), power, off),
        poles=motor.poles if "induction" in motor.kind and draw.random() < 0.6 else None,
        power_factor=None if motor.kind == "dc" else min(_power_factor(power_factor * (1.0 - off["power_factor"])), 0.98),
        efficiency=round(1.0 - (1.0 - efficiency * (1.0 - off["efficiency"])) / 1.15, 3),
        service_factor=factor,
        service_factor_current=None if above is None else _figures(above * (1.0 + off["service_factor_current"]) / 1.1, 3),
        in_horsepower=motor.frequency == 60.0,
    )  # fmt: skip


def _least_current(motor: Motor, power: float) -> float:
    """The least current [A] that can carry a plate's power, whatever the motor draws."""
    phases = np.sqrt(3.0) if motor.phases == 3 else 1.0
    return float(power / (phases * motor.voltage * CARRIED[motor.kind]))


def _declared_speed(motor: Motor, true: float, power: float, off: Mapping[str, float]) -> float:
    """Speed on the plate [rad/s], to a revolution a minute."""
    if "induction" in motor.kind:
        allowed = 0.3 if power < 1000.0 else 0.2
        slip = (1.0 - true / synchronous_speed(motor)) * (1.0 + off["slip"]) / (1.0 + allowed)
        return round(synchronous_speed(motor) * (1.0 - slip) / RPM) * RPM
    declared = true
    for _ in range(3):  # the tolerance goes by the speed declared
        declared = true * (1.0 - off["speed"]) / (1.0 - speed_tolerance(motor, power, declared))
    return round(declared / RPM) * RPM


def _power_factor(limit: float) -> float:
    """The declared power factor whose lowest allowed value this is."""
    for declared in np.arange(limit, 1.0, 0.001):
        if declared - np.clip((1.0 - declared) / 6.0, 0.02, 0.07) >= limit:
            return round(float(declared), 2)
    return 0.98


def _figures(value: float, count: int) -> float:
    return float(f"{value:.{count}g}")


def truth_of(motor: Motor, plate: Plate, nema: bool) -> Truth:
    """What is true at the rating this plate gives, and what it allows."""
    if plate.power is None:
        return Truth({}, {})
    running = at_power(motor, plate.power)
    values = {f"{name}_at_rated_power": float(getattr(running, name)[0]) for name in _AT_POWER if name != "slip"}
    if "induction" in motor.kind:
        values["slip_at_rated_power"] = 1.0 - float(running.speed[0]) / synchronous_speed(motor)
    values["winding_rise"] = motor.hot - 25.0
    if plate.current is not None:
        there = held(
            motor, "current", *(np.array([one]) for one in (plate.current, motor.voltage, motor.frequency, motor.hot))
        )
        values |= {
            "power_at_rated_current": float(there.shaft_power[0]),
            "torque_at_rated_current": float(there.torque[0]),
        }
    if plate.service_factor is not None:
        values["service_factor_current"] = float(at_power(motor, plate.power * plate.service_factor).current[0])
    most = greatest(motor, "shaft_power", motor.voltage, motor.frequency, motor.hot)
    kept = {name: value for name, value in values.items() if np.isfinite(value)}
    return Truth(kept, _limits(motor, plate, nema), most / plate.power - 1.0)


def _limits(motor: Motor, plate: Plate, nema: bool) -> dict[str, Limits]:
    limits: dict[str, Limits] = {}
    if plate.current is not None:
        limits["current_at_rated_power"] = (0.9 * plate.current if nema else None, 1.1 * plate.current)
    if plate.service_factor_current is not None:
        limits["service_factor_current"] = (None, 1.1 * plate.service_factor_current)
    if plate.efficiency is not None and not nema:  # NEMA pairs it in a table
        limits["efficiency_at_rated_power"] = (1.0 - 1.15 * (1.0 - plate.efficiency), None)
    if plate.power_factor is not None and motor.kind != "dc":
        less = float(np.clip((1.0 - plate.power_factor) / 6.0, 0.02, 0.07))
        limits["power_factor_at_rated_power"] = (plate.power_factor - less, None)
    if plate.insulation_class is not None and plate.power is not None:
        limits["winding_rise"] = (None, RISE[plate.insulation_class][int(plate.power >= 600.0)])
    if plate.speed is not None and plate.power is not None:
        limits |= _speed_limits(motor, plate.power, plate.speed, nema)
    return limits


def _speed_limits(motor: Motor, power: float, speed: float, nema: bool) -> dict[str, Limits]:
    if "induction" not in motor.kind:
        allowed = speed_tolerance(motor, power, speed)
        return {"speed_at_rated_power": ((1.0 - allowed) * speed, (1.0 + allowed) * speed)}
    slip = 1.0 - speed / synchronous_speed(motor)
    allowed = 0.3 if power < 1000.0 and not nema else 0.2
    return {"slip_at_rated_power": ((1.0 - allowed) * slip, (1.0 + allowed) * slip)} if slip > 0.0 else {}
