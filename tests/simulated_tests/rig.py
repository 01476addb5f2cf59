"""Rigs of three qualities, their true errors, and the rig file that tells of them.

An instrument's own error is some part of its limit of error, the same at every reading (JCGM 100:2008, 4.3.7, example 2);
on top stand the step of its display and a scatter from row to row. What a rig file leaves out has the error of an ordinary
instrument of its kind: a clamp meter 2 % and some digits, a kitchen scale half a per cent and a step, an arm by tape
measure half a per cent, a hand tachometer a revolution a minute (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simulated_tests.motor import RPM, Array

LABORATORY, SHOP, HOME = "laboratory", "good shop", "home bench"
QUALITIES = (LABORATORY, SHOP, HOME)
#: Relative expanded uncertainty such a bench may reach, for drawing margins: a guess that need not hold.
EXPECTED = {LABORATORY: 0.006, SHOP: 0.014, HOME: 0.035}
#: How torque scatters from row to row, as a part of it; speed does so by a tenth of that.
SCATTER = {LABORATORY: 0.0004, SHOP: 0.001, HOME: 0.0015}

POUND, STANDARD_GRAVITY = 0.45359237, 9.80665

#: Part of reading and of range, by quality: (volts, amperes, watts, power factor). Ordinary makers' figures, from memory.
_ACCURACY = {
    LABORATORY: {"voltage": 0.001, "current": 0.0015, "input_power": 0.0015, "power_factor": 0.003},
    SHOP: {"voltage": 0.005, "current": 0.005, "input_power": 0.006, "power_factor": 0.01},
    HOME: {"voltage": 0.010, "current": 0.020, "input_power": 0.018, "power_factor": 0.02},
}
_STEP = {LABORATORY: 2e-4, SHOP: 1e-3, HOME: 2e-3}
_UNSTATED = {LABORATORY: 0.0, SHOP: 0.08, HOME: 0.85}
_UNITS = {
    "voltage": "V", "current": "A", "input_power": "W", "power_factor": "1", "torque": "N*m", "frequency": "Hz",
    "winding_temperature": "degC", "winding_resistance": "ohm", "ambient_temperature": "degC",
}  # fmt: skip


def step_below(size: float) -> float:
    """The power of ten at or below a size."""
    return float(10.0 ** np.floor(np.log10(size)))


def typed(value: float, step: float) -> str:
    """A number as it is read off a display of that step."""
    return f"{value:.{max(0, round(-np.log10(step)))}f}"


@dataclass(frozen=True)
class Meter:
    """A meter with its own error; ``share`` says which part of its limit, and which way."""

    name: str
    reading: float
    span: float  # part of full scale
    full_scale: float
    step: float
    stated: bool
    share: float

    def limit(self, true: Array) -> Array:
        return self.reading * np.abs(true) + self.span * self.full_scale

    def spread(self, true: Array) -> Array:
        """Standard deviation between rows to be reckoned with: a part of the limit, and the step."""
        part = 0.20 if self.name == "input_power" else 0.25
        return np.hypot(part * self.limit(true), self.step / np.sqrt(12.0))

    def reads(self, true: Array, draw: np.random.Generator) -> Array:
        """What it shows, before the display's step."""
        return true + self.limit(true) * (self.share + draw.normal(0.0, 0.06, np.shape(true)))

    def stands(self) -> str:
        """Its line of the rig file; empty where the rig says nothing of it."""
        if not self.stated:
            return ""
        unit = "" if self.name == "power_factor" else f" {_UNITS[self.name]}"
        quoted = f"'{self.full_scale:g}'" if not unit else f"{self.full_scale:g}{unit}"
        span = f", range: {100.0 * self.span:g} %, full_scale: {quoted}" if self.span else ""
        return f"  {self.name}: {{reading: {100.0 * self.reading:g} %{span}, resolution: {self.step:.7g}{unit}}}\n"


