"""What all tests of three-phase motors share: rated point, load held, running light, heat run, winding."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from simulated_bench.heating import Body
from simulated_bench.instruments import Meter, Scatter, Zero, brake_of, meter, shown
from simulated_bench.job_file import Row
from simulated_bench.simulated_job import RIGS, RPM, SimulatedJob, Truth
from simulated_bench.solving import root_between
from simulated_bench.three_phase import COPPER, REFERENCE_TEMPERATURE, Operation, ThreePhaseMotor, at_torque

Lines = tuple[float, float, float]


def balanced(voltage: float) -> Lines:
    """Three equal line voltages [V]."""
    return voltage, voltage, voltage


def at_power(motor: ThreePhaseMotor, lines: Lines, power: float) -> Operation:
    """Steady state at a shaft power [W]."""
    at_synchronous_speed = power / motor.synchronous_speed
    torque = root_between(
        lambda trial: at_torque(motor, lines, trial).shaft_power - power,
        at_synchronous_speed,
        1.3 * at_synchronous_speed,
    )
    return at_torque(motor, lines, torque)


def rated(motor: ThreePhaseMotor, voltage: float, power: float, winding: float = 85.0) -> Operation:
    """Rated point of the motor as made, its winding warm [degC]."""
    return at_power(motor.at_temperature(winding), balanced(voltage), power)


def plate_values(point: Operation) -> dict[str, float]:
    """What a maker would round for the plate: A, rev/min, ratios."""
    return {
        "current": point.current,
        "speed": point.speed * RPM,
        "power_factor": point.power_factor,
        "efficiency": point.efficiency,
    }


def hold(motor: ThreePhaseMotor, body: Body, lines: Lines, torque: float, minutes: float) -> tuple[Operation, Body]:
    """Operation at a torque after so many minutes of it, and how warm the motor is by then."""
    begun = at_torque(motor.at_temperature(body.winding), lines, torque)
    warmer = body.after(60 * minutes, begun.losses)
    return at_torque(motor.at_temperature(warmer.winding), lines, torque), warmer


def truth(operation: Operation, motor: ThreePhaseMotor) -> Truth:
    """The record of a load point of a motor without a gear."""
    return Truth(
        operation.speed,
        operation.torque,
        operation.input_power,
        operation.power_factor,
        synchronous_speed=motor.synchronous_speed,
    )


def wandering(voltage: float, scatter: Scatter, spread: float = 0.002) -> float:
    """A supply voltage as it happens to be during one reading [V]."""
    return voltage * (1 + scatter.normal(spread))


def between_lines(motor: ThreePhaseMotor, winding: float) -> float:
    """Resistance between two terminals of the star at a temperature [ohm, degC]."""
    return 2 * motor.R1 * (COPPER + winding) / (COPPER + REFERENCE_TEMPERATURE)


def winding_values(motor: ThreePhaseMotor, *, cold: float, hot: Body, after: int) -> dict[str, str]:
    """Resistance between lines at room temperature [degC] and so many seconds after switching off."""
    was, became = between_lines(motor, cold), between_lines(motor, hot.after(after, 0.0).winding)
    room = hot.ambient + 1  # the motor has warmed the room a little
    return {
        "cold": f"{{resistance: {shown(was, 0.001)} ohm, temperature: {cold:.1f} degC}}",
        "hot": f"{{resistance: {shown(became, 0.001)} ohm, after: {after} s, ambient: {room:.1f} degC}}",
    }


def running_light(
    motor: ThreePhaseMotor, voltages: Sequence[float], meters: tuple[Meter, Meter, Meter], winding: float
) -> list[Row]:
    """No-load readings at several voltages: volt, ampere, watt."""
    volt, ampere, watt = meters
    rows: list[Row] = []
    for voltage in voltages:
        light = at_torque(motor.at_temperature(winding), balanced(voltage), 0.0)
        rows.append((volt.show(voltage), ampere.show(light.current), watt.show(light.input_power)))
    return rows


def heat_run(
    motor: ThreePhaseMotor,
    body: Body,
    lines: Lines,
    torque: float,
    *,
    minutes: Sequence[float],
    scatter: Scatter,
) -> tuple[list[Row], Body]:
    """Frame temperature over time at a constant torque: min, degC; and the motor warm at the end."""
    rows: list[Row] = []
    before = 0.0
    for now in minutes:
        _, body = hold(motor, body, lines, torque, now - before)
        rows.append((shown(now, 1), shown(body.frame + scatter.normal(0.15), 0.1)))
        before = now
    return rows, body


def warm_load_test(
    name: str,
    motor: ThreePhaseMotor,
    zero: Zero,
    *,
    power: float,
    voltage: float,
    room: float,
    gravity: float,
    loads: Sequence[float],
    minutes: float,
    copied: Callable[[int, str], str] = lambda number, scale: scale,
) -> SimulatedJob:
    """A load test on the arm brake, the motor warm from an hour at rated load (plate values power [W] and voltage [V]).

    ``loads`` are parts of rated torque, each held for ``minutes``; ``copied`` gives what was written down for the scale in
    each row, counted from 0.
    """
    scatter = Scatter(name)
    brake = brake_of(RIGS / "arm_brake.yaml", gravity)
    volt, ampere = (meter(scatter, step, limit=0.002, spread=0.0003) for step in (0.1, 0.001))
    watt = meter(scatter, 1, limit=0.0025, spread=0.0005)
    point = rated(motor, voltage, power)
    body = Body(0.29, 22 * 60, room, rise=58.0)
    rows: list[Row] = []
    truths: list[Truth] = []
    torques = [load * point.torque * (1 + scatter.normal(0.006)) for load in loads]
    for number, torque in enumerate(torques):
        lines = balanced(wandering(voltage, scatter))
        operation, body = hold(motor, body, lines, torque, minutes)
        scale = brake.show(brake.load(torque) + scatter.normal(0.0005), zero.at(number, len(torques)))
        rows.append(
            (
                shown(operation.speed * RPM + scatter.normal(0.4), 1),
                copied(number, scale),
                volt.show(lines[0]),
                ampere.show(operation.current),
                watt.show(operation.input_power),
                shown(body.winding + scatter.normal(0.2), 0.1),
            )
        )
        truths.append(truth(operation, motor))
    return SimulatedJob(
        name=name, tables={"load_test": rows}, truth=truths, rated=plate_values(point), values=zero.values()
    )
