"""Propagated uncertainties against a million draws of the whole chain, and against an independent library.

The model is written here a second time, straight from what the rig file says, with numpy alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from certgen.pipeline import assess_job
from certgen.results.model import Results

pytestmark = pytest.mark.slow

DRAWS, SEED = 1_000_000, 20260314
CURVES = 4000  # load curves drawn for a point read off
COVERAGE = 0.9545
ROW = 4  # the load point drawn
RATED_CURRENT = 3.4

APPLIED = np.arange(21) * 0.25
INDICATED = np.array(
    [0.005, 0.254, 0.505, 0.756, 1.004, 1.254, 1.508, 1.758, 2.006, 2.257, 2.509, 2.760, 3.010, 3.258, 3.509, 3.762,
     4.013, 4.261, 4.512, 4.763, 5.013]
)  # fmt: skip
ROWS = np.array(
    [
        [747.4, 0.120, 400.3, 399.1, 401.0, 1.91, 1.89, 1.90, 214.0],
        [739.5, 1.000, 400.3, 399.1, 401.0, 2.03, 2.01, 2.03, 579.0],
        [730.1, 2.000, 400.3, 399.1, 401.0, 2.37, 2.34, 2.36, 1001.0],
        [720.3, 2.995, 400.3, 399.1, 401.0, 2.84, 2.81, 2.83, 1432.0],
        [710.0, 3.990, 400.3, 399.1, 401.0, 3.40, 3.36, 3.39, 1870.0],
        [701.5, 4.790, 400.3, 399.1, 401.0, 3.88, 3.83, 3.86, 2226.0],
    ]
)

RIG = f"""\
name: Cradle behind a belt
absorber: {{kind: arm}}
arm_length: {{value: 0.5 m, expanded_uncertainty: 1.2 mm}}
scale:
  reads: mass
  resolution: 0.002 kg
  hysteresis: 0.004 kg
  calibration:
    applied: [{", ".join(f"{one} kg" for one in APPLIED)}]
    indicated: [{", ".join(f"{one} kg" for one in INDICATED)}]
    expanded_uncertainty: 0.2 %
tare_torque: {{value: 0.060 N*m, tolerance: 0.010 N*m}}
tachometer: {{pulses_per_revolution: 60, gate: 4 s, tolerance: 0.5 rpm, on: absorber}}
drive: {{kind: belt, ratio: 2.0, ratio_tolerance: 0.1 %, efficiency: 0.970, tolerance: 0.0006}}
meters:
  voltage: {{reading: 0.1 %, range: 0.05 %, full_scale: 600 V, resolution: 0.1 V}}
  current: {{reading: 0.2 %, digits: 1, resolution: 0.01 A}}
  input_power: {{reading: 0.05 %, range: 0.02 %, full_scale: 3 kW, resolution: 1 W}}
"""

JOB = f"""\
certificate: {{number: U-1, tested_on: 2026-03-14, tested_by: R. Tanner}}
motor: {{type: three-phase induction}}
nameplate: {{power: 1.5 kW, voltage: 400 V, current: 3.4 A, frequency: 50 Hz, speed: 1420 rpm, poles: 4}}
rig: rig.yaml
conditions:
  local_gravity: {{value: 9.812 m/s^2, tolerance: 0.006 m/s^2}}
  supply_frequency: {{value: 50 Hz, tolerance: 0.05 Hz}}
