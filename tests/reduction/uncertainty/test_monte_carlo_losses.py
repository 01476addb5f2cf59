"""Losses at rated load, efficiency by segregation and winding rise: a million draws, and an independent library.

A motor whose every loss is known is tested on a bench with known errors. The way from readings to losses is written here
a second time with plain arithmetic, so that it takes arrays of draws as well as a library's uncertain numbers.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from builders import make_rig
from loss_bench import COLD, ICE, LossBench
from scipy.interpolate import PchipInterpolator

from certgen.assessment.assess import assess
from certgen.document.build import Toleranced
from certgen.job.model import Conditions, HotWinding, Job
from certgen.job.rig import Ammeter, Meters, Ohmmeter, Tachometer, Thermometer, TorqueMeter, Voltmeter, Wattmeter
from certgen.readings.model import Readings, Zero
from certgen.reduction.reduce import reduce_test
from certgen.results.compute import compute_figures
from certgen.results.model import Results
from certgen.standards.criteria import shipped_criteria

pytestmark = pytest.mark.slow

DRAWS, CHUNK, SEED = 1_000_000, 20_000, 20260418
COVERAGE = 0.9545
RATED = 2  # row of rated load
RATED_POWER = 5500.0
LOW = 4  # no-load voltages up to 60 %, the last rows
K = 235.0  # IEC 60034-1, from memory
EXPONENT = 2.5  # of friction and windage over speed: IEC 60034-2-1, from memory
REFERENCE = 95.0  # degC, class B
HOT, ROOM = 2.385, 23.0
PULSE = 2.0 * math.pi / (60.0 * 2.0)

METERS = Meters(
    torque=TorqueMeter(reading=0.001, range=0.0002, full_scale=50.0, resolution=0.02),
    voltage=Voltmeter(reading=0.002, resolution=0.1),
    current=Ammeter(reading=0.0015, range=0.0005, full_scale=20.0, resolution=0.01),
    input_power=Wattmeter(reading=0.001, range=0.0002, full_scale=10_000.0, resolution=1.0),
    winding_temperature=Thermometer(digits=5, resolution=0.1),
    ambient_temperature=Thermometer(digits=5, resolution=0.1),
    winding_resistance=Ohmmeter(reading=0.002, range=0.0002, full_scale=5.0, resolution=0.001),
)
TACHOMETER = Tachometer(pulses_per_revolution=60, gate=2.0, tolerance=0.05)
BENCH = LossBench()
STATES = BENCH.states()
LIGHT = [BENCH.motor.light(voltage, BENCH.light_temperature) for voltage in BENCH.voltages]


def a_test() -> tuple[Job, Readings]:
    """The job and what was read: exact readings of the motor, as a bench without errors shows them."""
    job = BENCH.job()
    assert job.readings.winding is not None
    winding = replace(job.readings.winding, hot=HotWinding(resistance=HOT, after=10.0, ambient=ROOM + ICE))
    conditions = Conditions(supply_frequency=Toleranced(50.0, tolerance=0.02), ambient=ROOM + ICE)  # type: ignore[arg-type]
    job = replace(job, conditions=conditions, readings=replace(job.readings, winding=winding), criteria="iec-60034-1")
    readings = BENCH.readings()
    # Rows of one brake current would be taken for repeats of one load.
    columns = {name: values for name, values in readings.load_test.columns.items() if name != "brake_current"}
    return job, replace(readings, zero=Zero(0.0, 0.0), load_test=replace(readings.load_test, columns=columns))


@pytest.fixture(scope="module")
def results() -> Results:
    """What the program makes of the test."""
    job, readings = a_test()
    rig = make_rig(meters=METERS, tachometer=TACHOMETER)
    criteria = shipped_criteria("iec-60034-1")
    reduction = reduce_test(job, rig, readings)
    figures = compute_figures(job, rig, readings, reduction, criteria)
    return assess(job, rig, reduction, figures, criteria=criteria, not_evaluated=(), inputs={})


def limits() -> dict[str, float]:
    """Limits of error by name, as the meters and the job state them; a row's own carry its table and number."""
    found = {
        "torque": 1.0, "voltage": 1.0, "current": 1.0, "power": 1.0, "tachometer": 0.05, "winding": 0.5, "room": 0.5,
        "ohms": 1.0, "frequency": 0.02, "zero_before": 0.01, "zero_after": 0.01, "cold_ohms": 0.0005,
        "hot_ohms": 0.0005,
    }  # fmt: skip
    for row in range(len(BENCH.loads)):
        found |= {f"torque {row}": 0.01, f"speed {row}": PULSE, f"current {row}": 0.005, f"power {row}": 0.5}
        found[f"voltage {row}"] = 0.05
    for row in range(len(BENCH.voltages)):
        found |= {f"volts0 {row}": 0.05, f"amps0 {row}": 0.005, f"watts0 {row}": 0.5}
    return found


