"""Headline figures by propagation of distributions: are the stated intervals those of 200,000 draws?

    python tests/studies/monte_carlo.py [--draws N] [--seed S]

JCGM 101:2008, clause 8: the ends of a stated interval are held against those of the probabilistically symmetric interval
of the draws, and validated where both differ by no more than the numerical tolerance, half of the last significant digit of
the standard uncertainty: of two digits, or of one where a rectangular error stands out, which makes the stated interval the
wider one (JCGM 100:2008, G.6.5). Every error is drawn from the distribution that rig and job state for it, and the whole
chain behind it is gone through again for every draw: from readings to load points, through the load curve, with what
interpolating may be wrong, to the point read off it (a load test, and the rating assessed by it); from load and no-load
test to segregated losses; from a run at one load and resistances read after switching off to the rises. The chain is
written a second time, with numpy and scipy. Exit status 1 where an interval is not validated with one digit, or holds less
than it says.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

sys.path.insert(0, str(Path(__file__).parent.parent))
sys.path.insert(0, str(Path(__file__).parent.parent / "reduction" / "uncertainty"))

import test_monte_carlo as load_bench
import test_monte_carlo_losses as loss_test
from test_monte_carlo import COVERAGE, Normal, Within, draws_of, interval, numerical_tolerance

from certgen.pipeline import assess_job
from certgen.quantity import Quantity
from certgen.results.model import Results

Array = NDArray[np.float64]
Draws = Mapping[str, Array]
DRAWS, SEED, CHUNK = 200_000, 20261129, 10_000
#: Where the load curve is read off, between two loads.
CURRENT, POWER = 3.2, 1400.0
#: The bench with an ammeter that does not outweigh all else at a point read off by current: a fifth of its error, and the
#: steps of its display [A] besides.
AMMETER, AMPERE_STEP = 0.2, 0.01
LOAD_RIG = load_bench.RIG.replace(
    "current: {reading: 0.2 %, digits: 1, resolution: 0.01 A}",
    f"current: {{reading: 0.04 %, range: 0.04 %, full_scale: 5 A, resolution: {AMPERE_STEP} A}}",
)
LOAD_JOB = load_bench.JOB.replace("current: 3.4 A", f"current: {CURRENT} A").replace("1.5 kW", f"{POWER} W")


def assessed(job: str, rig: str) -> Results:
    """What the program makes of a job."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "rig.yaml").write_text(rig, encoding="utf-8")
        (Path(folder) / "job.yaml").write_text(job, encoding="utf-8")
        return assess_job(Path(folder) / "job.yaml").results


# A point read off the load curve: of the load test, and of the rating assessed by it.


@dataclass(frozen=True)
class Curves:
    """Load curves of many draws: torque of the knots and what is read at them, shape (draws, knots)."""

    torque: Array
    read: Mapping[str, Array]

    def at(self, name: str, torque: Array) -> Array:
        """A quantity at one torque a draw, shape (draws,), by the interpolant of Fritsch and Carlson."""
        return hermite(self.torque, self.read[name], torque)


def hermite(x: Array, y: Array, at: Array) -> Array:
    """Shape-preserving cubics of many rows, each at one place: F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17
    (1980) 238, with the slopes of F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300; inner segments."""
    rows = np.arange(x.shape[0])
    left = np.clip((x[:, 1:-1] <= at[:, None]).sum(axis=1), 1, x.shape[1] - 3)
    widths, chords = np.diff(x, axis=1), np.diff(y, axis=1) / np.diff(x, axis=1)

    def slope(knot: Array) -> Array:
        before, after = chords[rows, knot - 1], chords[rows, knot]
        first, second = widths[rows, knot - 1], widths[rows, knot]
        weights = 2.0 * second + first, second + 2.0 * first
        with np.errstate(divide="ignore"):
            harmonic = (weights[0] + weights[1]) / (weights[0] / before + weights[1] / after)
        return np.where(before * after > 0.0, harmonic, 0.0)

    wide = widths[rows, left]
    part = (at - x[rows, left]) / wide
    low, high = y[rows, left], y[rows, left + 1]
    rising = wide * slope(left), wide * slope(left + 1)
    return np.asarray(
        low * (1.0 + 2.0 * part) * (1.0 - part) ** 2
        + rising[0] * part * (1.0 - part) ** 2
        + high * part**2 * (3.0 - 2.0 * part)
        + rising[1] * part**2 * (part - 1.0)
    )


