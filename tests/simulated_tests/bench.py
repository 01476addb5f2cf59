"""A motor on a bench: its test made, read with every instrument's own errors, and typed."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from simulated_tests.catalogue import any_motor
from simulated_tests.commutator import SERIES, UNIVERSAL
from simulated_tests.induction import ThreePhaseCage
from simulated_tests.motor import Array, Motor, Running, greatest, held
from simulated_tests.plate import RISE, Plate, at_power, draw_margins, plate_of, synchronous_speed, truth_of
from simulated_tests.rig import (
    EXPECTED,
    HOME,
    LABORATORY,
    QUALITIES,
    RPM,
    SHOP,
    Meter,
    Tachometer,
    TorqueWay,
    meter,
    tachometer,
    torque_way,
    typed,
)
from simulated_tests.typed_job import TypedTest

#: Number of load points, and how often of a hundred.
_POINTS = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12)
_OFTEN = np.array([5, 3, 8, 10, 16, 16, 13, 10, 7, 5, 4, 3]) / 100.0


@dataclass(frozen=True)
class Keys:
    """Which of the keys that not every version knows may stand in a job."""

    excitation: bool = False
    supply: bool = False


@dataclass(frozen=True)
class Supply:
    """Voltage as a part of the plate's, its sag up to rated load and scatter; frequency and what the job says of it."""

    part: float
    sag: float
    wander: float
    frequency: float  # [Hz]
    said: tuple[str, ...]
    in_column: bool


@dataclass(frozen=True)
class _Made:
    """A test that was made and is not yet read."""

    motor: Motor
    quality: str
    plate: Plate
    supply: Supply
    running: Running
    degrees: Array  # of the winding [degC]
    past_breakdown: bool
    nema: bool


@dataclass
class _Cells:
    """The load test's columns as they are made: name, unit, texts, spread between rows."""

    columns: list[tuple[str, str]] = field(default_factory=list)
    texts: list[list[str]] = field(default_factory=list)
    spreads: list[Array] = field(default_factory=list)

    def add(self, name: str, unit: str, shown: Array, step: float, spread: Array) -> None:
        self.columns.append((name, unit))
        self.texts.append([typed(round(one / step) * step, step) for one in shown])
        self.spreads.append(spread)


def simulated_test(
    seed: int | np.random.SeedSequence, keys: Keys | None = None, quality: str | None = None, *, as_rated: bool = False
) -> TypedTest:
    """One test of one motor, everything drawn from a seed.

    Parameters
    ----------
    seed : int or SeedSequence
        Tells everything.
    keys : Keys, optional
        What may be written; left out: only what every version knows.
    quality : str, optional
        'laboratory', 'good shop' or 'home bench'; left out: drawn.
    as_rated : bool
        Supply and winding exactly as the rating has them, so that the instruments alone are wrong.
    """
    draw = np.random.default_rng(seed)
    keys = keys or Keys()
    quality = quality or str(draw.choice(QUALITIES, p=[0.3, 0.4, 0.3]))
    motor = any_motor(draw, 100.0)
    margins = draw_margins(draw, motor, EXPECTED[quality])
    if "induction" not in motor.kind:
        margins = replace(margins, short=False)
    letter = str(draw.choice(["B", "F", "H"], p=[0.4, 0.5, 0.1]))
    rise = RISE[letter][int(motor.power >= 600.0)] * (1.0 - margins.of["rise"])
    motor = replace(motor, hot=25.0 + rise)  # type: ignore[type-var]
    plate = replace(plate_of(draw, motor, margins), insulation_class=letter)
    nema = plate.in_horsepower and draw.random() < 0.6
    supply = _supply(draw, motor, quality, keys)
    if as_rated:
        supply = _exact(supply, motor)
    warmth = None if as_rated else draw.uniform(0.5, 1.05)
    running, degrees, past = _loads(draw, motor, supply, warmth=warmth, short=margins.short)
    worn = _worn(draw, plate, quality)
    return _typed(draw, _Made(motor, quality, worn, supply, running, degrees, past, nema), keys)


def _worn(draw: np.random.Generator, plate: Plate, quality: str) -> Plate:
    """The plate as it can still be read."""
    if quality == HOME and draw.random() < 0.12:
        return Plate(None, plate.voltage, plate.frequency, plate.current)
    gone = {
        "efficiency": 0.4, "power_factor": 0.3, "speed": 0.04, "current": 0.04, "insulation_class": 0.3, "frequency": 0.03,
    }  # fmt: skip
    left_out = [name for name, share in gone.items() if draw.random() < share]
    return replace(plate, **dict.fromkeys(left_out))


