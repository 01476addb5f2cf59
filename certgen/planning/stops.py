"""Signs at which the load is taken off or power is switched off."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.job.model import DC, INDUCTION, SINGLE_PHASE, THREE_PHASE, UNIVERSAL
from certgen.physics.induction import speed_at_slip
from certgen.planning.expectation import Expectation
from certgen.planning.holding import Bench
from certgen.planning.plan import PlannedPoint, Stop
from certgen.quantity import measured
from certgen.standards.criteria import DEFAULT
from certgen.standards.published import standard_behind
from certgen.standards.temperature_limits import rise_limit

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