def meter(draw: np.random.Generator, quality: str, name: str, greatest: float, stated: bool | None = None) -> Meter:
    """A meter in the range above the greatest reading."""
    decade = step_below(greatest * 1.02)
    full_scale = next(size * decade for size in (1.0, 2.0, 5.0, 10.0, 20.0) if size * decade >= greatest * 1.02)
    accuracy = (
        _ACCURACY[quality][name]
        if name in _ACCURACY[quality]
        else {LABORATORY: 0.001, SHOP: 0.003, HOME: 0.01}[quality]
    )
    if name == "power_factor":
        full_scale = 1.0
    said = draw.random() >= _UNSTATED[quality] if stated is None else stated
    return Meter(
        name,
        accuracy,
        0.3 * accuracy,
        full_scale,
        step_below(full_scale * _STEP[quality]),
        said,
        draw.uniform(-0.9, 0.9),
    )


@dataclass(frozen=True)
class Tachometer:
    """One of pulses counted, or one with a limit of error."""

    limit: float  # [rpm]; of a counter the speed of one pulse
    counts: bool
    share: float
    step: float  # of what is typed [rpm]
    stands: str  # in the rig file; empty where it says nothing

    def reads(self, speed: Array, draw: np.random.Generator) -> Array:
        """[rad/s] -> rpm as typed, before the step."""
        true = speed / RPM
        if self.counts:
            return np.floor(true / self.limit + draw.random(true.shape)) * self.limit
        return true + self.share * self.limit


def tachometer(draw: np.random.Generator, quality: str, on_motor: bool) -> Tachometer:
    """A disc of many pulses or a hand instrument."""
    on = ", on: motor" if on_motor else ""
    if quality == HOME:
        stated = "" if draw.random() < 0.8 else "tachometer: {tolerance: 2 rpm}\n"
        return Tachometer(2.0 if stated else 1.0, False, draw.uniform(-1.0, 1.0), 1.0, stated)
    if draw.random() < 0.5:
        gate = 10 if quality == LABORATORY else 1
        stands = f"tachometer: {{pulses_per_revolution: 60, gate: {gate} s{on}}}\n"
        return Tachometer(1.0 / gate, True, 0.0, 0.1 if gate == 10 else 1.0, stands)
    limit = 0.3 if quality == LABORATORY else 1.5
    step = 0.1 if quality == LABORATORY else 1.0
    return Tachometer(limit, False, draw.uniform(-1.0, 1.0), step, f"tachometer: {{tolerance: {limit} rpm{on}}}\n")


@dataclass(frozen=True)
class TorqueWay:
    """From the motor's torque to what is typed: lever or drum, scale or sensor, tare, belt."""

    columns: tuple[str, ...]  # 'scale', or both balances, or 'torque'
    unit: str
    step: float
    limit: float  # of the scale, in its unit
    lever: float  # true length that force acts at [m]; 1 for a sensor
    per_unit: float  # newtons a unit of the scale stands for, truly
    tare: float  # true torque the scale does not see [N*m]
    drive: float  # absorber's torque over the motor's
    gain: float  # of the scale
    sensor: Meter | None
    zeros: tuple[float, ...]  # before and after for each column, as they truly are
    says_zero: bool
    stands: str  # its lines of the rig file
    gravity: str  # for the job's conditions; empty for none
    scatter: float = 0.0  # of torque from row to row, as a part of it

    def loads(self, torque: Array) -> tuple[Array, ...]:
        """True load of each column, in its unit, without its zero."""
        if self.sensor is not None:
            return (torque * self.drive,)
        load = np.maximum(torque * self.drive - self.tare, 0.0) / self.lever / self.per_unit
        return (load,) if len(self.columns) == 1 else (load * 1.25, load * 0.25)

    def spread(self, load: Array) -> Array:
        """Standard deviation between rows to be reckoned with, in the scale's unit."""
        step = self.step / np.sqrt(12.0)
        own = self.sensor.spread(load) if self.sensor is not None else 0.35 * self.limit + 0.0 * load
        return np.sqrt(step**2 + own**2 + (0.002 * load) ** 2)

    def reads(self, torque: Array, draw: np.random.Generator) -> tuple[Array, ...]:
        """What stands in each column, before the step; the zero drifts from first row to last."""
        along = np.linspace(0.0, 1.0, torque.size)
        shown = []
        for number, load in enumerate(self.loads(torque * (1.0 + draw.normal(0.0, self.scatter, torque.shape)))):
            before, after = self.zeros[2 * number : 2 * number + 2]
            indicated = self.sensor.reads(load, draw) if self.sensor is not None else self.gain * load
            shown.append(indicated + before + (after - before) * along)
        return tuple(shown)


