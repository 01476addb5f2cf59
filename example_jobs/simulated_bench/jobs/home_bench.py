"""A small single-phase motor on a brake at home: hand tachometer, kitchen scale, clamp meter, and no wattmeter."""

from __future__ import annotations

from simulated_bench.capacitor_motor import CapacitorStartMotor, SinglePhaseOperation, at_torque
from simulated_bench.heating import Body
from simulated_bench.instruments import UNITS, Brake, Scatter, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RPM, SimulatedJob, Truth
from simulated_bench.solving import root_between

NAME = "home_bench"
MOTOR = CapacitorStartMotor(
    poles=4, frequency=60, R_main=2.1, X_main=3.3, R_rotor=2.9, X_rotor=2.7, X_magnetizing=58, core_loss=26,
    rated_voltage=115, friction_windage=11, R_aux=9.0, X_aux=5.5, X_capacitor=15.0, R_capacitor=1.5,
    turns_ratio=1.25,
)  # fmt: skip
HORSEPOWER = 745.6998715822702  # W: 550 ft*lbf/s
POWER, VOLTAGE, ROOM = 0.25 * HORSEPOWER, 115.0, 21.0
LOADS = (0.3, 0.6, 0.8, 1.0, 1.2, 1.4)  # of rated torque
#: The arm is a sixteenth of an inch longer than the tape said; nobody knows.
BRAKE = Brake(
    lever=12.06 * UNITS["in"], slope=1.0, step=0.01, unit=UNITS["lb"], reads="mass", tare=0.0, ratio=1.0,
    efficiency=1.0, gravity=9.80665,
)  # fmt: skip


def _rated() -> SinglePhaseOperation:
    warm = MOTOR.at_temperature(70.0)
    light = POWER / MOTOR.synchronous_speed
    torque = root_between(lambda trial: at_torque(warm, VOLTAGE, trial).shaft_power - POWER, light, 1.2 * light)
    return at_torque(warm, VOLTAGE, torque)


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    volt = meter(scatter, 0.1, limit=0.005, spread=0.0005)
    ampere = meter(scatter, 0.01, limit=0.01, spread=0.001)
    point = _rated()
    body = Body(0.4, 18 * 60, ROOM, rise=35.0)
    rows: list[Row] = []
    truths: list[Truth] = []
    for load in LOADS:
        torque = load * point.torque * (1 + scatter.normal(0.01))
        voltage = VOLTAGE * (1 + scatter.normal(0.003))
        body = body.after(5 * 60, at_torque(MOTOR.at_temperature(body.winding), voltage, torque).losses)
        operation = at_torque(MOTOR.at_temperature(body.winding), voltage, torque)
        rows.append(
            (
                shown(operation.speed * RPM + scatter.normal(0.6), 1),
                BRAKE.show(BRAKE.load(torque) + scatter.normal(0.003), 0.0),
                volt.show(operation.voltage),
                ampere.show(operation.current),
            )
        )
        truths.append(
            Truth(
                operation.speed,
                operation.torque,
                operation.input_power,
                operation.power_factor,
                synchronous_speed=MOTOR.synchronous_speed,
            )
        )
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows},
        truth=truths,
        rated={"current": point.current, "speed": point.speed * RPM},
    )
