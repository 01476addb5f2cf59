"""A two-pole motor loaded once: the brake drawn up until the ammeter stood at the current on the plate."""

from __future__ import annotations

from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob
from simulated_bench.solving import root_between
from simulated_bench.three_phase import ThreePhaseMotor, at_torque
from simulated_bench.three_phase_run import balanced, plate_values, rated, truth

NAME = "one_point_test"
MOTOR = ThreePhaseMotor(
    poles=2, frequency=50, R1=9.0, X1=8.2, R2=5.8, X2=8.4, Xm=215, Rc=4300, rated_emf=214, saturation=0.25,
    friction=0.03, windage=0.05, R_stray=1.6,
)  # fmt: skip
POWER, VOLTAGE, ROOM, GRAVITY = 750.0, 400.0, 23.0, 9.81
PLATE_CURRENT = 1.7
ZERO = Zero(0.002, 0.002, 0.001, "kg")


def make() -> SimulatedJob:
    """The reading of this job."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "arm_brake.yaml", GRAVITY)
    volt, ampere = (meter(scatter, step, limit=0.002, spread=0.0004) for step in (0.1, 0.001))
    watt = meter(scatter, 1, limit=0.0025, spread=0.0005)
    point = rated(MOTOR, VOLTAGE, POWER)
    body = Body(0.32, 20 * 60, ROOM).after(40 * 60, point.losses)
    warm, lines = MOTOR.at_temperature(body.winding), balanced(398.6)
    torque = root_between(lambda trial: at_torque(warm, lines, trial).current - PLATE_CURRENT, 1.0, 4.0)
    operation = at_torque(warm, lines, torque)
    row = (
        shown(operation.speed * RPM + scatter.normal(0.4), 1),
        brake.show(brake.load(torque) + scatter.normal(0.0005), ZERO.before),
        volt.show(lines[0]),
        ampere.show(operation.current),
        watt.show(operation.input_power),
    )
    return SimulatedJob(
        name=NAME,
        tables={"load_test": [row]},
        truth=[truth(operation, MOTOR)],
        rated=plate_values(point),
        values=ZERO.values(),
    )
