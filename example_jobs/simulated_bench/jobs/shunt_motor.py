"""A shunt motor on direct current, its field across the supply, loaded on the arm brake."""

from __future__ import annotations

from simulated_bench.commutator_motors import CommutatorOperation, ShuntMotor
from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.solving import root_between

NAME = "shunt_motor"
MOTOR = ShuntMotor(
    R=3.1, R_field=560.0, k=1.215, voltage=220.0, brush_drop=2.0, reaction=0.004, friction=0.16, drag_slope=2.6e-4
)
POWER, VOLTAGE, ROOM, GRAVITY = 750.0, 220.0, 20.0, 9.81
LOADS = (0.25, 0.5, 0.75, 1.0, 1.15, 1.25)  # of rated torque, after a reading with the brake off
ZERO = Zero(0.002, 0.004, 0.001, "kg")
DRAG = 0.045  # N*m left when the brake current is off, seen by the scale


def _rated() -> CommutatorOperation:
    warm = MOTOR.at_temperature(75.0)
    torque = root_between(lambda trial: warm.at_torque(VOLTAGE, trial).shaft_power - POWER, 3.0, 6.0)
    return warm.at_torque(VOLTAGE, torque)


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "arm_brake.yaml", GRAVITY)
    volt, ampere = (meter(scatter, step, limit=0.002, spread=0.0004) for step in (0.1, 0.001))
    point = _rated()
    body = Body(0.26, 25 * 60, ROOM, rise=44.0)  # warm from an hour at its rated load
    rows: list[Row] = []
    truths: list[Truth] = []
    torques = [DRAG + brake.tare] + [load * point.torque * (1 + scatter.normal(0.005)) for load in LOADS]
    for number, torque in enumerate(torques):
        voltage = VOLTAGE * (1 + scatter.normal(0.001))
        body = body.after(6 * 60, MOTOR.at_temperature(body.winding).at_torque(voltage, torque).losses)
        operation = MOTOR.at_temperature(body.winding).at_torque(voltage, torque)
        rows.append(
            (
                shown(operation.speed * RPM + scatter.normal(0.4), 1),
                brake.show(brake.load(torque) + scatter.normal(0.0005), ZERO.at(number, len(torques))),
                volt.show(voltage),
                ampere.show(operation.current),
            )
        )
        truths.append(Truth(operation.speed, operation.torque, operation.input_power, operation.power_factor))
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows},
        truth=truths,
        rated={"current": point.current, "speed": point.speed * RPM},
        values=ZERO.values(),
    )