def torque_way(draw: np.random.Generator, quality: str, greatest: float, small: bool) -> TorqueWay:
    """A sensor, a rope on a drum, or an arm on a scale; ``greatest`` is the motor's greatest torque to be read [N*m]."""
    if quality != HOME and draw.random() < 0.2:
        way = _sensor(draw, quality, greatest)
    elif small and draw.random() < 0.25:
        way = _rope(draw, quality, greatest)
    else:
        way = _arm(draw, quality, greatest)
    return replace(way, scatter=SCATTER[quality])


def _zeros(draw: np.random.Generator, step: float, says: bool, count: int) -> tuple[float, ...]:
    if not says:
        return tuple(float(one) for one in np.repeat(draw.uniform(-0.5, 0.5, count) * step, 2))
    before = draw.uniform(-4.0, 6.0, count) * step
    drift = draw.uniform(-2.5, 2.5, count) * step
    return tuple(float(one) for one in np.column_stack([before, before + drift]).ravel())


def _sensor(draw: np.random.Generator, quality: str, greatest: float) -> TorqueWay:
    sensor = meter(draw, quality, "torque", greatest, stated=True)
    stands = "absorber: {kind: torque sensor}\ntare_torque: 0 N*m\n"
    zeros = _zeros(draw, sensor.step, True, 1)
    return TorqueWay(("torque",), "N*m", sensor.step, 0.0, 1.0, 1.0, 0.0, 1.0, 1.0, sensor, zeros, True, stands, "")


def _rope(draw: np.random.Generator, quality: str, greatest: float) -> TorqueWay:
    radius, rope = float(draw.choice([0.02, 0.04, 0.06])), 0.004
    told = quality != HOME
    limits = (0.0002, 0.0005) if quality != LABORATORY else (0.00005, 0.0001)
    lever = radius + draw.uniform(-1, 1) * limits[0] + 0.5 * (rope + draw.uniform(-1, 1) * limits[1])
    most = 1.25 * greatest / lever
    step = step_below(most * (4e-3 if quality == HOME else 1e-3))
    limit = 0.002 * most + step if told else 0.005 * most + step
    sizes = [f"{{value: {1000 * size:g} mm, tolerance: {1000 * off:g} mm}}" if told else f"{1000 * size:g} mm"
             for size, off in zip((radius, rope), limits, strict=True)]  # fmt: skip
    scale = f"resolution: {step:.7g} N, tolerance: {limit:.4g} N" if told else f"resolution: {step:.7g} N"
    stands = (
        f"absorber: {{kind: rope}}\ndrum_radius: {sizes[0]}\nrope_diameter: {sizes[1]}\n"
        f"scale: {{reads: force, {scale}}}\ntare_torque: 0 N*m\n"
    )
    gain = 1.0 + draw.uniform(-1, 1) * (limit - step) / most
    return TorqueWay(
        ("scale", "scale_2"),
        "N",
        step,
        limit,
        lever,
        1.0,
        0.0,
        1.0,
        gain,
        None,
        _zeros(draw, step, told, 2),
        told,
        stands,
        "",
    )