def curves_of(generator: np.random.Generator, count: int) -> Curves:
    """Load curves as drawn."""
    errors = {**load_bench.errors(), "ammeter": Within(AMMETER)}
    shared = {name: draws_of(one, generator, count) for name, one in errors.items()}
    rows = []
    for row in range(len(load_bench.ROWS)):
        own = {name: draws_of(errors[name], generator, count) for name in load_bench.OF_A_READING}
        inputs = load_bench.inputs_from({**shared, **own}, row)
        for phase in ("current_a", "current_b", "current_c"):
            inputs[phase] = inputs[phase] + generator.uniform(-AMPERE_STEP / 2.0, AMPERE_STEP / 2.0, count)
        rows.append(load_bench.load_point(inputs, row))
    read = {name: np.column_stack([one[name] for one in rows]) for name in ("current", "speed", "input_power")}
    return Curves(np.column_stack([one["torque"] for one in rows]), read)


def nominal_curve() -> Curves:
    """The curve of the readings as they are."""
    still = dict.fromkeys(load_bench.errors(), 0.0)
    rows = [load_bench.load_point(load_bench.inputs_from(still, row), row) for row in range(len(load_bench.ROWS))]
    read = {name: np.array([[float(one[name]) for one in rows]]) for name in ("current", "speed", "input_power")}
    return Curves(np.array([[float(one["torque"]) for one in rows]]), read)


def bends(curve: Curves, torque: float) -> dict[str, float]:
    """How far the curve and the cubic through the four nearest knots differ at a torque: what interpolating may be wrong."""
    knots = curve.torque[0]
    first = min(max(int(np.searchsorted(knots, torque)) - 2, 0), knots.size - 4)
    near = slice(first, first + 4)
    found = {}
    for name, read in curve.read.items():
        cubic = np.polynomial.Polynomial.fit(knots[near], read[0][near], 3)
        found[name] = abs(float(cubic(torque)) - float(PchipInterpolator(knots, read[0])(torque)))
    return found


def read_off(curves: Curves, error: Draws, wanted: str, value: float) -> dict[str, Array]:
    """Every quantity where the curve, wrong by an error each, has a current [A] or a shaft power [W]."""
    count = curves.torque.shape[0]
    low, high = curves.torque[:, 1].copy(), curves.torque[:, -2].copy()
    for _ in range(45):
        middle = 0.5 * (low + high)
        speed = curves.at("speed", middle) + error["speed"]
        met = middle * speed if wanted == "shaft_power" else curves.at(wanted, middle) + error[wanted]
        below = met < value
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    torque = 0.5 * (low + high)
    assert torque.size == count
    figures = {name: curves.at(name, torque) + error[name] for name in curves.read}
    shaft_power = torque * figures["speed"]
    return {**figures, "torque": torque, "shaft_power": shaft_power, "efficiency": shaft_power / figures["input_power"]}


