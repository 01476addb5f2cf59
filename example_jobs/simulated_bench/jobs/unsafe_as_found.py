"""A motor that does all its plate asks and fails: its frame is not earthed."""

from __future__ import annotations

from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.three_phase import ThreePhaseMotor
from simulated_bench.three_phase_run import balanced, hold, plate_values, rated, truth, wandering

NAME = "unsafe_as_found"
MOTOR = ThreePhaseMotor(
    poles=6, frequency=50, R1=8.1, X1=8.9, R2=7.2, X2=9.9, Xm=121, Rc=2500, rated_emf=208, saturation=0.25,
    friction=0.05, windage=0.04, R_stray=1.7,
)  # fmt: skip
POWER, VOLTAGE, ROOM, GRAVITY = 680.0, 400.0, 19.0, 9.81
LOADS = (1.25, 1.1, 1.0, 0.8, 0.6, 0.4, 0.2)  # of rated torque, falling
ZERO = Zero(0.003, 0.003, 0.001, "kg")
MINUTES = 6  # at each load


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "arm_brake.yaml", GRAVITY)
    volt, ampere = (meter(scatter, step, limit=0.002, spread=0.0003) for step in (0.1, 0.001))
    watt = meter(scatter, 1, limit=0.0025, spread=0.0005)
    point = rated(MOTOR, VOLTAGE, POWER)
    body = Body(0.29, 22 * 60, ROOM, rise=58.0)  # warm from an hour at rated load
    rows: list[Row] = []
    truths: list[Truth] = []
    torques = [load * point.torque * (1 + scatter.normal(0.006)) for load in LOADS]
    for number, torque in enumerate(torques):
        lines = balanced(wandering(VOLTAGE, scatter))
        operation, body = hold(MOTOR, body, lines, torque, MINUTES)
        scale = brake.show(brake.load(torque) + scatter.normal(0.0005), ZERO.at(number, len(torques)))
        rows.append(
            (
                shown(operation.speed * RPM + scatter.normal(0.4), 1),
                scale,
                volt.show(lines[0]),
                ampere.show(operation.current),
                watt.show(operation.input_power),
                shown(body.winding + scatter.normal(0.2), 0.1),
            )
        )
        truths.append(truth(operation, MOTOR))
    return SimulatedJob(
        name=NAME, tables={"load_test": rows}, truth=truths, rated=plate_values(point), values=ZERO.values()
    )
