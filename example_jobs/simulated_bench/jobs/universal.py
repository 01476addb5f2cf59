"""A series commutator motor from a kitchen machine, on a cord brake with two spring balances."""

from __future__ import annotations

from simulated_bench.commutator_motors import CommutatorOperation, UniversalMotor
from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.solving import root_between

NAME = "universal_motor"
MOTOR = UniversalMotor(
    R=52, X=58, mutual=0.22, saturation_current=2.2, brush_drop=2.5, friction=0.010, windage=1.6e-8, iron=0.01
)
POWER, VOLTAGE, ROOM = 150.0, 230.0, 20.0
LOADS = (0.0, 0.25, 0.5, 0.7, 0.85, 1.0, 1.15, 1.3, 1.45, 1.6)  # of rated torque; 0 is the cord lifted off
ZERO = Zero(0.05, 0.05, 0.05, "N")  # tight side
ZERO_2 = Zero(0.00, 0.05, 0.05, "N")  # slack side
GRIP = 3.4  # pull of the tight over the slack side: e^(friction x angle of wrap), Eytelwein


def _rated(voltage: float = VOLTAGE) -> CommutatorOperation:
    """The rated point is on the near side of the peak of power."""
    warm = MOTOR.at_temperature(70.0)
    current = root_between(lambda trial: warm.at_current(voltage, trial).shaft_power - POWER, 0.6, 1.4)
    return warm.at_current(voltage, current)


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "rope_brake.yaml")
    volt, ampere, watt = (meter(scatter, step, limit=0.002, spread=0.001) for step in (0.1, 0.001, 0.1))
    point = _rated()
    body = Body(0.42, 9 * 60, ROOM, rise=30.0)
    rows: list[Row] = []
    truths: list[Truth] = []
    for number, load in enumerate(LOADS):
        torque = load * point.torque * (1 + scatter.normal(0.01))
        voltage = VOLTAGE * (1 + scatter.normal(0.002))
        body = body.after(40, MOTOR.at_temperature(body.winding).at_torque(voltage, torque).losses)
        operation = MOTOR.at_temperature(body.winding).at_torque(voltage, torque)
        pull = brake.load(torque)
        tight, slack = pull * GRIP / (GRIP - 1), pull / (GRIP - 1)
        trembling = 0.004 * tight  # the cord grips and lets go
        rows.append(
            (
                shown(operation.speed * RPM * (1 + scatter.normal(0.001)), 10),
                brake.show(tight + scatter.normal(trembling), ZERO.at(number, len(LOADS))),
                brake.show(slack + scatter.normal(trembling), ZERO_2.at(number, len(LOADS))),
                volt.show(operation.voltage),
                ampere.show(operation.current),
                watt.show(operation.input_power),
            )
        )
        truths.append(Truth(operation.speed, operation.torque, operation.input_power, operation.power_factor))
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows},
        truth=truths,
        rated={"current": point.current, "speed": point.speed * RPM},
        values=ZERO.values() | ZERO_2.values("_2"),
    )