def slopes_at_rated() -> dict[str, float]:
    """Slopes of the load curve over torque at rated load, by scipy's interpolant of the same kind."""
    states = sorted(STATES, key=lambda one: one["torque"])
    torque = [one["torque"] for one in states]
    at = torque[len(states) - 1 - RATED]
    return {
        name: float(PchipInterpolator(torque, [one[name] for one in states]).derivative()(at))
        for name in ("speed", "current", "input_power")
    }


def no_load_curve() -> tuple[np.ndarray, np.ndarray]:
    """Voltages, rising, and constant losses of the no-load test without errors."""
    light = LIGHT[::-1]
    by = (K + BENCH.light_temperature - ICE) / (K + COLD - ICE)
    loss = [one["input_power"] - 1.5 * one["current"] ** 2 * 2.0 * BENCH.motor.R1 * by for one in light]
    return np.array([one["voltage"] for one in light]), np.array(loss)


SLOPES = slopes_at_rated()
VOLTS, LOSSES = no_load_curve()
FRICTION = float(np.polynomial.Polynomial.fit(VOLTS[:LOW] ** 2, LOSSES[:LOW], 1).convert().coef[0])


def core_at(voltage: float) -> tuple[float, np.ndarray, np.ndarray, float]:
    """Core loss at a voltage, how it moves with each loss and voltage of the no-load test, and its slope; by scipy."""
    step, here = 1e-4, PchipInterpolator(VOLTS, LOSSES - FRICTION)
    unit = np.eye(VOLTS.size) * step
    by_loss = [(PchipInterpolator(VOLTS, LOSSES - FRICTION + one)(voltage) - here(voltage)) / step for one in unit]
    by_voltage = [(PchipInterpolator(VOLTS + one, LOSSES - FRICTION)(voltage) - here(voltage)) / step for one in unit]
    return float(here(voltage)), np.array(by_loss), np.array(by_voltage), float(here.derivative()(voltage))


def inner(voltage: Any, current: Any, power: Any, ohms: Any) -> Any:
    """Voltage behind the stator resistance: IEC 60034-2-1, from memory."""
    half_root = math.sqrt(3.0) / 2.0
    active = power / (2.0 * half_root * voltage)
    reactive = (current**2 - active**2) ** 0.5
    return ((voltage - half_root * ohms * active) ** 2 + (half_root * ohms * reactive) ** 2) ** 0.5


WARM = 2.0 * BENCH.motor.R1 * (K + BENCH.temperatures[0] - ICE) / (K + COLD - ICE)
INNER = [float(inner(one["voltage"], one["current"], one["input_power"], WARM)) for one in STATES]
CORE = [core_at(voltage) for voltage in INNER]


def with_error(name: str, read: float, e: dict[str, Any], row: str = "") -> Any:
    """A reading with the part of its meter's limit that is wrong, and its last digit."""
    part = {
        "torque": 0.001 * read + 0.01, "voltage": 0.002 * read, "current": 0.0015 * read + 0.01,
        "power": 0.001 * read + 2.0, "ohms": 0.002 * read + 0.001,
    }[name]  # fmt: skip
    return read + part * e[name] + (e[row] if row else 0.0)


