"""Motors as catalogues list them: ratings of the ladders, with the efficiency, slip and power factor usual at them.

Every range here is from memory of ordinary catalogues: full-load efficiency 55 % (0.12 kW) to 92 % (15 kW) and power factor
0.55 to 0.9 of three-phase motors, 45 to 80 % of single-phase ones, 55 to 90 % of direct-current and 40 to 72 % of
universal ones.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from simulated_tests.commutator import PERMANENT_MAGNET, SERIES, SHUNT, UNIVERSAL, WantedCommutator, commutator_of
from simulated_tests.induction import SinglePhaseCage, ThreePhaseCage, Wanted, cage_of
from simulated_tests.motor import RPM, Motor

#: Rated powers of three-phase motors [W].
LADDER = (120, 180, 250, 370, 550, 750, 1100, 1500, 2200, 3000, 4000, 5500, 7500, 11000, 15000)
SMALL = (120, 180, 250, 370, 550, 750, 1100, 1500, 2200)
HORSEPOWER = 745.7

# Four-pole motors between the oldest class and the best of today; by the logarithm of power.
_POWERS = np.log([120.0, 370.0, 750.0, 1500.0, 4000.0, 7500.0, 15000.0])
_EFFICIENCY = (0.56, 0.68, 0.75, 0.80, 0.845, 0.87, 0.895)
_BETTER = (0.08, 0.07, 0.07, 0.05, 0.04, 0.03, 0.025)
_POWER_FACTOR = (0.63, 0.72, 0.76, 0.79, 0.82, 0.84, 0.85)
_SLIP = (0.085, 0.070, 0.060, 0.050, 0.040, 0.033, 0.025)
_BY_POLES = {2: (0.01, 0.06, 1.0), 4: (0.0, 0.0, 1.0), 6: (-0.03, -0.07, 1.05), 8: (-0.08, -0.13, 1.1)}


def _usual(table: tuple[float, ...], power: float) -> float:
    return float(np.interp(np.log(power), _POWERS, table))


def three_phase(draw: np.random.Generator, hot: float) -> ThreePhaseCage:
    """A cage motor, 2 to 8 poles, 0.12 to 15 kW."""
    while True:
        poles = int(draw.choice([2, 4, 6, 8], p=[0.25, 0.45, 0.2, 0.1]))
        power = float(draw.choice(LADDER))
        american = draw.random() < 0.25
        better, brighter, slower = _BY_POLES[poles]
        efficiency = _usual(_EFFICIENCY, power) + better + draw.uniform(-0.01, 1.0) * _usual(_BETTER, power)
        wanted = Wanted(
            power, *((draw.choice([230.0, 460.0]), 60.0) if american else (draw.choice([230.0, 400.0], p=[0.2, 0.8]), 50.0)),
            poles,
            slip=_usual(_SLIP, power) * slower * draw.uniform(0.72, 1.2),
            efficiency=min(efficiency, 0.93),
            power_factor=_usual(_POWER_FACTOR, power) + brighter + draw.uniform(-0.05, 0.03),
            hot=hot,
        )  # fmt: skip
        leakage = (draw.uniform(0.07, 0.11), draw.uniform(0.08, 0.14))
        shares = (draw.uniform(0.04, 0.12), draw.uniform(0.05, 0.12), draw.uniform(0.15, 0.26))
        motor = cage_of(wanted, leakage, shares)
        if motor is not None:
            return motor


def single_phase(draw: np.random.Generator, hot: float) -> SinglePhaseCage:
    """A motor that runs on its main winding alone, or with a capacitor that stays in circuit; 2 to 6 poles."""
    while True:
        permanent = draw.random() < 0.4
        motor = _single_phase(draw, hot, float(draw.choice(SMALL)), permanent)
        hot_rating = _rating(motor)
        least = 0.50 if motor.power < 400 else 0.58
        if hot_rating is not None and least <= hot_rating[0] <= 0.82 and hot_rating[1] >= (0.85 if permanent else 0.5):
            return motor


def _rating(motor: SinglePhaseCage) -> tuple[float, float] | None:
    """Efficiency and power factor at the design power; ``None`` where it is not far enough from breakdown."""
    shown = motor.at(motor.states(), *(np.array(one) for one in (motor.voltage, motor.frequency, motor.hot)))
    top = int(np.argmax(shown.torque))
    if not shown.shaft_power[: top + 1].max() > 1.5 * motor.power:
        return None
    index = int(np.argmax(shown.shaft_power >= motor.power))
    return float(shown.efficiency[index]), float(shown.power_factor[index])


def _single_phase(draw: np.random.Generator, hot: float, power: float, permanent: bool) -> SinglePhaseCage:
    """A circuit in parts of V squared over power, made as large as gives that power at its slip."""
    frequency, voltage = (60.0, float(draw.choice([115.0, 230.0]))) if draw.random() < 0.3 else (50.0, 230.0)
    poles = int(draw.choice([2, 4, 6], p=[0.3, 0.6, 0.1]))
    small = (power / 150.0) ** -0.22
    R1, R2 = 0.038 * small * draw.uniform(0.8, 1.25), 0.055 * small * draw.uniform(0.8, 1.2)
    parts = {"R1": R1, "R2": R2, "X1": 0.035 * draw.uniform(0.8, 1.3), "X2": 0.030 * draw.uniform(0.8, 1.3)}
    parts["Xm"] = draw.uniform(0.8, 1.25)
    slip, rubbed = R2 * draw.uniform(0.75, 1.1), draw.uniform(0.03, 0.08)
    core = draw.uniform(0.06, 0.16) * power
    ratio = draw.uniform(1.0, 1.5) if permanent else 1.0
    base = voltage**2 / power
    synchronous = 4.0 * np.pi * frequency / poles

    def made(scale: float, friction: float, capacitor: float) -> SinglePhaseCage:
        ohms = {name: part * base * scale for name, part in parts.items()}
        return SinglePhaseCage(
            "capacitor run" if permanent else "main winding alone", power, voltage, frequency, poles, hot, **ohms,
            core=core, friction=friction, ratio=ratio, auxiliary=1.2 * ratio**2 * ohms["R1"] if permanent else 0.0,
            capacitor=capacitor,
        )  # fmt: skip

    farads = 0.45 / (2.0 * np.pi * frequency * base * ratio**2) * draw.uniform(0.8, 1.1) if permanent else 0.0
    at = [np.array(one) for one in (slip, voltage, frequency, hot)]
    bare = made(1.0, 0.0, farads).at(*at)
    scale = float(bare.shaft_power) / (power * (1.0 + rubbed))
    return made(scale, rubbed * power / (synchronous * (1.0 - slip)), farads / scale)


def direct_current(draw: np.random.Generator, hot: float) -> Motor:
    """A permanent-magnet, shunt or series motor, 0.1 to 15 kW."""
    name = str(draw.choice([PERMANENT_MAGNET, SHUNT, SERIES], p=[0.4, 0.35, 0.25]))
    most = 2200.0 if name == PERMANENT_MAGNET else 15000.0
    while True:
        power = float(draw.choice([one for one in LADDER if one <= most]))
        supplies = [24.0, 90.0, 180.0] if power < 1000 else [180.0, 240.0, 440.0] if power < 4000 else [240.0, 440.0]
        efficiency = np.interp(np.log(power), _POWERS, (0.62, 0.70, 0.75, 0.79, 0.83, 0.86, 0.885)) + draw.uniform(
            -0.05, 0.04
        )
        wanted = WantedCommutator(
            name, power, float(draw.choice(supplies)), 0.0, speed=RPM * draw.uniform(1200.0, 3000.0),
            efficiency=float(efficiency), power_factor=1.0, hot=hot,
            bend=draw.uniform(0.5, 1.6) if name == SERIES else draw.uniform(0.0, 0.02),
        )  # fmt: skip
        field = draw.uniform(0.15, 0.3) if name == SHUNT else 0.0
        motor = commutator_of(wanted, draw.uniform(0.2, 0.4), field)
        if motor is not None:
            return motor


def universal(draw: np.random.Generator, hot: float) -> Motor:
    """A series motor on alternating current, 0.1 to 1.1 kW, 4000 to 14,000 rpm."""
    while True:
        power = float(draw.choice([100, 150, 200, 250, 300, 400, 500, 600, 750, 900, 1100]))
        voltage, frequency = (230.0, 50.0) if draw.random() < 0.7 else (120.0, 60.0)
        wanted = WantedCommutator(
            UNIVERSAL, power, voltage, frequency, speed=RPM * draw.uniform(4000.0, 14000.0),
            efficiency=float(np.interp(np.log(power), np.log([100, 1100]), (0.48, 0.66)) + draw.uniform(-0.06, 0.05)),
            power_factor=draw.uniform(0.86, 0.97), hot=hot, bend=draw.uniform(0.4, 1.4),
        )  # fmt: skip
        motor = commutator_of(wanted, draw.uniform(0.25, 0.45), 0.0)
        if motor is not None:
            return motor


#: How many of a hundred motors are of which kind, and who makes them.
MAKERS: tuple[tuple[float, Callable[[np.random.Generator, float], Motor]], ...] = (
    (0.45, three_phase), (0.20, single_phase), (0.20, direct_current), (0.15, universal),
)  # fmt: skip


def any_motor(draw: np.random.Generator, hot: float) -> Motor:
    """A motor of any kind."""
    shares = [share for share, _ in MAKERS]
    return MAKERS[int(draw.choice(len(MAKERS), p=shares))][1](draw, hot)
