"""How often the stated intervals hold the true values, in simulated tests of a motor whose truth is known.

    python tests/studies/coverage.py [--tests N] [--seed S] [--workers N]

Load points and points read off the curve are those of a motor of smooth formulas; losses, efficiency by segregation and
winding rise (``loss_coverage.py``) those of one whose every loss is known. Other kinds of motor, starting and overload
have motors of their own (``kinds_coverage.py``).

Every test draws the errors of its bench from what the rig states (one draw a test for a lever or a meter, one a row for
a pulse or a scale's scatter), makes the readings such a bench would show, and reduces them as the program does. Exit
status 1 if a share lies below 95.45 % by more than 1.5 %, or more than chance allows among fewer tests.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parent.parent))  # the builders, where this runs as a script

from builders import make_calibration, make_job, make_readings, make_rig

from certgen.document.build import Dimensioned, Toleranced
from certgen.job.model import Conditions, Job
from certgen.job.rig import Ammeter, Drive, Meter, Meters, Rig, Scale, Tachometer, Voltmeter, Wattmeter
from certgen.readings.model import Readings, Zero
from certgen.reduction.reduce import reduce_test
from certgen.reduction.uncertainty.model import Uncertainty

Array = NDArray[np.float64]

STATED, MARGIN = 0.9545, 0.015
RPM = math.pi / 30.0

# The motor: 1.5 kW, four poles, smooth over torque.

RATED_CURRENT, RATED_POWER = 3.4, 1500.0
TORQUES = np.array([0.4, 2.5, 4.5, 6.3, 8.0, 9.5, 11.0, 12.5])
ROW = 4  # the load point looked at
CREEP = 0.004  # part by which the brake's torque may differ when a load is set or read again


@dataclass(frozen=True)
class Loads:
    """How a test was taken: the torques in the order they were set [N*m], and the row looked at."""

    torques: tuple[float, ...]
    row: int
    creeping: bool = False

    def drawn(self, generator: np.random.Generator) -> Array:
        """The torques of one test. [N*m]"""
        torques = np.array(self.torques)
        return torques * (1.0 + generator.uniform(-CREEP, CREEP, torques.size)) if self.creeping else torques


#: Kinds of test, by the name they are printed under. Three loads: of rated torque 25, 80 and 120 %; none, 60 and 125 %.
KINDS = {
    "usual": Loads(tuple(TORQUES.tolist()), ROW),
    "one load read twice": Loads((12.5, 11.0, 9.5, 9.5, 8.0, 6.3, 4.5, 2.5, 0.4), 4, creeping=True),
    "every load read twice": Loads(tuple(np.repeat(TORQUES[::-1], 2).tolist()), 6, creeping=True),
    "uneven loads": Loads((12.5, 11.6, 7.0, 6.6, 2.0, 0.4), 2),
    "up and down": Loads((0.4, 4.5, 8.0, 11.0, 12.5, 12.49, 9.5, 6.3, 2.5, 0.4), 2, creeping=True),
    "three loads": Loads((12.0, 8.0, 2.5), 1),
    "three loads from none": Loads((12.5, 6.0, 0.1), 1),
}
UNBALANCE = np.array([1.001, 0.997, 1.002])  # of lines and phases


def true_speed(torque: Array) -> Array:
    """Speed of the motor. [rad/s]"""
    return RPM * (1497.0 - 6.6 * torque - 0.09 * torque**2)


def true_current(torque: Array) -> Array:
    """Mean line current. [A]"""
    return np.sqrt(1.9**2 + (0.279 * torque) ** 2)


def true_input(torque: Array) -> Array:
    """Electrical power in. [W]"""
    return torque * true_speed(torque) + 165.0 + 5.4 * torque + 1.5 * torque**2


def true_voltage(torque: Array) -> Array:
    """Mean line voltage: the supply sags a little. [V]"""
    return 401.0 - 0.15 * torque


def torque_where(wanted: float, quantity: str) -> float:
    """Torque at which the motor truly has a current or a shaft power."""
    low, high = 1.0, float(TORQUES[-1])
    for _ in range(60):
        torque = np.array([0.5 * (low + high)])
        value = true_current(torque) if quantity == "current" else torque * true_speed(torque)
        low, high = (float(torque[0]), high) if value[0] < wanted else (low, float(torque[0]))
    return 0.5 * (low + high)


def truth_at(torque: float) -> dict[str, float]:
    """True values at a torque."""
    at = np.array([torque])
    shaft_power = float((at * true_speed(at))[0])
    power = float(true_input(at)[0])
    return {"shaft_power": shaft_power, "efficiency": shaft_power / power, "current": float(true_current(at)[0])}


# The bench, as its rig file states it. No one rectangular error outweighs the others: where one does, twice the standard
# uncertainty holds more than it says (JCGM 100:2008, G.6.5), and the study would tell of that alone.

SCATTER, RESOLUTION, HYSTERESIS = 0.002, 0.002, 0.004  # kg
LOADS = np.linspace(0.0, 6.0, 13)
WEIGHTS = 0.001  # expanded uncertainty of the loads, as a part of each
ARM, ARM_EXPANDED = 0.5, 0.0012
TARE, TARE_LIMIT = 0.060, 0.015
GRAVITY, GRAVITY_LIMIT = 9.812, 0.008
RATIO, RATIO_LIMIT = 2.0, 0.001
BELT, BELT_LIMIT = 0.970, 0.0015
TACHOMETER = Tachometer(pulses_per_revolution=60, gate=2.0, tolerance=0.8 * RPM, on="absorber")
METERS = Meters(
    voltage=Voltmeter(reading=0.003, range=0.001, full_scale=600.0, resolution=0.1),
    current=Ammeter(reading=0.001, range=0.0005, full_scale=5.0, resolution=0.01),
    input_power=Wattmeter(reading=0.001, range=0.0005, full_scale=3000.0, resolution=1.0),
)
JOB: Job = make_job(
    power=RATED_POWER, voltage=400.0, current=RATED_CURRENT, frequency=50.0, speed=1420.0 * RPM, poles=4,
    conditions=Conditions(
        local_gravity=Toleranced(GRAVITY, tolerance=GRAVITY_LIMIT),  # type: ignore[arg-type]
        supply_frequency=Toleranced(50.0, tolerance=0.05),  # type: ignore[arg-type]
    ),
)  # fmt: skip


class Bench:
    """One test on a bench whose errors are drawn anew."""

    def __init__(self, generator: np.random.Generator, torques: Array = TORQUES) -> None:
        self._generator = generator
        self.torques = torques
        self.arm = ARM + generator.normal(0.0, ARM_EXPANDED / 2.0)
        self.gravity = GRAVITY + self.within(GRAVITY_LIMIT)
        self.tare = TARE + self.within(TARE_LIMIT)
        self.ratio = RATIO + self.within(RATIO_LIMIT * RATIO)
        self.belt = BELT + self.within(BELT_LIMIT)
        self.scale_gain = 1.0 + self.within(0.003)  # what the calibration is for
        self.scale_zero = self.within(0.02)

    def within(self, limit: float, count: int | None = None) -> float | Array:
        """Errors nowhere likelier than elsewhere within a limit."""
        return self._generator.uniform(-limit, limit, count)

    def shown(self, zero: Array | float, load: Array | float, hysteresis: float = 0.0) -> Array:
        """Indications of the scale: its line, its scatter, its last digit."""
        exact = np.asarray(zero + self.scale_gain * load + hysteresis)
        scattered = exact + self._generator.normal(0.0, SCATTER, exact.shape)
        return np.asarray(np.round(scattered / RESOLUTION) * RESOLUTION)

    def rig(self) -> Rig:
        """The rig with a calibration made before the test."""
        loads = LOADS * (1.0 + self._generator.normal(0.0, WEIGHTS / 2.0))
        calibration = make_calibration(LOADS.tolist(), self.shown(self.scale_zero, loads).tolist())
        stated = Dimensioned(WEIGHTS, "ratio")
        return make_rig(
            "arm",
            arm_length=Toleranced(ARM, expanded_uncertainty=ARM_EXPANDED),
            scale=Scale(
                "mass",
                resolution=Dimensioned(RESOLUTION, "mass"),
                hysteresis=Dimensioned(HYSTERESIS, "mass"),
                calibration=replace(calibration, expanded_uncertainty=stated),
            ),
            tare_torque=Toleranced(TARE, tolerance=TARE_LIMIT),
            tachometer=TACHOMETER,
            meters=METERS,
            drive=Drive("belt", ratio=RATIO, efficiency=BELT, tolerance=BELT_LIMIT, ratio_tolerance=RATIO_LIMIT),
        )

    def readings(self) -> Readings:
        """What the bench shows at every load."""
        zero, columns = self._scale()
        lines = UNBALANCE[:, None]
        volts = self._metered(METERS.voltage, true_voltage(self.torques) * lines / UNBALANCE.mean())
        amperes = self._metered(METERS.current, true_current(self.torques) * lines / UNBALANCE.mean())
        names = ("voltage_ab", "voltage_bc", "voltage_ca", "current_a", "current_b", "current_c")
        columns.update(zip(names, [*volts, *amperes], strict=True))
        columns["input_power"] = self._metered(METERS.input_power, true_input(self.torques))
        columns["speed"] = self._counted(true_speed(self.torques) / self.ratio)
        return make_readings(zero=zero, **columns)

    def _scale(self) -> tuple[Zero, dict[str, Array]]:
        drift = 0.006
        share = np.linspace(0.0, 1.0, self.torques.size)
        moving = self.scale_zero + drift * share + self.within(0.5 * drift)
        load = (self.torques * self.ratio * self.belt - self.tare) / self.arm / self.gravity
        indications = self.shown(moving, load, float(self.within(0.5 * HYSTERESIS)))
        before, after = self.shown(self.scale_zero + np.array([0.0, drift]), 0.0)
        return Zero(float(before), float(after)), {"scale": indications}

    def _counted(self, speed: Array) -> Array:
        assert TACHOMETER.pulses_per_revolution is not None and TACHOMETER.gate is not None
        assert TACHOMETER.tolerance is not None
        pulse = 2.0 * math.pi / (TACHOMETER.pulses_per_revolution * TACHOMETER.gate)
        return speed + self.within(TACHOMETER.tolerance) + self.within(pulse, speed.size)

    def _metered(self, meter: Meter | None, true: Array) -> Array:
        """Readings of a meter that uses some part of its limit of error, the same at every reading."""
        assert meter is not None and meter.reading is not None and meter.range is not None
        assert meter.full_scale is not None and meter.resolution is not None
        limit = meter.reading * true + meter.range * meter.full_scale
        return np.asarray(np.round((true + self.within(1.0) * limit) / meter.resolution) * meter.resolution)


@dataclass(frozen=True)
class Watched:
    """A figure of the results, by where it stands."""

    at: str
    quantity: str

    def __str__(self) -> str:
        """As it is printed."""
        return f"{self.quantity.replace('_', ' ')} {self.at.replace('_', ' ')}"


WATCHED = (
    Watched("at_a_load_point", "shaft_power"), Watched("at_a_load_point", "efficiency"),
    Watched("at_rated_current", "shaft_power"), Watched("at_rated_current", "efficiency"),
    Watched("at_rated_power", "efficiency"), Watched("at_rated_power", "current"),
)  # fmt: skip

TRUTH = {
    "at_a_load_point": truth_at(float(TORQUES[ROW])),
    "at_rated_current": truth_at(torque_where(RATED_CURRENT, "current")),
    "at_rated_power": truth_at(torque_where(RATED_POWER, "shaft_power")),
}


def one_test(seed: np.random.SeedSequence, kind: str = "usual") -> list[float]:
    """Errors of the watched figures, as parts of their expanded uncertainties, in one simulated test."""
    generator, loads = np.random.default_rng(seed), KINDS[kind]
    bench = Bench(generator, loads.drawn(generator))
    truth = {**TRUTH, "at_a_load_point": truth_at(float(bench.torques[loads.row]))}
    reduction = reduce_test(JOB, bench.rig(), bench.readings())
    sure = reduction.uncertainties
    assert sure is not None
    parts = []
    for one in WATCHED:
        operating = reduction.operating.get(one.at)
        point, row = (reduction.points, loads.row) if operating is None else (operating.point, 0)
        figures = sure.points[loads.row] if operating is None else sure.operating[one.at]
        found: Uncertainty = figures[one.quantity]
        assert found.expanded is not None, f"{one}: {found.missing_inputs}"
        assert not found.assumed, f"{one}: {found.assumed}"
        parts.append((float(getattr(point, one.quantity)[row]) - truth[one.at][one.quantity]) / found.expanded)
    return parts


Test = Callable[[np.random.SeedSequence], list[float]]


def study(tests: int, seed: int, workers: int = 1, one: Test = one_test) -> Array:
    """Errors over expanded uncertainties, one row a test, one column a watched figure."""
    return np.array(list(_run(np.random.SeedSequence(seed).spawn(tests), workers, one)))


def _run(seeds: Sequence[np.random.SeedSequence], workers: int, one: Test) -> Iterator[list[float]]:
    if workers == 1:
        yield from map(one, seeds)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(one, seeds, chunksize=25)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the study and say what it found."""
    parser = argparse.ArgumentParser(description="How often stated intervals hold the true values.")
    parser.add_argument("--tests", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    chosen = parser.parse_args(arguments)
    from studies import kinds_coverage as kinds
    from studies.loss_coverage import FIGURES, one_loss_test

    ways: dict[str, tuple[Test, Sequence[object]]] = {
        **{kind: (partial(one_test, kind=kind), WATCHED) for kind in KINDS},
        **{kind: (partial(kinds.one_of_kind, kind=kind), kinds.WATCHED) for kind in kinds.MOTORS},
        "starting and overload": (kinds.one_of_starting, kinds.STARTING),
        "losses and winding rise": (one_loss_test, FIGURES),
    }
    held = [
        _told(name, study(chosen.tests, chosen.seed, chosen.workers, one), figures, chosen.seed)
        for name, (one, figures) in ways.items()
    ]
    print(f"stated {100.0 * STATED:.2f} %: {'held' if all(held) else 'NOT held'}")
    return 0 if all(held) else 1


def _told(name: str, parts: Array, figures: Sequence[object], seed: int) -> bool:
    """Print the shares of one kind of test; whether none is too small, and the usual ones not too large either.

    Between few loads the curve is taken as wide as it may be, so that more than the stated share is held.
    """
    tests = parts.shape[0]
    shares = np.nanmean(np.where(np.isfinite(parts), np.abs(parts) <= 1.0, np.nan), axis=0)
    sizes = np.sqrt(np.nanmean((2.0 * parts) ** 2, axis=0))  # k is near 2 throughout
    print(f"{name}: {tests} tests, seed {seed}: share of intervals that hold the true value, and")
    print("root mean square of the errors over half the expanded uncertainty, which should be near 1")
    for one, share, size in zip(figures, shares, sizes, strict=True):
        print(f"  {one!s:<34} {100.0 * share:6.2f} %   {size:5.3f}")
    chance = 3.0 * math.sqrt(STATED * (1.0 - STATED) / tests)
    return bool(np.all(shares >= STATED - max(MARGIN, chance)))


if __name__ == "__main__":
    sys.exit(main())
