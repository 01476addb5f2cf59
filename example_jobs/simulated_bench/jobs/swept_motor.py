"""A 1.1 kW motor swept through its whole curve in seconds with a logger, then left to run down by itself."""

from __future__ import annotations

import math

from simulated_bench.instruments import Scatter, meter, shown
from simulated_bench.job_file import Row, csv
from simulated_bench.simulated_job import RPM, SimulatedJob
from simulated_bench.three_phase import ThreePhaseMotor, at_slip, at_torque
from simulated_bench.three_phase_run import balanced, plate_values, rated

NAME = "swept_motor"
MOTOR = ThreePhaseMotor(
    poles=4, frequency=50, R1=5.4, X1=6.1, R2=4.5, X2=7.6, Xm=150, Rc=2900, rated_emf=212, saturation=0.25,
    friction=0.05, windage=0.05, R_stray=1.1,
)  # fmt: skip
POWER, VOLTAGE, ROOM, WARM = 1100.0, 400.0, 20.0, 70.0  # W, V, degC, degC of the winding in the sweep
ROTOR, COUPLING = 0.0031, 0.0004  # kg*m^2: the motor's rotor, the half coupling on the motor's side of the sensor
REST, WAY, INTERVAL = 1.5, 5.0, 0.02  # s: steady at either end, down and again up, between samples
LOWEST = 0.05  # of synchronous speed
HEADER = ("t (s)", "n (1/min)", "M (Nm)", "U (V)", "I (A)", "P (W)")
COASTED = ("t (s)", "n (1/min)")


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    return SimulatedJob(
        name=NAME,
        tables={},
        truth=(),  # of samples there is none load by load; see the curve of the motor
        rated=plate_values(rated(MOTOR, VOLTAGE, POWER)),
        files={"sweep.csv": csv(HEADER, _sweep(scatter)), "run_down.csv": csv(COASTED, _run_down(scatter))},
    )


def warm_motor() -> ThreePhaseMotor:
    """The motor as it was in the sweep."""
    return MOTOR.at_temperature(WARM)


def _sweep(scatter: Scatter) -> list[Row]:
    """Speed held by the brake to a smooth way down and up; the sensor feels the rotor slow down and speed up."""
    motor = warm_motor()
    top = at_torque(motor, balanced(VOLTAGE), 0.03).speed
    fall = top - LOWEST * motor.synchronous_speed
    volt, ampere, watt, sensor = (
        meter(scatter, step, limit=limit, spread=spread)
        for step, limit, spread in (
            (0.1, 0.001, 0.0005),
            (0.001, 0.001, 0.004),
            (1, 0.001, 0.006),
            (0.001, 0.0005, 0.003),
        )
    )
    rows: list[Row] = []
    for number in range(round((2 * REST + 2 * WAY) / INTERVAL) + 1):
        time = number * INTERVAL
        phase = math.pi * min(max((time - REST) / WAY, 0.0), 2.0)
        speed = top - fall * (1 - math.cos(phase)) / 2
        rate = -fall * math.sin(phase) / 2 * math.pi / WAY
        point = at_slip(motor, balanced(VOLTAGE), 1 - speed / motor.synchronous_speed)
        torque = point.torque - (ROTOR + COUPLING) * rate
        rows.append(
            (
                shown(time, 0.01),
                shown(speed * RPM + scatter.normal(1.2), 0.1),
                sensor.show(torque + scatter.normal(0.08)),
                volt.show(VOLTAGE),
                ampere.show(point.current),
                watt.show(point.input_power),
            )
        )
    return rows


def friction_at(speed: float) -> float:
    """Friction and windage of the motor [N*m, rad/s]."""
    return MOTOR.friction + MOTOR.windage * (speed / MOTOR.synchronous_speed) ** 2


def _run_down(scatter: Scatter) -> list[Row]:
    """The motor uncoupled and switched off: dry friction and windage, as the tangent they make of the speed."""
    ratio = math.sqrt(MOTOR.windage / MOTOR.friction) / MOTOR.synchronous_speed
    rate = math.sqrt(MOTOR.friction * MOTOR.windage) / (ROTOR * MOTOR.synchronous_speed)
    start = math.atan(ratio * 0.998 * MOTOR.synchronous_speed)
    rows: list[Row] = []
    for number in range(int(start / rate / 0.1)):
        speed = math.tan(start - rate * 0.1 * number) / ratio
        rows.append((shown(0.1 * number, 0.1), shown(max(0.0, speed * RPM + scatter.normal(1.2)), 0.1)))
    return rows