def _supply(draw: np.random.Generator, motor: Motor, quality: str, keys: Keys) -> Supply:
    """The grid near the plate, the grid well off it, or a generator."""
    part = 1.0 + draw.normal(0.0, 0.01) if draw.random() < 0.6 else draw.uniform(0.88, 1.12)
    sag, wander = draw.uniform(0.0, 0.015), draw.uniform(0.0005, 0.004)
    if not motor.frequency:
        return Supply(part, sag, wander, 0.0, (), in_column=False)
    generator = draw.random() < 0.2
    told = draw.random() < 0.5
    if generator and quality == HOME and not keys.supply:
        generator = False
    frequency = motor.frequency * (1.0 + (draw.uniform(-0.01, 0.01) if generator else draw.normal(0.0, 3e-4)))
    said = ["supply: generator"] if generator and keys.supply else []
    if generator and not (quality == HOME and keys.supply):
        if not told:
            measured = frequency + draw.uniform(-0.05, 0.05)
            said.append(f"supply_frequency: {{value: {measured:.2f} Hz, tolerance: 0.06 Hz}}")
        return Supply(part, sag, wander, frequency, tuple(said), in_column=told)
    if quality == LABORATORY or (quality == SHOP and told):
        said.append(f"supply_frequency: {{value: {motor.frequency:g} Hz, tolerance: {0.002 * motor.frequency:g} Hz}}")
    elif quality == SHOP:
        said.append(f"supply_frequency: {motor.frequency:g} Hz")
    return Supply(part, sag, wander, frequency, tuple(said), in_column=quality == LABORATORY and told)


def _exact(supply: Supply, motor: Motor) -> Supply:
    """A supply that is the plate's, and is said to be."""
    said = (f"supply_frequency: {{value: {motor.frequency:g} Hz, tolerance: 0.01 Hz}}",) if motor.frequency else ()
    return Supply(1.0, 0.0, 0.0, motor.frequency, said, in_column=False)


def _fractions(draw: np.random.Generator, motor: Motor) -> Array:
    """Loads as parts of rated torque, in the order they were taken."""
    count = int(draw.choice(_POINTS, p=_OFTEN))
    if count == 1:
        return np.array([draw.choice([1.0, draw.uniform(0.7, 1.25)])])
    least = draw.uniform(0.2, 0.35) if motor.name in (SERIES, UNIVERSAL) else draw.uniform(0.02, 0.3)
    most = draw.choice([draw.uniform(1.03, 1.3), draw.uniform(1.3, 1.5), draw.uniform(0.5, 1.0)], p=[0.7, 0.15, 0.15])
    loads = np.linspace(least, most, count)
    if count > 2:
        loads[1:-1] += draw.uniform(-0.3, 0.3, count - 2) * (most - least) / (count - 1)
    order = draw.choice(3)
    return loads if order == 0 else loads[::-1] if order == 1 else draw.permutation(loads)


def _loads(
    draw: np.random.Generator, motor: Motor, supply: Supply, *, warmth: float | None, short: bool
) -> tuple[Running, Array, bool]:
    """The motor and its winding's temperature [degC] at every load; some tests of induction motors go on past breakdown."""
    rated = float(at_power(motor, motor.power).torque[0])
    fractions = _fractions(draw, motor)
    if short:
        fractions = np.linspace(0.1, 3.5, 12)
    volts = (
        motor.voltage * supply.part * (1.0 - supply.sag * fractions + draw.normal(0.0, supply.wander, fractions.size))
    )
    hertz = supply.frequency * (1.0 + draw.normal(0.0, 1.5e-4, fractions.size) * (warmth is not None))
    warmer = (motor.hot - 25.0) * (0.45 + 0.55 * np.minimum(fractions, 1.5) ** 2)
    degrees = np.full(fractions.size, motor.hot) if warmth is None else 20.0 + warmth * warmer
    most = greatest(motor, "torque", float(volts.min()), supply.frequency, float(degrees.max()))
    kept = fractions * rated < (0.97 if short else 0.88) * most
    if not kept.any():
        fractions, kept = np.array([0.8 * most / rated]), np.array([True])
        volts, hertz, degrees = volts[:1], hertz[:1], degrees[:1]
    stable = held(motor, "torque", fractions[kept] * rated, volts[kept], hertz[kept], degrees[kept])
    if "induction" not in motor.kind or (not short and draw.random() > 0.05) or kept.sum() < 3:
        return stable, degrees[kept], False
    beyond = _and_past(draw, motor, stable, float(volts[-1]), supply.frequency, float(degrees.max()))
    return beyond, np.append(degrees[kept], np.full(3, degrees.max())), True


