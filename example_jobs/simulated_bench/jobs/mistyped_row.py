"""A sound motor whose readings were copied from a run sheet, two digits of one of them exchanged."""

from __future__ import annotations

from simulated_bench.instruments import Zero
from simulated_bench.simulated_job import SimulatedJob
from simulated_bench.three_phase import ThreePhaseMotor
from simulated_bench.three_phase_run import warm_load_test

NAME = "mistyped_row"
MOTOR = ThreePhaseMotor(
    poles=6, frequency=50, R1=7.4, X1=8.2, R2=6.9, X2=9.6, Xm=118, Rc=2600, rated_emf=209, saturation=0.25,
    friction=0.05, windage=0.04, R_stray=1.6,
)  # fmt: skip
POWER, VOLTAGE, ROOM, GRAVITY = 750.0, 400.0, 21.0, 9.81
LOADS = (1.25, 1.1, 1.0, 0.8, 0.6, 0.4, 0.2)  # of rated torque, falling
ZERO = Zero(0.003, 0.003, 0.001, "kg")
MINUTES = 6  # at each load
#: Row and column of the cell that was copied wrong, counted from 0, and the two digits of it that were exchanged.
ROW, SCALE, DIGITS = 3, 1, (2, 3)


def exchanged(text: str, first: int, second: int) -> str:
    """A reading with two of its signs exchanged."""
    signs = list(text)
    signs[first], signs[second] = signs[second], signs[first]
    return "".join(signs)


def make() -> SimulatedJob:
    """The readings of this job."""
    return warm_load_test(
        NAME, MOTOR, ZERO,
        power=POWER, voltage=VOLTAGE, room=ROOM, gravity=GRAVITY, loads=LOADS, minutes=MINUTES,
        copied=lambda number, scale: exchanged(scale, *DIGITS) if number == ROW else scale,
    )  # fmt: skip