def _arm(draw: np.random.Generator, quality: str, greatest: float) -> TorqueWay:
    unit = str(draw.choice(["kg", "lb", "N"], p=[0.6, 0.2, 0.2]))
    length = next(one for one in (0.2, 0.3048, 0.5, 0.75, 1.0) if greatest / one < 100.0 or one == 1.0)
    off = {LABORATORY: 0.0002, SHOP: 0.0007, HOME: 0.005 * length}[quality]
    told = quality != HOME
    belt = quality == SHOP and draw.random() < 0.12
    gravity, says = 9.80665 + draw.uniform(-0.02, 0.02), told and unit != "N"
    per_unit = {"kg": gravity, "lb": POUND * gravity, "N": 1.0}[unit]
    absorbed = greatest * (1.5 * 0.97 if belt else 1.0)
    most = absorbed / length / per_unit
    tare = draw.uniform(0.0, 0.02) * absorbed
    tare_limit = (0.002 if quality == LABORATORY else 0.005) * absorbed
    step = step_below(most * {LABORATORY: 3e-4, SHOP: 1e-3, HOME: 3e-3}[quality])
    gain, limit, scale = _scale(draw, quality, most, step, unit)
    arm = f"{{value: {length:g} m, tolerance: {1000 * off:g} mm}}" if told else f"{length:g} m"
    stands = f"absorber: {{kind: arm}}\narm_length: {arm}\n{scale}"
    if told:
        stated = tare + draw.uniform(-1.0, 1.0) * tare_limit
        stands += f"tare_torque: {{value: {max(stated, 0.0):.4f} N*m, tolerance: {tare_limit:.4f} N*m}}\n"
    drive = 1.0
    if belt:
        drive = 1.5 * (1.0 + draw.uniform(-1, 1) * 0.003) * (0.97 + draw.uniform(-1, 1) * 0.01)
        stands += "drive: {kind: belt, ratio: 1.5, efficiency: 0.97, tolerance: 0.01, ratio_tolerance: 0.3 %}\n"
    says_zero = told or draw.random() < 0.5
    return TorqueWay(
        ("scale",), unit, step, limit, length + draw.uniform(-1, 1) * off, per_unit, tare, drive, gain, None,
        _zeros(draw, step, says_zero, 1), says_zero, stands, f"{gravity:.4f} m/s^2" if says else "",
    )  # fmt: skip


def _scale(draw: np.random.Generator, quality: str, most: float, step: float, unit: str) -> tuple[float, float, str]:
    """Gain of a scale, the limit of error it then has, and its lines of the rig file."""
    reads = "force" if unit == "N" else "mass"
    begins = f"scale:\n  reads: {reads}\n"
    if quality == HOME:
        said = f"  resolution: {step:.7g} {unit}\n" if draw.random() < 0.4 else ""
        return 1.0 + draw.uniform(-0.005, 0.005), 0.005 * most, begins + said
    begins += f"  resolution: {step:.7g} {unit}\n"
    if quality == SHOP and draw.random() < 0.3:
        limit = 0.003 * most
        return 1.0 + draw.uniform(-0.003, 0.003), limit, f"{begins}  tolerance: {limit:.5g} {unit}\n"
    gain, zero = 1.0 + draw.uniform(-0.003, 0.003), draw.uniform(-3.0, 3.0) * step
    applied = np.linspace(0.0, 1.2, 7) * float(f"{most:.2g}")
    indicated = zero + gain * applied + draw.normal(0.0, 0.3 * step, applied.size)
    listed = ", ".join(f"{one:.6g} {unit}" for one in applied)
    shown = ", ".join(f"{typed(one, step)} {unit}" for one in np.round(indicated / step) * step)
    return gain, 2.0 * step, f"{begins}  calibration: {{applied: [{listed}], indicated: [{shown}]}}\n"
