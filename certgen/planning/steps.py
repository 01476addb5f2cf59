"""How to begin and how to go on, by kind of motor and by what its plate tells. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.job.model import DC, INDUCTION, OTHER, SINGLE_PHASE, THREE_PHASE, UNIVERSAL
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR
from certgen.planning.expectation import Expectation
from certgen.planning.holding import Bench
from certgen.planning.told import figure

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