readings:
  zero_before: 0.010 kg
  zero_after: 0.014 kg
  load_test:
    columns:
      {{speed: rpm, scale: kg, voltage_ab: V, voltage_bc: V, voltage_ca: V, current_a: A, current_b: A,
       current_c: A, input_power: W}}
    rows:
{chr(10).join(f"      - {row.tolist()}" for row in ROWS)}
"""

QUANTITIES = ("torque", "speed", "slip", "shaft_power", "input_power", "voltage", "current", "power_factor",
              "apparent_power", "efficiency", "losses")  # fmt: skip
#: Figures to which several errors of like size add: the sum is near enough to normal for k = 2.
COMBINED = ("torque", "shaft_power", "efficiency", "losses")


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Results:
    """What the program makes of the test."""
    folder: Path = tmp_path_factory.mktemp("bench")
    (folder / "rig.yaml").write_text(RIG, encoding="utf-8")
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    return assess_job(folder / "job.yaml").results


@pytest.fixture(scope="module")
def point(results: Results) -> Any:
    """The load point as the program has it."""
    return results.points[ROW]


def load_point(x: dict[str, Any], row: int = ROW) -> dict[str, Any]:
    """Every quantity of a load point from its inputs: numbers, arrays of draws, or a library's uncertain numbers."""
    root_three = math.sqrt(3.0)
    share = row / (len(ROWS) - 1)
    zero = x["zero_before"] + (x["zero_after"] - x["zero_before"]) * share + x["zero_drift"]
    mass = (x["scale"] + x["hysteresis"] - zero) / x["calibration_slope"]
    at_absorber = mass * x["gravity"] * x["arm"] + x["tare"]
    torque = at_absorber / (x["ratio"] * x["belt_efficiency"])
    speed = x["absorber_speed"] * x["ratio"]
    shaft_power = torque * speed
    voltage = (x["voltage_ab"] + x["voltage_bc"] + x["voltage_ca"]) / 3.0
    current = (x["current_a"] + x["current_b"] + x["current_c"]) / 3.0
    apparent = root_three * voltage * current
    return {
        "torque": torque,
        "speed": speed,
        "slip": 1.0 - speed / (math.pi * x["frequency"]),  # four poles
        "shaft_power": shaft_power,
        "input_power": x["input_power"],
        "voltage": voltage,
        "current": current,
        "apparent_power": apparent,
        "power_factor": x["input_power"] / apparent,
        "efficiency": shaft_power / x["input_power"],
        "losses": x["input_power"] - shaft_power,
    }


@dataclass(frozen=True)
class Normal:
    """A normal distribution, or Student's scaled and perturbed where it has degrees of freedom."""

    standard: float
    freedom: float = math.inf


@dataclass(frozen=True)
class Within:
    """A rectangular distribution between limits either side."""

    limit: float

    @property
    def standard(self) -> float:
        """Its standard deviation."""
        return self.limit / math.sqrt(3.0)


def calibration_line() -> tuple[float, float, float, int]:
    """Slope, its standard uncertainty, the scatter, and the degrees of freedom; scipy's, not the program's."""
    from scipy.stats import linregress

    fit = linregress(APPLIED, INDICATED)
    residuals = INDICATED - fit.intercept - fit.slope * APPLIED
    freedom = APPLIED.size - 2
    return fit.slope, fit.stderr, math.sqrt(residuals @ residuals / freedom), freedom


def errors() -> dict[str, Normal | Within]:
    """The independent errors, by name, as the rig and the job state them."""
    _, of_slope, scatter, freedom = calibration_line()
    pulse = 2.0 * math.pi / (60.0 * 4.0)
    resolutions = {f"voltage_{one}": Within(0.05) for one in ("ab", "bc", "ca")}
    return {
        "arm": Normal(0.0006),
        "gravity": Within(0.006),
        "tare": Within(0.010),
        "scale": Normal(scatter, freedom),
        "hysteresis": Within(0.002),
        "zero_before": Normal(scatter, freedom),
        "zero_after": Normal(scatter, freedom),
        "zero_drift": Within(0.002),
        "calibration_slope": Normal(of_slope, freedom),
        "applied_loads": Normal(0.001),
        "ratio": Within(0.002),
        "belt_efficiency": Within(0.0006),
        "pulse": Within(pulse),
        "tachometer": Within(0.5 * math.pi / 30.0),
        "frequency": Within(0.05),
        "voltmeter": Within(1.0),
        "ammeter": Within(1.0),
        "wattmeter": Within(1.0),
        "wattmeter_resolution": Within(0.5),
        **resolutions,
    }


