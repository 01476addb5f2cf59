"""A sound 1.5 kW four-pole motor with a full plate, on a supply whose lines differ a little."""

from __future__ import annotations

import math

from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.three_phase import ThreePhaseMotor
from simulated_bench.three_phase_run import (
    balanced,
    heat_run,
    hold,
    plate_values,
    rated,
    running_light,
    truth,
    wandering,
    winding_values,
)

NAME = "three_phase_full_plate"
MOTOR = ThreePhaseMotor(
    poles=4, frequency=50, R1=3.5, X1=4.4, R2=3.1, X2=5.9, Xm=112, Rc=2150, rated_emf=212, saturation=0.25,
    friction=0.05, windage=0.06, R_stray=0.8,
)  # fmt: skip
POWER, VOLTAGE, ROOM, GRAVITY = 1500.0, 400.0, 21.0, 9.81
UNBALANCE = (1.003, 1.0, 0.997)  # lines ab, bc, ca over their mean
LOADS = (1.25, 1.15, 1.0, 0.75, 0.5, 0.25)  # of rated torque, falling, so that the winding stays warm
ZERO = Zero(0.003, 0.005, 0.001, "kg")
MINUTES = 6  # at each load
DRAG = 0.045  # N*m left when the brake current is off, seen by the scale
FULL_BRAKE = (20.0, 12.0)  # N*m at A; the torque of the brake grows with the square of its current


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "arm_brake.yaml", GRAVITY)
    volt, ampere = (meter(scatter, step, limit=0.002, spread=0.0003) for step in (0.1, 0.001))
    watt = meter(scatter, 1, limit=0.0025, spread=0.0005)
    point = rated(MOTOR, VOLTAGE, POWER)
    service = rated(MOTOR, VOLTAGE, 1.15 * POWER)
    cold = Body(0.196, 28 * 60, ROOM)
    heating, body = heat_run(MOTOR, cold, balanced(VOLTAGE), point.torque, minutes=range(0, 151, 15), scatter=scatter)
    winding = winding_values(MOTOR, cold=ROOM, hot=body, after=25)
    rows: list[Row] = []
    truths: list[Truth] = []
    torques = [load * point.torque * (1 + scatter.normal(0.006)) for load in LOADS] + [DRAG + brake.tare]
    for number, torque in enumerate(torques):
        mean = wandering(VOLTAGE, scatter)
        lines = (mean * UNBALANCE[0], mean * UNBALANCE[1], mean * UNBALANCE[2])
        operation, body = hold(MOTOR, body, lines, torque, MINUTES)
        rows.append(
            (
                shown(MINUTES * (number + 1), 1),
                shown(operation.speed * RPM + scatter.normal(0.4), 1),
                brake.show(brake.load(torque) + scatter.normal(0.001), ZERO.at(number, len(torques))),
                *(volt.show(line) for line in lines),
                *(ampere.show(line) for line in operation.line_currents),
                watt.show(operation.input_power),
                shown(body.winding + scatter.normal(0.2), 0.1),
                shown(_brake_current(torque), 0.1),
            )
        )
        truths.append(truth(operation, MOTOR))
    light = running_light(MOTOR, [440, 400, 380, 360, 240, 200, 160, 120], (volt, ampere, watt), winding=60.0)
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows, "no_load": light, "heat_run": heating},
        truth=truths,
        rated=plate_values(point) | {"service_factor_current": service.current},
        values=ZERO.values() | winding,
    )


def _brake_current(torque: float) -> float:
    """Direct current in the brake at a torque [A, N*m]."""
    most, at = FULL_BRAKE
    return at * math.sqrt(torque / most) if torque > 2 * DRAG else 0.0