def points_read_off(wanted: str, value: float, at: float, generator: np.random.Generator, draws: int) -> Draws:
    """Draws of a point where the curve has a current [A] or shaft power [W], near a torque [N*m]."""
    limits, parts = bends(nominal_curve(), at), []
    for _ in range(draws // CHUNK):
        error = {name: generator.uniform(-limit, limit, CHUNK) for name, limit in limits.items()}
        parts.append(read_off(curves_of(generator, CHUNK), error, wanted, value))
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def load_test(generator: np.random.Generator, draws: int) -> Iterator[tuple[str, Quantity, Array]]:
    """Headline figures at rated current and at rated power."""
    results = assessed(LOAD_JOB, LOAD_RIG)
    for place, wanted, value in (("rated_current", "current", CURRENT), ("rated_power", "shaft_power", POWER)):
        point = getattr(results, f"at_{place}")
        found = points_read_off(wanted, value, point.torque.value, generator, draws)
        for name in ("shaft_power", "torque", "efficiency") if wanted == "current" else ("current", "efficiency"):
            yield f"{name} at {place}".replace("_", " "), getattr(point, name), found[name]


def rating(generator: np.random.Generator, draws: int) -> Iterator[tuple[str, Quantity, Array]]:
    """The rating assessed for the same motor where its plate gives the current and no power."""
    given = assessed(LOAD_JOB.replace(f"power: {POWER} W, ", ""), LOAD_RIG).assessed_rating
    assert given is not None and given.power is not None and given.torque is not None
    found = points_read_off("current", CURRENT, given.torque.value, generator, draws)
    yield "power of the rating", given.power, found["shaft_power"]
    yield "torque of the rating", given.torque, found["torque"]


def segregation(generator: np.random.Generator, draws: int) -> Iterator[tuple[str, Quantity, Array]]:
    """Losses at rated load and efficiency by segregation."""
    results = loss_test.results.__wrapped__()
    limits = loss_test.limits()
    parts = [
        loss_test.figures({name: generator.uniform(-limit, limit, CHUNK) for name, limit in limits.items()})
        for _ in range(draws // CHUNK)
    ]
    for name in ("stator", "rotor", "core", "friction_windage", "stray", "efficiency"):
        called = "efficiency by segregation" if name == "efficiency" else f"{name.replace('_', ' and ')} loss"
        yield called, loss_test.told(results, name), np.concatenate([part[name] for part in parts])


# A heat run with resistances read after switching off: readings of a motor that warms and cools by one exponential.


K, ICE_COLD, COLD_OHMS, AIR = 235.0, 21.0, 7.03, 22.0
RISE, COOLS = 62.0, 240.0  # K, s
COOLING_TIMES = np.arange(20.0, 200.0, 20.0)
FINAL, WARMS = 41.0, 38.0  # K, min
RUN_TIMES = np.arange(0.0, 181.0, 15.0)
OHMMETER, THERMOMETER, LIMIT_OF_AIR, START = (0.0005, 0.02), 0.3, 0.3, 1.0
OHM_STEP, DEGREE_STEP, FRAME_PART = 0.01, 1.0, 0.004


def cooling_ohms() -> Array:
    """Resistances after switching off, as an ohmmeter without errors shows them."""
    rise = RISE * np.exp(-COOLING_TIMES / COOLS)
    return np.asarray(COLD_OHMS * (K + AIR + rise) / (K + ICE_COLD))


def frame_degrees() -> Array:
    """Temperatures of the frame in the run. [degC]"""
    return np.asarray(AIR + FINAL * (1.0 - np.exp(-RUN_TIMES / WARMS)))


HEAT_RIG = (
    load_bench.RIG
    + f"""\
  winding_resistance: {{reading: {OHMMETER[0]}, range: 0.1 %, full_scale: 20 ohm, resolution: {OHM_STEP} ohm}}
  winding_temperature: {{digits: 3, resolution: 0.1 degC}}
  ambient_temperature: {{digits: 3, resolution: 0.1 degC}}
  frame_temperature: {{reading: {FRAME_PART}, resolution: {DEGREE_STEP} degC}}
  time: {{digits: 1, resolution: 1 s}}
"""
)
HEAT_JOB = (
    load_bench.JOB.replace("conditions:\n", f"conditions:\n  ambient: {AIR} degC\n")
    + f"""\
  winding:
    cold: {{resistance: {COLD_OHMS} ohm, temperature: {ICE_COLD} degC}}
    hot:
      ambient: {AIR} degC
      columns: {{time: s, winding_resistance: ohm}}
      rows: {np.column_stack([COOLING_TIMES, cooling_ohms()]).tolist()}
  heat_run:
    load: 100 %
    columns: {{time: min, frame_temperature: degC}}
    rows: {np.column_stack([RUN_TIMES, frame_degrees()]).tolist()}
"""
)


def heat_errors() -> dict[str, Normal | Within]:
    """The errors by name; a reading's own last digit carries its number."""
    found: dict[str, Normal | Within] = {
        "ohmmeter": Within(1.0), "cold": Within(THERMOMETER), "air": Within(LIMIT_OF_AIR), "start": Within(START),
        "frame": Within(FRAME_PART), "cold ohms": Within(OHM_STEP / 2.0),
    }  # fmt: skip
    found |= {f"ohms {row}": Within(OHM_STEP / 2.0) for row in range(COOLING_TIMES.size)}
    found |= {f"degrees {row}": Within(DEGREE_STEP / 2.0) for row in range(RUN_TIMES.size)}
    return found


def winding_rises(error: Draws) -> Array:
    """Rise at the instant of switching off, along a straight line of its logarithm."""

    def ohms(true: float, own: str) -> Array:
        return true + (OHMMETER[0] * true + OHMMETER[1]) * error["ohmmeter"] + error[own]

    cold, ambient = ohms(COLD_OHMS, "cold ohms"), AIR + error["air"]
    warm = [ohms(float(true), f"ohms {row}") / cold for row, true in enumerate(cooling_ohms())]
    logs = np.log(np.array(warm) * (K + ICE_COLD + error["cold"]) - K - ambient)
    times = COOLING_TIMES[:, None] + error["start"]
    apart = times - times.mean(axis=0)
    slope = (apart * logs).sum(axis=0) / (apart**2).sum(axis=0)
    return np.asarray(np.exp(logs.mean(axis=0) - slope * times.mean(axis=0)))


def run_fits(error: Draws) -> tuple[Array, Array]:
    """Final rise [K] and time constant [s] of the run, by least squares for every draw (Gauss and Newton)."""
    read = frame_degrees()[:, None] * (1.0 + error["frame"])
    read = read + np.array([error[f"degrees {row}"] for row in range(RUN_TIMES.size)])
    rises = (read - AIR - error["air"]).T
    count = rises.shape[0]
    fitted = np.tile([0.0, FINAL, math.log(WARMS)], (count, 1))
    for _ in range(12):
        start, final, constant = fitted[:, :1], fitted[:, 1:2], np.exp(fitted[:, 2:])
        decay = np.exp(-RUN_TIMES / constant)
        model = final + (start - final) * decay
        slopes = np.stack([decay, 1.0 - decay, (start - final) * decay * RUN_TIMES / constant], axis=2)
        normal = np.einsum("dri,drj->dij", slopes, slopes)
        step = np.linalg.solve(normal, np.einsum("dri,dr->di", slopes, rises - model)[..., None])[..., 0]
        fitted = fitted + step
    return fitted[:, 1], 60.0 * np.exp(fitted[:, 2])


def heat_run(generator: np.random.Generator, draws: int) -> Iterator[tuple[str, Quantity, Array]]:
    """Rise of the winding carried back, final rise and time constant of the frame."""
    thermal = assessed(HEAT_JOB, HEAT_RIG).thermal
    assert thermal is not None and thermal.winding_rise is not None
    assert thermal.final_rise is not None and thermal.time_constant is not None
    rises, finals, constants = [], [], []
    for _ in range(draws // CHUNK):
        error = {name: draws_of(one, generator, CHUNK) for name, one in heat_errors().items()}
        rises.append(winding_rises(error))
        final, constant = run_fits(error)
        finals.append(final)
        constants.append(constant)
    yield "winding rise carried back", thermal.winding_rise, np.concatenate(rises)
    yield "final rise of the frame", thermal.final_rise, np.concatenate(finals)
    yield "its time constant", thermal.time_constant, np.concatenate(constants)


# What is held against what.


SUBJECTS = {"load test": load_test, "rating": rating, "segregation": segregation, "heat run": heat_run}


def row_of(name: str, stated: Quantity, draws: Array) -> tuple[str, bool]:
    """One line of the table, and whether the interval is validated and holds what it says."""
    assert stated.expanded_uncertainty is not None and stated.coverage_factor is not None
    standard = stated.expanded_uncertainty / stated.coverage_factor
    tolerance = numerical_tolerance(standard, 2)
    low, high = interval(draws)
    ends = stated.value - stated.expanded_uncertainty, stated.value + stated.expanded_uncertainty
    off = abs(ends[0] - low), abs(ends[1] - high)
    decimals = max(0, -math.floor(math.log10(tolerance)))
    digits = next((count for count in (2, 1) if max(off) <= numerical_tolerance(standard, count)), 0)
    held = float(np.mean((draws >= ends[0]) & (draws <= ends[1])))
    noise = 3.0 * math.sqrt(COVERAGE * (1.0 - COVERAGE) / draws.size)
    figures = f"{stated.value:.{decimals}f} | {standard:.{decimals}f} | {draws.std(ddof=1):.{decimals}f}"
    spans = f"{ends[0]:.{decimals}f} to {ends[1]:.{decimals}f} | {low:.{decimals}f} to {high:.{decimals}f}"
    line = f"| {name}, {stated.unit} | {figures} | {spans} | {held:.2%} | {digits} |".replace("%", " %")
    return line, digits > 0 and held >= COVERAGE - noise


def main() -> int:
    """Draw, print the table of the docs, and compare."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--draws", type=int, default=DRAWS)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--subject", choices=tuple(SUBJECTS), action="append")
    options = parser.parse_args()
    print("| figure | value | *u* stated | *u* drawn | interval stated | interval drawn | draws in it | digits |")
    print("|---|---|---|---|---|---|---|---|")
    all_valid = True
    for place, subject in enumerate(SUBJECTS):
        if options.subject and subject not in options.subject:
            continue
        generator = np.random.default_rng([options.seed, place])
        for name, stated, draws in SUBJECTS[subject](generator, options.draws):
            text, valid = row_of(f"{subject}: {name}", stated, draws)
            all_valid &= valid
            print(text + ("" if valid else " NOT VALIDATED"), flush=True)
    print(
        f"\n{options.draws} draws each: {'all validated' if all_valid else 'NOT all validated'} (JCGM 101:2008, clause 8)"
    )
    return 0 if all_valid else 1


if __name__ == "__main__":
    sys.exit(main())