def inputs_from(error: dict[str, Any], row: int = ROW) -> dict[str, Any]:
    """Inputs of a load point: what was read or stated, with an error each."""
    rpm, scale, *electrical = ROWS[row].tolist()
    volts, amperes, watts = electrical[:3], electrical[3:6], electrical[6]
    slope = calibration_line()[0]
    lines, phases = ("voltage_ab", "voltage_bc", "voltage_ca"), ("current_a", "current_b", "current_c")
    return {
        "zero_before": 0.010 + error["zero_before"],
        "zero_after": 0.014 + error["zero_after"],
        "zero_drift": error["zero_drift"],
        "scale": scale + error["scale"],
        "hysteresis": error["hysteresis"],
        # Loads that were heavier than believed make the scale's indication for a kilogram smaller.
        "calibration_slope": (slope + error["calibration_slope"]) / (1.0 + error["applied_loads"]),
        "gravity": 9.812 + error["gravity"],
        "arm": 0.5 + error["arm"],
        "tare": 0.060 + error["tare"],
        "ratio": 2.0 + error["ratio"],
        "belt_efficiency": 0.970 + error["belt_efficiency"],
        "absorber_speed": rpm * math.pi / 30.0 + error["pulse"] + error["tachometer"],
        "frequency": 50.0 + error["frequency"],
        "input_power": watts + (0.0005 * watts + 0.6) * error["wattmeter"] + error["wattmeter_resolution"],
        **{
            line: read + (0.001 * read + 0.3) * error["voltmeter"] + error[line]
            for line, read in zip(lines, volts, strict=True)
        },
        **{phase: read + (0.002 * read + 0.01) * error["ammeter"] for phase, read in zip(phases, amperes, strict=True)},
    }


#: Errors that are new at every reading; all others are the same in every row.
OF_A_READING = ("scale", "pulse", "wattmeter_resolution", "voltage_ab", "voltage_bc", "voltage_ca")


def draws_of(one: Normal | Within, generator: np.random.Generator, count: int) -> np.ndarray:
    """Draws from a distribution, Student's by JCGM 101:2008, 6.4.9."""
    if isinstance(one, Within):
        return generator.uniform(-one.limit, one.limit, count)
    if math.isinf(one.freedom):
        return generator.normal(0.0, one.standard, count)
    return one.standard * generator.standard_t(one.freedom, count)


@pytest.fixture(scope="module")
def drawn() -> dict[str, np.ndarray]:
    """A million load points."""
    generator = np.random.default_rng(SEED)
    return load_point(inputs_from({name: draws_of(one, generator, DRAWS) for name, one in errors().items()}))


def numerical_tolerance(standard: float, digits: int) -> float:
    """Half of the last of so many significant digits: JCGM 101:2008, 7.9.2."""
    exponent = int(f"{standard:.{digits - 1}e}".partition("e")[2])
    return 0.5 * 10.0 ** (exponent - digits + 1)


def interval(draws: np.ndarray) -> tuple[float, float]:
    """The probabilistically symmetric coverage interval: JCGM 101:2008, 7.7."""
    tail = (1.0 - COVERAGE) / 2.0
    low, high = np.quantile(draws, [tail, 1.0 - tail])
    return float(low), float(high)


@pytest.mark.parametrize("name", QUANTITIES)
def test_estimate_and_standard_uncertainty_of_the_draws(name, point, drawn):
    quantity, draws = getattr(point, name), drawn[name]
    standard = quantity.expanded_uncertainty / quantity.coverage_factor
    tolerance = numerical_tolerance(standard, 2)
    assert quantity.value == pytest.approx(draws.mean(), rel=0.0, abs=tolerance)
    assert standard == pytest.approx(draws.std(ddof=1), rel=0.0, abs=tolerance)


@pytest.mark.parametrize("name", COMBINED)
def test_coverage_interval_of_the_draws(name, point, drawn):
    # JCGM 101:2008, 8.1: both ends within the numerical tolerance
    quantity = getattr(point, name)
    low, high = interval(drawn[name])
    tolerance = numerical_tolerance(quantity.expanded_uncertainty / quantity.coverage_factor, 2)
    assert quantity.value - quantity.expanded_uncertainty == pytest.approx(low, rel=0.0, abs=tolerance)
    assert quantity.value + quantity.expanded_uncertainty == pytest.approx(high, rel=0.0, abs=tolerance)


