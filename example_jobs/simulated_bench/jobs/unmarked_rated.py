"""A small motor without a plate, measured for a rating: a steady heat run, and a load test past breakdown."""

from __future__ import annotations

from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.solving import largest_within
from simulated_bench.three_phase import ThreePhaseMotor, at_slip
from simulated_bench.three_phase_run import balanced, hold, truth, wandering, winding_values

NAME = "unmarked_rated"
MOTOR = ThreePhaseMotor(
    poles=4, frequency=50, R1=17, X1=20, R2=14, X2=26, Xm=330, Rc=6500, rated_emf=212, saturation=0.25,
    friction=0.02, windage=0.015, R_stray=2.5,
)  # fmt: skip
VOLTAGE, ROOM, GRAVITY = 400.0, 22.0, 9.81
HELD = 2.65  # N*m during the heat run
LOADS = (0.6, 1.2, 1.8, 2.2, 2.6, 3.0, 3.6, 4.4, 5.2, 5.9)  # N*m, after a reading with the brake off
PAST = (0.94, 1.0, 1.12, 1.35, 1.7, 2.1)  # parts of the slip of breakdown, each held for a few seconds
ZERO = Zero(0.003, 0.004, 0.001, "kg")
DRAG = 0.045  # N*m left when the brake current is off, seen by the scale


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "arm_brake.yaml", GRAVITY)
    volt, ampere = (meter(scatter, step, limit=0.002, spread=0.0004) for step in (0.1, 0.001))
    watt = meter(scatter, 1, limit=0.002, spread=0.0005)
    body = Body(0.40, 26 * 60, ROOM)
    heating: list[Row] = []
    for minute in range(0, 166, 15):
        operation, body = hold(MOTOR, body, balanced(VOLTAGE), HELD, 15 if minute else 0)
        heating.append((str(minute), shown(body.frame + scatter.normal(0.15), 0.1), ampere.show(operation.current)))
    winding = winding_values(MOTOR, cold=ROOM, hot=body, after=25)
    rows: list[Row] = []
    truths: list[Truth] = []
    for number in range(1 + len(LOADS) + len(PAST)):
        lines = balanced(wandering(VOLTAGE, scatter))
        if number <= len(LOADS):
            torque = DRAG + brake.tare if number == 0 else LOADS[number - 1] * (1 + scatter.normal(0.008))
            operation, body = hold(MOTOR, body, lines, torque, 4)
        else:
            warm = MOTOR.at_temperature(body.winding)
            pull_out = largest_within(lambda slip, warm=warm, lines=lines: at_slip(warm, lines, slip).torque, 0.05, 0.9)
            operation = at_slip(warm, lines, pull_out * PAST[number - 1 - len(LOADS)])
            body = body.after(5, operation.losses)
        load = brake.load(operation.torque) + scatter.normal(0.001)
        rows.append(
            (
                shown(operation.speed * RPM + scatter.normal(0.4), 1),
                brake.show(load, ZERO.at(number, 1 + len(LOADS) + len(PAST))),
                volt.show(lines[0]),
                ampere.show(operation.current),
                watt.show(operation.input_power),
            )
        )
        truths.append(truth(operation, MOTOR))
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows, "heat_run": heating},
        truth=truths,
        rated={},
        values=ZERO.values() | winding,
    )