def _and_past(
    draw: np.random.Generator, motor: Motor, stable: Running, volts: float, hertz: float, degrees: float
) -> Running:
    """The same with three points beyond the greatest torque."""
    states = motor.states()
    shown = motor.at(states, np.array(volts), np.array(hertz), np.array(degrees))
    top = states[int(np.argmax(shown.torque))]
    beyond = np.minimum(top * np.array([1.0, 1.35, 1.8]) * draw.uniform(0.95, 1.15), 0.9)
    past = motor.at(beyond, *(np.full(3, one) for one in (volts, hertz, degrees)))
    both = {one: np.concatenate([getattr(stable, one), getattr(past, one)])
            for one in ("speed", "torque", "current", "voltage", "input_power")}  # fmt: skip
    return replace(stable, **both, losses={})


def _typed(draw: np.random.Generator, made: _Made, keys: Keys) -> TypedTest:
    """The test as its instruments show it and somebody typed it."""
    motor, quality, plate, running = made.motor, made.quality, made.plate, made.running
    way = torque_way(draw, quality, float(running.torque.max()), motor.power < 800.0)
    counter = tachometer(draw, quality, "belt" in way.stands)
    cells = _Cells()
    _speed(cells, draw, counter, running, wander=0.1 * way.scatter)
    for name, shown, load in zip(way.columns, way.reads(running.torque, draw), way.loads(running.torque), strict=True):
        cells.add(name, way.unit, shown, way.step, way.spread(load))
    meters = _electrical(cells, draw, motor, quality, running)
    thermometer = replace(meter(draw, quality, "winding_temperature", 190.0, stated=True), span=0.002, step=0.1)
    meters += _surroundings(cells, draw, made, thermometer)
    more = ""
    if isinstance(motor, ThreePhaseCage) and quality != HOME and plate.power is not None and draw.random() < 0.4:
        more, further = _heat(draw, motor, quality, plate.power, made.supply, thermometer)
        meters += further
    meters += [] if way.sensor is None else [way.sensor]
    lines = "".join(dict.fromkeys(one.stands() for one in meters))
    conditions = [*made.supply.said, *([f"local_gravity: {way.gravity}"] if way.gravity else [])]
    if draw.random() < 0.8:
        conditions.append("ambient: 20 degC")
    return TypedTest(
        motor.kind, motor.name, quality, plate, truth_of(motor, plate, made.nema), tuple(conditions), _zeros(way),
        tuple(cells.columns), tuple(zip(*cells.texts, strict=True)), np.column_stack(cells.spreads), running.torque,
        _slips(made), made.past_breakdown, made.supply.part - 1.0,
        rig=f"name: Simulated bench\n{way.stands}{counter.stands}{'meters:' + chr(10) + lines if lines else ''}",
        more=more, excitation=motor.name if keys.excitation and motor.kind == "dc" and draw.random() < 0.6 else "",
        criteria="nema-mg-1" if made.nema else "iec-60034-1",
    )  # fmt: skip


def _slips(made: _Made) -> Array:
    """True slip of each row [rpm]; NaN of a motor without one."""
    if "induction" not in made.motor.kind:
        return np.full(made.running.speed.size, np.nan)
    synchronous = synchronous_speed(made.motor) * made.supply.frequency / made.motor.frequency
    return (synchronous - made.running.speed) / RPM


def _surroundings(cells: _Cells, draw: np.random.Generator, made: _Made, thermometer: Meter) -> list[Meter]:
    """Columns of frequency and winding temperature, where there are any; the meters used."""
    used, count = [], made.running.torque.size
    if made.supply.in_column:
        counter = replace(
            meter(draw, made.quality, "frequency", 97.0, stated=True), reading=0.0005, span=0.0, step=0.01
        )
        hertz = np.full(count, made.supply.frequency)
        cells.add("frequency", "Hz", counter.reads(hertz, draw), 0.01, counter.spread(hertz))
        used.append(counter)
    if made.quality != HOME and "induction" in made.motor.kind and draw.random() < 0.3:
        shown = thermometer.reads(made.degrees, draw)
        cells.add("winding_temperature", "degC", shown, 0.1, thermometer.spread(made.degrees))
        used.append(thermometer)
    return used


def _speed(cells: _Cells, draw: np.random.Generator, counter: Tachometer, running: Running, *, wander: float) -> None:
    scattered = running.speed * (1.0 + draw.normal(0.0, wander, running.speed.shape))
    reckoned = np.hypot(0.35 * counter.limit, 3e-4 * running.speed / RPM)
    spread = np.hypot(reckoned, counter.step / np.sqrt(12.0))
    cells.add("speed", "rpm", counter.reads(scattered, draw), counter.step, spread)


