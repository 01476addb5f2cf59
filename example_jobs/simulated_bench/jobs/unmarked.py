"""A three-phase motor without a plate; that it has six poles shows in its speed."""

from __future__ import annotations

from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.three_phase import ThreePhaseMotor
from simulated_bench.three_phase_run import (
    balanced,
    heat_run,
    hold,
    rated,
    running_light,
    truth,
    wandering,
    winding_values,
)

NAME = "unmarked_motor"
MOTOR = ThreePhaseMotor(
    poles=6, frequency=50, R1=7.6, X1=9.5, R2=6.6, X2=11.5, Xm=150, Rc=3600, rated_emf=205, saturation=0.2,
    friction=0.05, windage=0.04, R_stray=1.5,
)  # fmt: skip
POWER, VOLTAGE, ROOM, GRAVITY = 750.0, 400.0, 20.0, 9.81  # the power it was once sold as
LOADS = (0.2, 0.4, 0.6, 0.8, 0.95, 1.1, 1.25, 1.4)  # of that torque, after a reading with the brake off
ZERO = Zero(0.004, 0.006, 0.001, "kg")
DRAG = 0.045  # N*m left when the brake current is off, seen by the scale


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "arm_brake.yaml", GRAVITY)
    volt, ampere = (meter(scatter, step, limit=0.002, spread=0.0004) for step in (0.1, 0.001))
    watt = meter(scatter, 1, limit=0.002, spread=0.0005)
    cosine = meter(scatter, 0.001, limit=0.002, spread=0.0005)
    point = rated(MOTOR, VOLTAGE, POWER)
    cold = Body(0.29, 30 * 60, ROOM)
    heating, body = heat_run(MOTOR, cold, balanced(VOLTAGE), point.torque, minutes=range(0, 161, 20), scatter=scatter)
    winding = winding_values(MOTOR, cold=ROOM, hot=body, after=30)
    rows: list[Row] = []
    truths: list[Truth] = []
    torques = [DRAG + brake.tare] + [load * point.torque * (1 + scatter.normal(0.008)) for load in LOADS]
    for number, torque in enumerate(torques):
        lines = balanced(wandering(VOLTAGE, scatter))
        operation, body = hold(MOTOR, body, lines, torque, 8)
        rows.append(
            (
                shown(operation.speed * RPM + scatter.normal(0.4), 1),
                brake.show(brake.load(torque) + scatter.normal(0.001), ZERO.at(number, len(torques))),
                volt.show(lines[0]),
                ampere.show(operation.current),
                cosine.show(operation.power_factor),
                shown(body.winding + scatter.normal(0.2), 0.1),
            )
        )
        truths.append(truth(operation, MOTOR))
    light = running_light(MOTOR, [440, 400, 360, 300, 240, 180, 120], (volt, ampere, watt), winding=60.0)
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows, "no_load": light, "heat_run": heating},
        truth=truths,
        rated={},
        values=ZERO.values() | winding,
    )
