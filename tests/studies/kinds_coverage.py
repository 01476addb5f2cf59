"""How often the stated intervals hold the true values of other kinds of motor, and of starting and overload.

Called by ``coverage.py``. Motors of smooth formulas on a torque sensor whose meters, tachometer and sensor use some part of
their limits of error, drawn anew for every test; the figures of starting are those of two cages, tested at another
voltage than the plate's.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from builders import make_job, make_readings, make_rig, make_table
from numpy.typing import NDArray

from certgen.document.build import Toleranced
from certgen.job.model import DC, SINGLE_PHASE, THREE_PHASE, UNIVERSAL, Conditions, Job
from certgen.job.rig import Ammeter, Meter, Meters, Rig, Tachometer, TorqueMeter, Voltmeter, Wattmeter
from certgen.readings.model import Readings
from certgen.reduction.reduce import reduce_test
from certgen.results.characteristic import characteristic_of, with_uncertainties

Array = NDArray[np.float64]
RPM = math.pi / 30.0


@dataclass(frozen=True)
class Smooth:
    """A motor by formulas over torque [N*m]: rad/s, A, W; ``power`` [W] and ``current`` [A] are those of its plate."""

    volts: float
    power: float
    current: float
    torques: tuple[float, ...]
    speed_at: Callable[[Array], Array]
    current_at: Callable[[Array], Array]
    loss_at: Callable[[Array], Array]

    def input_at(self, torque: Array) -> Array:
        """Electrical power in. [W]"""
        return torque * self.speed_at(torque) + self.loss_at(torque)

    def torque_where(self, wanted: float, of: Callable[[Array], Array]) -> float:
        """Torque at which a figure that grows with it is reached."""
        low, high = self.torques[-1], self.torques[0]
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if of(np.array([middle]))[0] < wanted else (low, middle)
        return 0.5 * (low + high)


def _direct_current(torque: Array) -> Array:
    return 0.35 + torque / 1.05


#: One motor of each kind. The input of the direct-current motor is volts times amperes, as it is measured.
MOTORS = {
    SINGLE_PHASE: Smooth(
        230.0, 750.0, 6.0, (6.8, 6.0, 5.1, 4.2, 3.0, 1.8, 0.3),
        lambda torque: RPM * (1494.0 - 9.0 * torque - 0.5 * torque**2),
        lambda torque: np.sqrt(3.2**2 + (1.0 * torque) ** 2),
        lambda torque: 150.0 + 8.0 * torque + 3.6 * torque**2,
    ),
    UNIVERSAL: Smooth(
        230.0, 400.0, 2.9, (0.55, 0.47, 0.40, 0.33, 0.25, 0.17, 0.10),
        lambda torque: RPM * 26_000.0 / (1.0 + 3.4 * torque),
        lambda torque: 0.55 + 5.9 * torque - 0.6 * torque**2,
        lambda torque: 95.0 + 160.0 * torque + 420.0 * torque**2,
    ),
    DC: Smooth(
        180.0, 700.0, 4.6, (5.6, 4.9, 4.3, 3.6, 2.7, 1.7, 0.4),
        lambda torque: RPM * (1860.0 - 27.0 * torque - 0.6 * torque**2),
        _direct_current,
        lambda torque: 180.0 * _direct_current(torque) - torque * RPM * (1860.0 - 27.0 * torque - 0.6 * torque**2),
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Watched:
    """A figure of the results, by where it stands."""

    at: str
    quantity: str

    def __str__(self) -> str:
        """As it is printed."""
        return f"{self.quantity.replace('_', ' ')} {self.at.replace('_', ' ')}".strip()


WATCHED = (
    Watched("at_rated_current", "shaft_power"), Watched("at_rated_current", "efficiency"),
    Watched("at_rated_power", "efficiency"), Watched("at_rated_power", "current"),
)  # fmt: skip


class Instruments:
    """The instruments of one test with their errors."""

    def __init__(
        self, generator: np.random.Generator, *, volts: float, amps: float, torque: float, watts: float
    ) -> None:
        self.draw = generator
        self.meters = Meters(
            voltage=Voltmeter(reading=0.002, range=0.001, full_scale=2.0 * volts, resolution=0.1),
            current=Ammeter(reading=0.002, range=0.0005, full_scale=2.0 * amps, resolution=0.001),
            input_power=Wattmeter(reading=0.002, range=0.0005, full_scale=2.0 * watts, resolution=0.1),
            torque=TorqueMeter(reading=0.0015, range=0.0005, full_scale=2.0 * torque, resolution=0.001),
        )
        self.tolerance = 0.4 * RPM
        self._parts = {name: generator.uniform(-1.0, 1.0) for name in ("voltage", "current", "input_power", "torque")}
        self._speed = generator.uniform(-self.tolerance, self.tolerance)

    def rig(self) -> Rig:
        """As its file states it."""
        return make_rig(meters=self.meters, tachometer=Tachometer(tolerance=self.tolerance))

    def read(self, name: str, true: Array) -> Array:
        """What a meter shows: the same part of its limit everywhere, in steps of its resolution."""
        meter: Meter = getattr(self.meters, name)
        assert meter.reading is not None and meter.range is not None and meter.full_scale and meter.resolution
        limit = meter.reading * true + meter.range * meter.full_scale
        return np.asarray(np.round((true + self._parts[name] * limit) / meter.resolution) * meter.resolution)

    def speed(self, true: Array) -> Array:
        """What the tachometer shows. [rad/s]"""
        return np.where(true > 0.0, true + self._speed, 0.0)


def one_of_kind(seed: np.random.SeedSequence, kind: str) -> list[float]:
    """Errors of the watched figures, as parts of their expanded uncertainties, in one test of a kind of motor."""
    motor = MOTORS[kind]
    torque = np.array(motor.torques) * (1.0 + np.random.default_rng(seed).uniform(-0.01, 0.01, len(motor.torques)))
    of = Instruments(
        np.random.default_rng(seed.spawn(1)[0]), volts=motor.volts, amps=motor.current, torque=motor.torques[0],
        watts=float(motor.input_at(torque).max()),
    )  # fmt: skip
    columns = {
        "speed": of.speed(motor.speed_at(torque)),
        "torque": of.read("torque", torque),
        "voltage": of.read("voltage", np.full(torque.size, motor.volts)),
        "current": of.read("current", motor.current_at(torque)),
    }
    if kind != DC:
        columns["input_power"] = of.read("input_power", motor.input_at(torque))
    job = make_job(
        kind, Conditions(supply_frequency=50.0), power=motor.power, current=motor.current, voltage=motor.volts
    )
    reduction = reduce_test(job, of.rig(), make_readings(**columns))
    assert reduction.uncertainties is not None
    parts = []
    for one in WATCHED:
        wanted = motor.current if one.at == "at_rated_current" else motor.power
        by = motor.current_at if one.at == "at_rated_current" else lambda at: at * motor.speed_at(at)
        at = np.array([motor.torque_where(wanted, by)])
        truth = {
            "shaft_power": at * motor.speed_at(at),
            "efficiency": at * motor.speed_at(at) / motor.input_at(at),
            "current": motor.current_at(at),
        }[one.quantity][0]
        found = reduction.operating[one.at]
        known = reduction.uncertainties.operating[one.at][one.quantity]
        assert found is not None and known.expanded is not None and not known.assumed
        parts.append((float(getattr(found.point, one.quantity)[0]) - float(truth)) / known.expanded)
    return parts


STARTING = tuple(
    Watched("", name) for name in ("breakdown_torque", "breakdown_speed", "locked_rotor_torque", "locked_rotor_current")
)
RATED_VOLTS = 400.0


def _two_cages(slip: Array, *, summit: float, share: float) -> Array:
    """Torque at rated voltage of two cages, each by the formula of Kloss. [N*m]"""
    second = 1.4
    return np.asarray(40.0 * 2.0 * (1.0 / (slip / summit + summit / slip) + share / (slip / second + second / slip)))


def one_of_starting(seed: np.random.SeedSequence) -> list[float]:
    """Errors over expanded uncertainties of breakdown torque, its speed, and the locked-rotor figures, in one test."""
    draw = np.random.default_rng(seed)
    summit, share = draw.uniform(0.12, 0.3), draw.uniform(0.1, 0.5)
    part = draw.uniform(0.85, 0.98)  # voltage of the test over the plate's
    count = int(draw.integers(9, 16))
    slip = np.linspace(0.01, 0.9, count) + draw.uniform(-0.3, 0.3, count) * 0.9 / count
    slip = np.sort(np.clip(slip, 0.005, 0.99))
    of = Instruments(draw, volts=RATED_VOLTS, amps=20.0, torque=60.0, watts=10_000.0)
    volts = np.full(count, part * RATED_VOLTS)
    torque = part**2 * _two_cages(slip, summit=summit, share=share)
    readings = make_readings(
        speed=of.speed(1500.0 * RPM * (1.0 - slip)), torque=of.read("torque", torque), voltage=of.read("voltage", volts),
    )  # fmt: skip
    held = {
        "voltage": np.array([0.9 * RATED_VOLTS]),
        "current": np.array([0.9 * 18.0]),
        "torque": np.array([0.81 * 30.0]),
    }
    locked = make_table(**{name: of.read(name, true) for name, true in held.items()})
    found = _starting_of(replace(readings, others={"locked_rotor": locked}), of.rig())
    fine = np.linspace(0.001, 1.0, 20_001)
    curve = _two_cages(fine, summit=summit, share=share)
    top = int(np.argmax(curve))
    truth = (float(curve[top]), 1500.0 * RPM * (1.0 - float(fine[top])), 30.0, 18.0)
    parts = []
    for one, true in zip(STARTING, truth, strict=True):
        figure = getattr(found, one.quantity)
        parts.append((figure.value - true) / figure.expanded_uncertainty if figure is not None else math.nan)
    return parts


def _starting_of(readings: Readings, rig: Rig) -> object:
    job: Job = make_job(
        THREE_PHASE,
        Conditions(supply_frequency=Toleranced(50.0, tolerance=0.02)),  # type: ignore[arg-type]
        poles=4, power=2200.0, voltage=RATED_VOLTS, frequency=50.0, speed=1420.0 * RPM,
    )  # fmt: skip
    reduction = reduce_test(job, rig, readings)
    return with_uncertainties(characteristic_of(job, reduction), job, reduction)