def figures(e: dict[str, Any]) -> dict[str, Any]:
    """Every figure from the errors: numbers, arrays of draws, or a library's uncertain numbers."""
    cold = with_error("ohms", 2.0 * BENCH.motor.R1, e, "cold_ohms")
    cold_at = COLD - ICE + e["winding"]
    hot = with_error("ohms", HOT, e, "hot_ohms")
    rise = hot / cold * (K + cold_at) - K - (ROOM + e["room"])
    warm = cold * (K + BENCH.temperatures[0] - ICE + e["winding"]) / (K + cold_at)
    no_load_ohms = cold * (K + BENCH.light_temperature - ICE + e["winding"]) / (K + cold_at)
    friction, volts0, losses0 = no_load(e, no_load_ohms)
    rows = [load_row(row, e) for row in range(len(BENCH.loads))]

    def core_of(row: int, voltage: Any) -> Any:
        value, by_loss, by_voltage, steep = CORE[row]
        moved = steep * (voltage - INNER[row]) - by_loss.sum() * (friction - FRICTION)
        for knot in np.flatnonzero(np.abs(by_loss) + np.abs(by_voltage) > 1e-9):
            moved = moved + float(by_loss[knot]) * (losses0[knot] - float(LOSSES[knot]))
            moved = moved + float(by_voltage[knot]) * (volts0[knot] - float(VOLTS[knot]))
        return value + moved

    field_speed = math.pi * (50.0 + e["frequency"])  # four poles
    squares, residuals = [], []
    for index, one in enumerate(rows):
        slip = 1.0 - one["speed"] / field_speed
        stator = 1.5 * one["current"] ** 2 * warm
        core = core_of(index, inner(one["voltage"], one["current"], one["power"], warm))
        rotor = slip * (one["power"] - stator - core)
        known = stator + core + rotor + friction * (1.0 - slip) ** EXPONENT
        squares.append(one["torque"] ** 2)
        residuals.append(one["power"] - one["torque"] * one["speed"] - known)
    slope = line(squares, residuals)[0]
    at_reference = cold * (K + REFERENCE) / (K + cold_at)

    def at(further: Any) -> dict[str, Any]:
        """Losses at a torque further along the load curve than that of the row of rated load."""
        row = rows[RATED]
        speed, current = row["speed"] + SLOPES["speed"] * further, row["current"] + SLOPES["current"] * further
        power, torque = row["power"] + SLOPES["input_power"] * further, row["torque"] + further
        slip = (1.0 - speed / field_speed) * at_reference / warm
        stator = 1.5 * current**2 * at_reference
        core = core_of(RATED, inner(row["voltage"], current, power, warm))
        rotor = slip * (power - stator - core)
        stray, drag = slope * torque**2, friction * (1.0 - slip) ** EXPONENT
        left = power - stator - core - rotor - drag - stray
        return {
            "stator": stator, "rotor": rotor, "core": core, "friction_windage": drag, "stray": stray,
            "input_power": power, "left": left,
        }  # fmt: skip

    step = 0.01
    here, there = at(0.0), at(step)
    found = at((RATED_POWER - here["left"]) / (there["left"] - here["left"]) * step)
    taken = found["input_power"]
    return {
        **{name: value for name, value in found.items() if name != "left"},
        "efficiency": RATED_POWER / taken, "slope": slope, "winding_rise": rise,
    }  # fmt: skip


def no_load(e: dict[str, Any], ohms: Any) -> tuple[Any, list[Any], list[Any]]:
    """Friction and windage; voltages, rising, and their constant losses."""
    losses, volts = [], []
    for row, light in reversed(list(enumerate(LIGHT))):
        voltage = with_error("voltage", light["voltage"], e, f"volts0 {row}")
        current = with_error("current", light["current"], e, f"amps0 {row}")
        power = with_error("power", light["input_power"], e, f"watts0 {row}")
        volts.append(voltage)
        losses.append(power - 1.5 * current**2 * ohms)
    return line([one**2 for one in volts[:LOW]], losses[:LOW])[1], volts, losses