@pytest.mark.parametrize("name", sorted({*QUANTITIES} - {*COMBINED}))
def test_one_limit_of_error_alone_is_covered_on_the_safe_side(name, point, drawn):
    # JCGM 100:2008, G.6.5: where one rectangular error dominates, twice the standard uncertainty holds more than 95 %
    quantity = getattr(point, name)
    held = np.mean(np.abs(drawn[name] - quantity.value) <= quantity.expanded_uncertainty)
    assert held >= COVERAGE


@pytest.fixture(scope="module")
def independent() -> dict[str, Any]:
    """The load point as uncertain numbers of the GUM Tree Calculator."""
    from GTC import ureal

    numbers = {}
    for name, one in errors().items():
        freedom = one.freedom if isinstance(one, Normal) else math.inf
        numbers[name] = ureal(0.0, one.standard, freedom, label=name)
    return load_point(inputs_from(numbers))


@pytest.mark.parametrize("name", QUANTITIES)
def test_the_same_as_an_independent_library(name, point, independent):
    # The program's derivatives are differences over a standard uncertainty either side: they miss by the third order.
    quantity, other = getattr(point, name), independent[name]
    assert quantity.value == pytest.approx(other.x, rel=6e-8)
    assert quantity.expanded_uncertainty / quantity.coverage_factor == pytest.approx(other.u, rel=1e-4)


@pytest.mark.parametrize("name", ["torque", "shaft_power", "efficiency", "losses"])
def test_coverage_factor_of_an_independent_library(name, point, independent):
    from scipy.stats import norm, t

    freedom = math.floor(independent[name].df)
    expected = t.ppf(norm.cdf(2.0), freedom)
    assert getattr(point, name).coverage_factor == pytest.approx(expected, rel=1e-6)


# A point read off the load curve


@pytest.fixture(scope="module")
def read_off() -> dict[str, np.ndarray]:
    """The point at rated current from load curves drawn whole, interpolated by scipy."""
    from scipy.interpolate import PchipInterpolator

    generator = np.random.default_rng(SEED + 1)
    shared = {name: draws_of(one, generator, CURVES) for name, one in errors().items()}
    rows = []
    for row in range(len(ROWS)):
        own = {name: draws_of(errors()[name], generator, CURVES) for name in OF_A_READING}
        rows.append(load_point(inputs_from({**shared, **own}, row), row))
    torque = np.column_stack([one["torque"] for one in rows])
    names = ("current", "speed", "input_power")
    read = np.stack([np.column_stack([one[name] for one in rows]) for name in names], axis=2)
    found = []
    for knots, values in zip(torque, read, strict=True):
        at = PchipInterpolator(knots, values[:, 0]).solve(RATED_CURRENT, extrapolate=False)[-1]
        speed, power = PchipInterpolator(knots, values[:, 1:])(at)
        found.append((at, speed, power))
    torques, speeds, powers = np.array(found).T
    shaft_power = torques * speeds
    return {
        "torque": torques, "speed": speeds, "shaft_power": shaft_power, "input_power": powers,
        "efficiency": shaft_power / powers,
    }  # fmt: skip


@pytest.mark.parametrize("name", ["torque", "speed", "shaft_power", "input_power", "efficiency"])
def test_a_point_read_off_the_curve(name, results, read_off):
    # What the program adds for interpolating is taken off: the draws have the same interpolant, without that error.
    quantity, draws = getattr(results.at_rated_current, name), read_off[name]
    lines = [one for one in results.budget if one.at == "at_rated_current" and one.quantity == name]
    assert lines
    of_curve = sum(one.contribution**2 for one in lines if "interpolation" in one.input.key)
    standard = math.sqrt((quantity.expanded_uncertainty / quantity.coverage_factor) ** 2 - of_curve)
    assert quantity.value == pytest.approx(draws.mean(), abs=5.0 * standard / math.sqrt(CURVES))
    # Five standard deviations of the draws' own: 1 / sqrt(2 n) of a standard deviation
    assert standard == pytest.approx(draws.std(ddof=1), rel=5.0 / math.sqrt(2.0 * CURVES))
