"""How to begin and how to go on, by kind of motor and by what its plate tells. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.job.model import DC, INDUCTION, OTHER, SINGLE_PHASE, THREE_PHASE, UNIVERSAL
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR
from certgen.physics.induction import speed_at_slip
from certgen.planning.expectation import Expectation
from certgen.planning.holding import Bench
from certgen.planning.plan import PlannedPoint, Precaution, Stop, figure
from certgen.quantity import measured
from certgen.standards.criteria import DEFAULT, standard_behind
from certgen.standards.temperature_limits import rise_limit

#: How a plate writes that the motor may run loaded for ever.
_CONTINUOUS = ("S1", "CONT")
#: Which way the brake must be dragged, by how torque is measured.
_PULLS = {ARM: ", so that the arm presses on the scale", ROPE: ", so that the tight side pulls its balance"}


def steps_of(bench: Bench, expected: Expectation, order: str) -> tuple[str, ...]:
    """The steps in order, one sentence or two each."""
    return (*_before(bench), *_start(bench), *_loading(bench, expected, order), *_after(bench))


def _before(bench: Bench) -> Iterator[str]:
    yield "Read the insulation to the frame and the cold winding resistance, with its temperature; write them down."
    if bench.rig.absorber.kind == TORQUE_SENSOR:
        yield "Read the torque sensor with the shaft free: that is the zero before."
    else:
        yield "Free the absorber, tap it, read the scale without load: that is the zero before."


def _start(bench: Bench) -> Iterator[str]:
    kind = bench.job.motor.type
    if kind == UNIVERSAL:
        yield (
            "Never without load: set a light load first and see that the brake cannot let go, then bring the voltage up "
            "from nothing. Switch off before the load is taken away."
        )
    elif kind == DC:
        yield (
            "Find out how it is wound. Series: never without load, light load first. Shunt or separately excited: field "
            "first and never open, then the armature up from nothing. Permanent magnet: voltage up from nothing."
        )
    elif kind == OTHER:
        yield "Find out what kind of motor it is before power is on; where that cannot be told, keep a load on it always."
    if kind in INDUCTION:
        pulls = _PULLS.get(bench.rig.absorber.kind, "")
        yield f"Unloaded first: a touch of power for the direction of turning{pulls}; then run up."
    if kind == THREE_PHASE:
        yield "Read all three currents without load: one that is far off, or none, means a fault. Switch off."
    if kind == SINGLE_PHASE:
        yield (
            "It must run up within a few seconds and its start switch must be heard to drop out. Hum without turning: "
            "switch off at once."
        )


def _loading(bench: Bench, expected: Expectation, order: str) -> Iterator[str]:
    plate = bench.job.nameplate
    if expected.rated_torque is None:
        yield from _without_rating(bench)
        return
    if plate.gear is not None:
        at = "" if plate.speed is None else f" ({figure(plate.speed, 'rad/s', 3)})"
        yield (
            f"Geared: torque and speed of this sheet are those of the output shaft{at}. Run the gear warm at part load "
            "first; its own loss is in every reading."
        )
    yield "Warm it at rated load until its temperature is steady, as far as duty and absorber allow."
    yield (
        f"Then the loads as listed, from the greatest down ({order}): set the scale, wait for it to stand, read the row at "
        "a stroke."
    )


def _without_rating(bench: Bench) -> Iterator[str]:
    current = bench.job.nameplate.current
    if current is not None:
        yield (
            f"No rated torque to aim at: load in small steps upwards until the plate's {figure(current, 'A', 3)} flow, and "
            "judge the motor by that current."
        )
    else:
        yield (
            "No plate to go by: load in small steps upwards, by current and temperature. Wait at each step, write current, "
            "speed and frame temperature; the no-load current is the first thing to compare with."
            if bench.job.motor.type in INDUCTION
            else "No plate to go by: load in small steps upwards, by current and temperature. Wait at each step, write "
            "current, speed and frame temperature."
        )
    yield (
        "Go on to the next step while the temperature settles; hold the last step at which it does. Do not go on when "
        "current rises faster than load, when speed drops away, or at any sign of the stop list."
    )


def _after(bench: Bench) -> Iterator[str]:
    duty = bench.job.nameplate.duty
    if duty is not None and not duty.strip().upper().startswith(_CONTINUOUS):
        yield f"Duty {duty}: keep loaded running within it, and let the motor cool between."
    yield (
        "Unload, read the zero after. Where heat is to be judged: hot resistance right after switching off, with the "
        "seconds since."
    )


# Signs at which the load is taken off or power is switched off.


_UNLOAD, _OFF = "unload", "switch off"
_PRACTICE = "common practice, no source"
#: Current over the greatest expected one at which to stop. [1] Common practice, no source.
_OVER_CURRENT = 1.1
#: Current over that of the plate above which nothing is read at leisure. [1] Common practice, no source.
_OVERLOAD = 1.25
#: Slip over rated slip at which the motor nears breakdown. [1] Common practice, no source.
_OVER_SLIP = 2.0
#: Ambient the limits of rise are given for; a hotter one lowers the rise and leaves the temperature. [K]
_AMBIENT = 273.15 + 40.0
#: Class taken for a winding of unknown class: the oldest still met. Common practice, no source.
_CAUTIOUS_CLASS = "A"


def stops_of(bench: Bench, expected: Expectation, points: tuple[PlannedPoint, ...]) -> tuple[Stop, ...]:
    """The list, figures first."""
    return (
        *_current(bench, points),
        _temperature(bench),
        *_speed(bench, expected),
        *_of_kind(bench),
        Stop("smoke, or a smell of hot varnish, rubber or oil", None, _OFF, _PRACTICE),
        Stop("a new noise: grinding, scraping, knocking, growling", None, _OFF, _PRACTICE),
        Stop("vibration that grows, or a part that works loose", None, _OFF, _PRACTICE),
        *_of_rig(bench),
    )


def _current(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[Stop]:
    plate = bench.job.nameplate.current
    if plate is not None:
        yield Stop("current above the plate's while held for long", measured(plate, "A"), _UNLOAD, "the plate")
    currents = [point.current.value for point in points if point.current is not None and point.holds is not False]
    if currents:
        most = max([_OVER_CURRENT * max(currents), *([] if plate is None else [_OVERLOAD * plate])])
        yield Stop("current at any load", measured(most, "A"), _OFF, f"the greatest planned, and a tenth; {_PRACTICE}")
    elif plate is None:
        yield Stop("current that rises faster than the load, or is unsteady", None, _UNLOAD, _PRACTICE)


def _temperature(bench: Bench) -> Stop:
    """Winding temperature the class allows, whatever the ambient; that of the oldest class where none is known."""
    job = bench.job
    plate = job.nameplate
    letter = plate.insulation_class or _CAUTIOUS_CLASS
    standard = standard_behind(job.criteria or DEFAULT)
    limit = rise_limit(standard, letter, motor_type=job.motor.type, power=plate.power)
    stated = "" if plate.insulation_class is not None else f"class not known, taken as {letter}; "
    sign = "winding temperature" if not stated else f"winding temperature (class not known, taken as {letter})"
    if limit is None:
        return Stop(
            "winding or frame hotter than the class allows", None, _UNLOAD, f"{stated}no limit known for class {letter}"
        )
    basis = f"{stated}class {letter}, {limit.source}, by resistance; the frame is far cooler"
    return Stop(sign, measured(_AMBIENT + limit.rise, "K"), _UNLOAD, basis)


def _speed(bench: Bench, expected: Expectation) -> Iterator[Stop]:
    if bench.job.motor.type not in INDUCTION:
        return
    slip, synchronous = expected.rated_slip, expected.synchronous_speed
    if slip is not None and synchronous is not None and _OVER_SLIP * slip < 1.0:
        least = float(speed_at_slip(_OVER_SLIP * slip, synchronous))
        basis = f"twice rated slip, near breakdown; {_PRACTICE}"
        yield Stop("speed below, while loading", measured(least, "rad/s"), _UNLOAD, basis)
    else:
        yield Stop("speed that drops away as load is added", None, _UNLOAD, f"near breakdown; {_PRACTICE}")


def _of_kind(bench: Bench) -> Iterator[Stop]:
    kind = bench.job.motor.type
    if kind == THREE_PHASE:
        yield Stop("one line without current, or far from the others", None, _OFF, _PRACTICE)
    if kind == SINGLE_PHASE:
        yield Stop("the start switch does not drop out, or the motor hums and stands", None, _OFF, _PRACTICE)
    if kind in (UNIVERSAL, DC):
        yield Stop("sparking that runs round the commutator", None, _OFF, _PRACTICE)
        yield Stop("speed that runs away, or load that falls off", None, _OFF, _PRACTICE)


def _of_rig(bench: Bench) -> Iterator[Stop]:
    limits, scale = bench.rig.limits, bench.rig.scale
    if limits.scale is not None and scale is not None:
        unit = "kg" if scale.reads == "mass" else "N"
        yield Stop("scale at its span", measured(limits.scale.value, unit), _UNLOAD, "the rig")
    if limits.brake_current is not None:
        yield Stop("brake current", measured(limits.brake_current, "A"), _UNLOAD, "the rig")
    yield Stop("brake or belt that smells, smokes or slips; load held past its time", None, _UNLOAD, "the rig")


# What to see to before power is on. Usual cautions, common practice; local codes and licensed practice decide.


def precautions_of(bench: Bench) -> tuple[Precaution, ...]:
    """The list, people first."""
    return tuple(_precautions(bench))


def _precautions(bench: Bench) -> Iterator[Precaution]:
    job, rig = bench.job, bench.rig
    volts = job.nameplate.voltage
    supply = f"supply of {volts:.0f} V" if volts is not None else "electrical supply"
    yield Precaution(
        "Connection, earthing and protection by licensed practice under the local code; that code stands above this sheet.",
        supply,
    )
    yield Precaution("Supply locked off and proved dead while hands are at terminals, coupling or brake.", supply)
    yield Precaution(
        "Emergency stop within reach, tried before the test; it must cut the motor and, where the motor may race, not "
        "release the brake.",
        "rotating machine",
    )
    yield Precaution("Frame earthed; insulation to the frame tested and good.", "used motor")
    yield Precaution(
        "Motor and brake bolted down, shafts aligned, keys and set screws secured, coupling and belt guarded.",
        f"rig {rig.name}",
    )
    yield Precaution(
        "Eye protection on; hair, sleeves, gloves and cords away from what turns. Nobody stands in line with a rim.",
        "rotating machine",
    )
    if job.motor.type in (UNIVERSAL, DC):
        yield Precaution(
            "The load cannot fall off: brake or belt secured, and somebody at the switch.",
            f"motor type {job.motor.type} may race",
        )
        yield Precaution("No solvent, dust or gas about: brushes spark.", f"motor type {job.motor.type}")
    if job.motor.type == SINGLE_PHASE:
        yield Precaution(
            "Capacitors discharged through a resistor before terminals are touched, before and after.",
            f"motor type {job.motor.type}",
        )
    if rig.tachometer.magnet is not None:
        yield Precaution(
            "The glued magnet pulled at by hand, and nobody in its plane while it turns.", "magnet of the tachometer"
        )
    yield Precaution(
        "Brake, motor and resistors become hot enough to burn; nothing that burns near them, an extinguisher for live "
        "parts at hand.",
        "heat of the load",
    )
    yield Precaution("Two people: one at the switch and meters, one at the brake.", "usual at a brake test")
