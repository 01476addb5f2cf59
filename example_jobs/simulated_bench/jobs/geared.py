"""A small four-pole motor with a 15 to 1 gear built on, braked at the output shaft."""

from __future__ import annotations

from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.solving import root_between
from simulated_bench.three_phase import Operation, ThreePhaseMotor, at_torque
from simulated_bench.three_phase_run import balanced, hold, wandering

NAME = "geared_motor"
MOTOR = ThreePhaseMotor(
    poles=4, frequency=50, R1=21, X1=23, R2=22, X2=26, Xm=370, Rc=6800, rated_emf=200, saturation=0.2,
    friction=0.02, windage=0.015, R_stray=4,
)  # fmt: skip
RATIO, MESH_EFFICIENCY, CHURNING = 15.0, 0.93, 0.7  # churning of the oil: N*m at the output shaft
POWER, VOLTAGE, ROOM, GRAVITY = 200.0, 400.0, 19.0, 9.81  # power at the output shaft
LOADS = (0.25, 0.5, 0.75, 0.9, 1.0, 1.1, 1.25)  # of rated output torque, after a reading with the brake open
ZERO = Zero(0.000, 0.004, 0.002, "kg")


def _motor_torque(output_torque: float) -> float:
    return (output_torque + CHURNING) / (RATIO * MESH_EFFICIENCY)


def _rated() -> tuple[float, Operation]:
    """Rated torque of the output shaft and what the motor does there."""
    warm, lines = MOTOR.at_temperature(80.0), balanced(VOLTAGE)

    def missing(output_torque: float) -> float:
        return output_torque * at_torque(warm, lines, _motor_torque(output_torque)).speed / RATIO - POWER

    light = POWER * RATIO / MOTOR.synchronous_speed
    torque = root_between(missing, light, 1.2 * light)
    return torque, at_torque(warm, lines, _motor_torque(torque))


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "slow_arm_brake.yaml", GRAVITY)
    volt, ampere, watt = (meter(scatter, step, limit=0.002, spread=0.0005) for step in (0.1, 0.001, 0.1))
    torque_rated, point = _rated()
    body = Body(0.75, 25 * 60, ROOM).after(3600, point.losses)
    rows: list[Row] = []
    truths: list[Truth] = []
    torques = [brake.tare] + [load * torque_rated * (1 + scatter.normal(0.008)) for load in LOADS]
    for number, torque in enumerate(torques):
        lines = balanced(wandering(VOLTAGE, scatter))
        operation, body = hold(MOTOR, body, lines, _motor_torque(torque), 8)
        rows.append(
            (
                shown(operation.speed / RATIO * RPM + scatter.normal(0.03), 0.1),
                brake.show(brake.load(torque) + scatter.normal(0.002), ZERO.at(number, len(torques))),
                volt.show(lines[0]),
                ampere.show(operation.current),
                watt.show(operation.input_power),
                shown(body.frame + scatter.normal(0.2), 0.1),
            )
        )
        truths.append(
            Truth(
                operation.speed / RATIO,
                torque,
                operation.input_power,
                operation.power_factor,
                synchronous_speed=MOTOR.synchronous_speed / RATIO,
            )
        )
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows},
        truth=truths,
        rated={
            "current": point.current,
            "speed": point.speed / RATIO * RPM,
            "power_factor": point.power_factor,
            "gear_efficiency": POWER / (point.shaft_power),
        },
        values=ZERO.values(),
    )
