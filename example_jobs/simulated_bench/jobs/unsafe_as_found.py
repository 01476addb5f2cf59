"""A motor that does all its plate asks and fails: its frame is not earthed."""

from __future__ import annotations

from simulated_bench.instruments import Zero
from simulated_bench.simulated_job import SimulatedJob
from simulated_bench.three_phase import ThreePhaseMotor
from simulated_bench.three_phase_run import warm_load_test

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
    return warm_load_test(
        NAME, MOTOR, ZERO,
        power=POWER, voltage=VOLTAGE, room=ROOM, gravity=GRAVITY, loads=LOADS, minutes=MINUTES,
    )  # fmt: skip
