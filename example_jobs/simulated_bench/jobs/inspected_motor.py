"""A motor for 230 and 400 V, inspected and measured before the brake; its fan cowl is cracked."""

from __future__ import annotations

from simulated_bench.instruments import Zero
from simulated_bench.simulated_job import SimulatedJob
from simulated_bench.three_phase import ThreePhaseMotor
from simulated_bench.three_phase_run import warm_load_test

NAME = "inspected_motor"
MOTOR = ThreePhaseMotor(
    poles=4, frequency=50, R1=7.0, X1=8.4, R2=6.3, X2=9.2, Xm=150, Rc=2900, rated_emf=212, saturation=0.25,
    friction=0.04, windage=0.05, R_stray=1.4,
)  # fmt: skip
POWER, VOLTAGE, ROOM, GRAVITY = 1100.0, 400.0, 20.0, 9.81
LOADS = (1.25, 1.1, 1.0, 0.8, 0.6, 0.4, 0.2)  # of rated torque, falling
ZERO = Zero(0.003, 0.003, 0.001, "kg")
MINUTES = 6  # at each load


def make() -> SimulatedJob:
    """The readings of this job."""
    return warm_load_test(
        NAME, MOTOR, ZERO,
        power=POWER, voltage=VOLTAGE, room=ROOM, gravity=GRAVITY, loads=LOADS, minutes=MINUTES,
    )  # fmt: skip
