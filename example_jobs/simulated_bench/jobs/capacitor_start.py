"""A half-horsepower capacitor-start motor for 115 V and 60 Hz, tested in US customary units."""

from __future__ import annotations

from simulated_bench.capacitor_motor import CapacitorStartMotor, SinglePhaseOperation, at_torque, starting
from simulated_bench.heating import Body
from simulated_bench.instruments import Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.solving import root_between

NAME = "capacitor_start_us_units"
MOTOR = CapacitorStartMotor(
    poles=4, frequency=60, R_main=1.0, X_main=1.8, R_rotor=1.42, X_rotor=1.4, X_magnetizing=38, core_loss=36,
    rated_voltage=115, friction_windage=16, R_aux=4.4, X_aux=2.7, X_capacitor=7.5, R_capacitor=0.9,
    turns_ratio=1.25,
)  # fmt: skip
HORSEPOWER = 745.6998715822702  # W: 550 ft*lbf/s
POWER, VOLTAGE, ROOM, GRAVITY = 0.5 * HORSEPOWER, 115.0, 22.2, 9.796
LOADS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.35)  # of rated torque; 0 is the brake switched off, still coupled
ZERO = Zero(0.010, 0.005, 0.005, "lb")
DRAG = 0.02  # N*m of the brake switched off, seen by the scale


def make() -> SimulatedJob:
    """The readings of this job."""
    scatter = Scatter(NAME)
    brake = brake_of(RIGS / "pound_arm_brake.yaml", GRAVITY)
    volt = meter(scatter, 0.1, limit=0.002, spread=0.0003)
    ampere = meter(scatter, 0.01, limit=0.003, spread=0.0005)
    watt = meter(scatter, 1, limit=0.004, spread=0.0005)
    point, service = _rated(POWER), _rated(1.25 * POWER)
    body = Body(0.33, 22 * 60, ROOM)
    rows: list[Row] = []
    truths: list[Truth] = []
    for number, load in enumerate(LOADS):
        torque = load * point.torque * (1 + scatter.normal(0.006)) if load else DRAG + brake.tare
        voltage = VOLTAGE * (1 + scatter.normal(0.003))
        body = body.after(12 * 60, at_torque(MOTOR.at_temperature(body.winding), voltage, torque).losses)
        operation = at_torque(MOTOR.at_temperature(body.winding), voltage, torque)
        rows.append(
            (
                shown(operation.speed * RPM + scatter.normal(0.5), 1),
                brake.show(brake.load(torque) + scatter.normal(0.002), ZERO.at(number, len(LOADS))),
                volt.show(operation.voltage),
                ampere.show(operation.current),
                watt.show(operation.input_power),
                shown(body.frame * 1.8 + 32 + scatter.normal(0.5), 1),
            )
        )
        truths.append(_truth(operation))
    locked = starting(MOTOR.at_temperature(ROOM + 20), VOLTAGE)
    held = brake.show(brake.load(locked.torque + brake.tare), ZERO.after)  # at rest the scale sees all of it
    locked_row = (volt.show(VOLTAGE), ampere.show(locked.current), watt.show(locked.input_power), held)
    return SimulatedJob(
        name=NAME,
        tables={"load_test": rows, "locked_rotor": [locked_row]},
        truth=truths,
        rated={
            "current": point.current,
            "speed": point.speed * RPM,
            "service_factor_current": service.current,
            "kva_per_hp": VOLTAGE * starting(MOTOR, VOLTAGE).current / 1000 / 0.5,
        },
        values=ZERO.values(),
    )


def _rated(power: float) -> SinglePhaseOperation:
    warm = MOTOR.at_temperature(75.0)
    light = power / MOTOR.synchronous_speed

    def missing(torque: float) -> float:
        return at_torque(warm, VOLTAGE, torque).shaft_power - power

    return at_torque(warm, VOLTAGE, root_between(missing, light, 1.2 * light))


def _truth(operation: SinglePhaseOperation) -> Truth:
    return Truth(
        operation.speed,
        operation.torque,
        operation.input_power,
        operation.power_factor,
        synchronous_speed=MOTOR.synchronous_speed,
    )
