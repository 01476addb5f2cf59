"""A 0.75 kW motor whose load test was logged five times a second, with what goes wrong on a bench."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from simulated_bench.instruments import Brake, Meter, Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row, csv
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob
from simulated_bench.three_phase import Operation, ThreePhaseMotor, at_torque
from simulated_bench.three_phase_run import balanced, between_lines, plate_values, rated, truth

NAME = "logged_load_test"
MOTOR = ThreePhaseMotor(
    poles=4, frequency=50, R1=9.6, X1=9.4, R2=7.4, X2=12.0, Xm=205, Rc=3900, rated_emf=214, saturation=0.25,
    friction=0.03, windage=0.03, R_stray=1.6,
)  # fmt: skip
POWER, VOLTAGE, ROOM, WINDING = 750.0, 400.0, 20.0, 62.0
HEADER = ("t (s)", "n (1/min)", "F (N)", "U (V)", "I (A)", "P (W)", "brake (A)")
LOADS = (1.3, 1.1, 1.0, 0.75, 0.5, 0.25)  # of rated torque, falling; then the brake off
DRAG = 0.02  # N*m left when the brake current is off, seen by the cell
HELD, CHANGE, INTERVAL = 14.0, 4.0, 0.2  # s
SPAN = 26.0  # N, where the amplifier of the cell ends
ZERO = Zero(0.03, 0.02, 0.01, "N")
#: What goes wrong. [s]
SLIPS = (39.0, 41.0)  # the coupling lets go at 100 % load and grips again
DROPS_OUT = (66.0, 67.2)  # the cable of the cell
MISSES = (26.4, 61.2, 80.0, 99.4)  # a magnet that the pick-up did not see
_GRID = 60


class State(NamedTuple):
    """What the meters read: N*m, rad/s, A, W."""

    torque: float
    speed: float
    current: float
    input_power: float


@dataclass(frozen=True)
class _Logger:
    """The instruments behind the log."""

    scatter: Scatter
    brake: Brake
    volt: Meter
    ampere: Meter
    watt: Meter

    def row(self, now: float, state: State) -> Row:
        """One line of the file at a time [s]."""
        speed = state.speed * RPM + self.scatter.normal(0.5)
        if any(abs(now - missed) < INTERVAL / 2 for missed in MISSES):
            speed /= 2
        drift = (ZERO.after - ZERO.before) * now / ((HELD + CHANGE) * (len(LOADS) + 1))
        shows = ZERO.before + drift + self.brake.slope * self.brake.load(state.torque) + self.scatter.normal(0.01)
        cell = "" if DROPS_OUT[0] <= now < DROPS_OUT[1] else shown(min(shows, SPAN), ZERO.step)
        meters = self.volt.show(VOLTAGE), self.ampere.show(state.current), self.watt.show(state.input_power)
        return shown(now, 0.1), shown(speed, 0.1), cell, *meters


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    volt, ampere = (meter(scatter, step, limit=0.0015, spread=0.0002) for step in (0.1, 0.001))
    brake = brake_of(RIGS / "load_cell_brake.yaml")
    logger = _Logger(scatter, brake, volt, ampere, meter(scatter, 1, limit=0.0015, spread=0.0008))
    motor, lines = MOTOR.at_temperature(WINDING), balanced(VOLTAGE)
    point = rated(MOTOR, VOLTAGE, POWER)
    torques = [load * point.torque for load in LOADS] + [DRAG + brake.tare]
    grid = [torques[-1] + (1.02 * torques[0] - torques[-1]) * one / _GRID for one in range(_GRID + 1)]
    states = [at_torque(motor, lines, torque) for torque in grid]
    rows: list[Row] = []
    trembling = 0.0
    for number in range(round((HELD + CHANGE) * len(torques) / INTERVAL)):
        now = number * INTERVAL
        held = _held(now, torques)
        trembling = 0.6 * trembling + scatter.normal(0.012)  # the arm swings: one sample resembles the next
        torque = held * (1 + 0.4 * trembling) * (0.06 if SLIPS[0] <= now < SLIPS[1] else 1.0)
        excited = 6.0 * math.sqrt(held / 8.0) if held > 3 * torques[-1] else 0.0
        rows.append((*logger.row(now, _between(states, torque)), shown(excited, 0.01)))
    cold = shown(between_lines(MOTOR, ROOM), 0.001)
    return SimulatedJob(
        name=NAME,
        tables={},
        truth=[truth(at_torque(motor, lines, torque), MOTOR) for torque in torques[1:]],
        rated=plate_values(point),
        values=ZERO.values() | {"cold": f"{{resistance: {cold} ohm, temperature: {ROOM:.1f} degC}}"},
        files={"load_test.csv": csv(HEADER, rows)},
    )


def _held(now: float, torques: Sequence[float]) -> float:
    """Torque set at a time: each load is approached in a straight line, and then held [N*m, s]."""
    number, within = divmod(now, HELD + CHANGE)
    load = torques[int(number)]
    before = torques[max(int(number) - 1, 0)]
    return before + (load - before) * min(within / CHANGE, 1.0)


def _between(states: Sequence[Operation], torque: float) -> State:
    """Steady state at a torque, in a straight line between computed ones [N*m]."""
    after = min(max(bisect_right([state.torque for state in states], torque), 1), len(states) - 1)
    low, high = states[after - 1], states[after]
    part = (torque - low.torque) / (high.torque - low.torque)
    ends = zip((low.speed, low.current, low.input_power), (high.speed, high.current, high.input_power), strict=True)
    return State(torque, *(first + part * (second - first) for first, second in ends))