def load_row(row: int, e: dict[str, Any]) -> dict[str, Any]:
    """Torque, speed, current and input power of a load point."""
    state = STATES[row]
    share = row / (len(BENCH.loads) - 1)
    zero = e["zero_before"] * (1.0 - share) + e["zero_after"] * share
    return {
        "torque": with_error("torque", state["torque"], e, f"torque {row}") - zero,
        "speed": state["speed"] + e["tachometer"] + e[f"speed {row}"],
        "voltage": with_error("voltage", state["voltage"], e, f"voltage {row}"),
        "current": with_error("current", state["current"], e, f"current {row}"),
        "power": with_error("power", state["input_power"], e, f"power {row}"),
    }


def line(x: list[Any], y: list[Any]) -> tuple[Any, Any]:
    """Slope and intercept by least squares."""
    count = len(x)
    x_mean, y_mean = sum(x) / count, sum(y) / count
    products = sum((one - x_mean) * (other - y_mean) for one, other in zip(x, y, strict=True))
    slope = products / sum((one - x_mean) ** 2 for one in x)
    return slope, y_mean - slope * x_mean


#: Where each figure stands in the results.
FIGURES = ("stator", "rotor", "core", "friction_windage", "stray", "efficiency", "slope", "winding_rise")


def told(results: Results, name: str) -> Any:
    losses, thermal = results.losses, results.thermal
    assert losses is not None and losses.stray_regression is not None and thermal is not None
    if name == "winding_rise":
        return thermal.winding_rise
    return losses.stray_regression.slope if name == "slope" else getattr(losses, name)


@pytest.fixture(scope="module")
def drawn() -> dict[str, np.ndarray]:
    """A million tests of the motor."""
    generator = np.random.default_rng(SEED)
    parts = [
        figures({name: generator.uniform(-limit, limit, CHUNK) for name, limit in limits().items()})
        for _ in range(DRAWS // CHUNK)
    ]
    return {name: np.concatenate([part[name] for part in parts]) for name in FIGURES}


def tolerance(standard: float) -> float:
    """Half of the second significant digit: JCGM 101:2008, 7.9.2."""
    return 0.5 * 10.0 ** (int(f"{standard:.1e}".partition("e")[2]) - 1)


@pytest.mark.parametrize("name", FIGURES)
def test_estimate_and_standard_uncertainty_of_the_draws(name, results, drawn):
    quantity, draws = told(results, name), drawn[name]
    standard = quantity.expanded_uncertainty / quantity.coverage_factor
    assert standard == pytest.approx(draws.std(ddof=1), rel=0.0, abs=tolerance(standard))
    # The program reads its losses off the drawn curve, straight between 80 torques: that alone may move the value.
    assert quantity.value == pytest.approx(draws.mean(), rel=2e-3, abs=tolerance(standard))


@pytest.mark.parametrize("name", FIGURES)
def test_intervals_hold_the_draws(name, results, drawn):
    # JCGM 100:2008, G.6.5: with one rectangular error among the largest, k = 2 holds a little more than it says
    quantity, draws = told(results, name), drawn[name]
    held = np.mean(np.abs(draws - draws.mean()) <= quantity.expanded_uncertainty)
    assert held >= COVERAGE - 0.002


@pytest.mark.parametrize("name", FIGURES)
def test_the_same_as_an_independent_library(name, results):
    from GTC import ureal

    numbers = {key: ureal(0.0, limit / math.sqrt(3.0), label=key) for key, limit in limits().items()}
    other, quantity = figures(numbers)[name], told(results, name)
    assert quantity.expanded_uncertainty / quantity.coverage_factor == pytest.approx(other.u, rel=0.01)