def _zeros(way: TorqueWay) -> tuple[str, ...]:
    if not way.says_zero:
        return ()
    names = ("zero_before", "zero_after", "zero_before_2", "zero_after_2")
    return tuple(f"{name}: {typed(round(one / way.step) * way.step, way.step)} {way.unit}"
                 for name, one in zip(names, way.zeros, strict=False))  # fmt: skip


def _electrical(cells: _Cells, draw: np.random.Generator, motor: Motor, quality: str, running: Running) -> list[Meter]:
    """Volts, amperes and what tells watts; the meters used."""
    meters = {
        name: meter(draw, quality, name, float(getattr(running, name).max()))
        for name in ("voltage", "current", "input_power", "power_factor")
    }
    way = draw.random()
    if quality == HOME and way < 0.3:
        names = ["current"]
    elif motor.kind == "dc" or (way < 0.4 if quality == HOME else way < 0.05):
        names = ["voltage", "current"]
    elif way > 0.9:
        names = ["voltage", "current", "power_factor"]
    elif motor.phases == 3 and 0.7 < way <= 0.9:
        names = ["voltage", "current", "wattmeters"]
    else:
        names = ["voltage", "current", "input_power"]
    lines = motor.phases == 3 and quality != HOME and draw.random() < 0.2
    for name in names:
        if name == "wattmeters":
            _two_wattmeters(cells, draw, meters["input_power"], running)
            continue
        one, true = meters[name], getattr(running, name)
        unit = {"voltage": "V", "current": "A", "input_power": "W", "power_factor": "1"}[name]
        if lines and name in ("voltage", "current"):
            letters = ("ab", "bc", "ca") if name == "voltage" else ("a", "b", "c")
            for letter, part in zip(letters, draw.normal(0.0, 0.002, 3), strict=True):
                shown = one.reads(true * (1.0 + part), draw)
                cells.add(f"{name}_{letter}", unit, shown, one.step, one.spread(true))
        else:
            cells.add(name, unit, one.reads(true, draw), one.step, one.spread(true))
    return [meters["input_power" if name == "wattmeters" else name] for name in names]


def _two_wattmeters(cells: _Cells, draw: np.random.Generator, one: Meter, running: Running) -> None:
    """Blondel's two wattmeters: V I cos(phi - 30 deg) and V I cos(phi + 30 deg), C. I. Hubert (from memory)."""
    phi = np.arccos(np.clip(running.power_factor, 0.0, 1.0))
    for number, angle in ((1, -np.pi / 6.0), (2, np.pi / 6.0)):
        true = running.voltage * running.current * np.cos(phi + angle)
        cells.add(f"wattmeter_{number}", "W", one.reads(true, draw), one.step, one.spread(true))


def _heat(
    draw: np.random.Generator,
    motor: ThreePhaseCage,
    quality: str,
    power: float,
    supply: Supply,
    thermometer: Meter,
) -> tuple[str, list[Meter]]:
    """A heat run at rated load to a steady state, and the winding before and right after it."""
    rated = at_power(motor, power)
    volts = np.array([motor.voltage * supply.part])
    there = held(motor, "shaft_power", np.array([power]), volts, np.array([supply.frequency]), np.array([motor.hot]))
    if not np.isfinite(there.torque[0]) or not np.isfinite(rated.torque[0]):
        return "", []
    rise = (motor.hot - 25.0) * float(there.total_losses[0] / rated.total_losses[0])
    cold, after = (2.0 * motor.R1 * (235.0 + one) / (235.0 + motor.hot) for one in (20.0, 20.0 + rise))
    ohms = meter(draw, quality, "winding_resistance", after, stated=True)
    room = replace(meter(draw, quality, "ambient_temperature", 45.0, stated=True), reading=0.01, span=0.005, step=0.1)
    read = [typed(float(ohms.reads(np.array(one), draw)), ohms.step) for one in (cold, after)]
    times = np.arange(0.0, 241.0, 20.0)
    frame = 20.0 + 0.6 * rise * (1.0 - np.exp(-times / draw.uniform(25.0, 35.0))) + draw.normal(0.0, 0.05, times.size)
    rows = "".join(f"      - [{time:.0f}, {one:.1f}]\n" for time, one in zip(times, frame, strict=True))
    cold_degrees, room_degrees = (float(one.reads(np.array(20.0), draw)) for one in (thermometer, room))
    return (
        f"  winding:\n    cold: {{resistance: {read[0]} ohm, temperature: {cold_degrees:.1f} degC}}\n"
        f"    hot: {{resistance: {read[1]} ohm, after: 15 s, ambient: {room_degrees:.1f} degC}}\n    between: lines\n"
        "  heat_run:\n    load: 100 %\n    columns: {time: min, frame_temperature: degC}\n"
        f"    rows:\n{rows}",
        [ohms, thermometer, room],
    )  # fmt: skip
