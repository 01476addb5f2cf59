"""A permanent-magnet motor on direct current, its torque read by a sensor in the shaft."""

from __future__ import annotations

from simulated_bench.commutator_motors import CommutatorOperation, PermanentMagnetMotor
from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RPM, SimulatedJob, Truth
from simulated_bench.solving import root_between

NAME = "permanent_magnet_dc"
MOTOR = PermanentMagnetMotor(R=7.6, k=0.92, brush_drop=1.8, friction=0.11, drag_slope=3.5e-4)
POWER, VOLTAGE, ROOM = 370.0, 180.0, 22.0
LOADS = (0.25, 0.5, 0.75, 1.0, 1.15, 1.25)  # of rated torque, after a reading with the brake off
ZERO = Zero(0.003, 0.001, 0.001, "N*m")
BRAKE_OFF = 0.06  # N*m, bearings of the brake behind the sensor


def _rated() -> CommutatorOperation:
    warm = MOTOR.at_temperature(70.0)
    torque = root_between(lambda trial: warm.at_torque(VOLTAGE, trial).shaft_power - POWER, 1.5, 3.0)
    return warm.at_torque(VOLTAGE, torque)


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    volt, ampere, sensor = (meter(scatter, step, limit=0.0008, spread=0.0003) for step in (0.1, 0.001, 0.001))
    point = _rated()
    body = Body(0.55, 20 * 60, ROOM, rise=25.0)
    rows: list[Row] = []
    truths: list[Truth] = []
    torques = [BRAKE_OFF] + [load * point.torque * (1 + scatter.normal(0.005)) for load in LOADS]
    for number, torque in enumerate(torques):
        voltage = VOLTAGE * (1 + scatter.normal(0.001))
        body = body.after(8 * 60, MOTOR.at_temperature(body.winding).at_torque(voltage, torque).losses)
        operation = MOTOR.at_temperature(body.winding).at_torque(voltage, torque)
        rows.append(
            (
                shown(operation.speed * RPM + scatter.normal(0.3), 1),
                sensor.show(torque + ZERO.at(number, len(torques))),
                volt.show(voltage),
                ampere.show(operation.current),
                shown(body.frame + scatter.normal(0.2), 0.1),
            )
        )
        truths.append(Truth(operation.speed, operation.torque, operation.input_power, operation.power_factor))
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows},
        truth=truths,
        rated={"current": point.current, "speed": point.speed * RPM, "efficiency": point.efficiency},
        values=ZERO.values(),
    )
