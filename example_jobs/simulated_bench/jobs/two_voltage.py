"""A third-horsepower capacitor-start motor for 115 and 230 V, its halves in series for 230 V, bench card filled in."""

from __future__ import annotations

from simulated_bench.capacitor_motor import CapacitorStartMotor, SinglePhaseOperation, at_torque, starting
from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.solving import root_between

NAME = "two_voltage_capacitor"
MOTOR = CapacitorStartMotor(
    poles=4, frequency=60, R_main=5.3, X_main=8.6, R_rotor=8.1, X_rotor=7.4, X_magnetizing=192, core_loss=27,
    rated_voltage=230, friction_windage=12, R_aux=14.6, X_aux=9.8, X_capacitor=33.2, R_capacitor=2.3,
    turns_ratio=1.2,
)  # fmt: skip
HORSEPOWER = 745.6998715822702  # W: 550 ft*lbf/s
POWER, VOLTAGE, ROOM, GRAVITY = HORSEPOWER / 3.0, 230.0, 21.0, 9.81
LOADS = (1.2, 1.0, 0.75, 0.5, 0.25)  # of rated torque, falling
WARM, MINUTES = 68.0, 7
ZERO = Zero(0.002, 0.003, 0.001, "kg")


def make() -> SimulatedJob:
    """The readings of this job, warm from an hour at rated load."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "arm_brake.yaml", GRAVITY)
    volt = meter(scatter, 0.1, limit=0.002, spread=0.0003)
    ampere = meter(scatter, 0.001, limit=0.002, spread=0.0004)
    watt = meter(scatter, 1, limit=0.002, spread=0.0004)
    point = _rated(POWER)
    body = Body(0.42, 20 * 60, ROOM).after(60 * 60, point.losses)
    rows: list[Row] = []
    truths: list[Truth] = []
    for number, load in enumerate(LOADS):
        torque = load * point.torque * (1 + scatter.normal(0.005))
        voltage = VOLTAGE * (1 + scatter.normal(0.002))
        body = body.after(MINUTES * 60, at_torque(MOTOR.at_temperature(body.winding), voltage, torque).losses)
        operation = at_torque(MOTOR.at_temperature(body.winding), voltage, torque)
        rows.append(
            (
                shown(operation.speed * RPM + scatter.normal(0.3), 1),
                brake.show(brake.load(torque) + scatter.normal(0.0008), ZERO.at(number, len(LOADS))),
                volt.show(operation.voltage),
                ampere.show(operation.current),
                watt.show(operation.input_power),
                shown(body.winding + scatter.normal(0.3), 0.1),
            )
        )
        truths.append(Truth(operation.speed, operation.torque, operation.input_power, operation.power_factor,
                            synchronous_speed=MOTOR.synchronous_speed))  # fmt: skip
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows},
        truth=truths,
        rated={
            "current": point.current,
            "speed": point.speed * RPM,
            "kva_per_hp": VOLTAGE * starting(MOTOR, VOLTAGE).current / 1000.0 / (POWER / HORSEPOWER),
        },
        values=ZERO.values(),
    )


def _rated(power: float) -> SinglePhaseOperation:
    warm = MOTOR.at_temperature(WARM)
    light = power / MOTOR.synchronous_speed

    def missing(torque: float) -> float:
        return at_torque(warm, VOLTAGE, torque).shaft_power - power

    return at_torque(warm, VOLTAGE, root_between(missing, light, 1.2 * light))
