"""How to begin and how to go on, by kind of motor and by what its plate says. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from certgen.assessment.heat import ROOM
from certgen.job.model import DC, INDUCTION, OTHER, SINGLE_PHASE, THREE_PHASE, UNIVERSAL
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR
from certgen.messages.catalogue import Message
from certgen.physics.induction import speed_at_slip
from certgen.planning.expectation import Expectation
from certgen.planning.holding import Bench, duration, most_speed_held
from certgen.planning.plan import DO_NOT_RUN, SWITCH_OFF, UNLOAD, PlannedPoint, Precaution, Stop
from certgen.quantity import measured
from certgen.results.heat import allowed_rise
from certgen.standards.criteria import companions_of
from certgen.standards.duty import read_duty

#: Which way the brake must be dragged, by how torque is measured.
_FIRST_TURN = {ARM: "plan.step.turn_arm", ROPE: "plan.step.turn_rope"}
#: How a direct-current motor is started, by its excitation.
_DC_STARTS = {
    "series": "plan.step.start_dc_series",
    "compound": "plan.step.start_dc_series",
    "shunt": "plan.step.start_dc_field",
    "separate": "plan.step.start_dc_field",
    "permanent magnet": "plan.step.start_dc_magnet",
}
#: Rated load, within rounding.
_RATED = 1.0 + 1e-9


def steps_of(
    bench: Bench, expected: Expectation, points: tuple[PlannedPoint, ...], outcome: Message, *, order: Message | str
) -> tuple[Message, ...]:
    """The steps in order, one sentence or two each; none asks for a load the rig refuses."""
    if outcome in DO_NOT_RUN:
        return (*_before(bench), Message("plan.step.do_not_run"))
    return (*_before(bench), *_start(bench), *_loading(bench, expected, points, order), *_after(bench))


def _before(bench: Bench) -> Iterator[Message]:
    commutator = bench.job.motor.type in (UNIVERSAL, DC)
    yield Message("plan.step.inspect_with_commutator" if commutator else "plan.step.inspect")
    if bench.job.motor.type == SINGLE_PHASE:
        yield Message("plan.step.capacitors")
    yield Message("plan.step.insulation_and_winding")
    yield Message("plan.step.safety")
    sensor = bench.rig.absorber.kind == TORQUE_SENSOR
    yield Message("plan.step.zero_of_sensor" if sensor else "plan.step.zero_of_scale")


def _start(bench: Bench) -> Iterator[Message]:
    motor = bench.job.motor
    if motor.type == UNIVERSAL:
        yield Message("plan.step.start_universal")
    elif motor.type == DC:
        yield Message(_DC_STARTS.get(motor.excitation or "", "plan.step.start_dc"))
    elif motor.type == OTHER:
        yield Message("plan.step.start_other")
    if motor.type in INDUCTION:
        yield Message(_FIRST_TURN.get(bench.rig.absorber.kind, "plan.step.turn"))
    if motor.type == THREE_PHASE:
        yield Message("plan.step.start_three_phase")
    if motor.type == SINGLE_PHASE:
        yield Message("plan.step.start_single_phase")


def _loading(
    bench: Bench, expected: Expectation, points: tuple[PlannedPoint, ...], order: Message | str
) -> Iterator[Message]:
    plate = bench.job.nameplate
    if expected.rated_torque is None:
        yield from _without_rating(bench)
        return
    if plate.gear is not None:
        if plate.speed is None:
            yield Message("plan.step.geared")
        else:
            yield Message("plan.step.geared_at", speed=plate.speed)
    taken = [
        point for point in points if point.holds is not False and point.load is not None and point.load.value > 0.0
    ]
    yield from _warm(bench, [point for point in taken if point.load is not None and point.load.value <= _RATED])
    if taken:
        yield Message("plan.step.loads", load=taken[0].name, order=order)


def _warm(bench: Bench, up_to_rated: list[PlannedPoint]) -> Iterator[Message]:
    """Warming at rated load, or at the greatest load below it that is not refused; ``up_to_rated`` greatest first."""
    if not up_to_rated:
        return
    point, duty = up_to_rated[0], bench.job.nameplate.duty
    if duty is not None and _not_continuous(duty):
        yield Message("plan.step.warm_in_duty", load=point.name, duty=duty)
    elif point.may_be_held is None:
        yield Message("plan.step.warm", load=point.name)
    else:
        yield Message("plan.step.warm_for", load=point.name, time=duration(point.may_be_held.value))


def _not_continuous(written: str) -> bool:
    duty = read_duty(written)
    return duty is None or not duty.continuous


def _without_rating(bench: Bench) -> Iterator[Message]:
    current = bench.job.nameplate.current
    if current is not None:
        yield Message("plan.step.up_to_current", current=current)
    elif bench.job.motor.type in INDUCTION:
        yield Message("plan.step.no_plate_induction")
    else:
        yield Message("plan.step.no_plate")
    yield Message("plan.step.next")


def _after(bench: Bench) -> Iterator[Message]:
    duty = bench.job.nameplate.duty
    if duty is not None and _not_continuous(duty):
        yield Message("plan.step.duty", duty=duty)
    yield Message("plan.step.after_switching_off" if bench.may_race else "plan.step.after")


# Signs at which the load is taken off or power is switched off.


_PRACTICE, _RIG = Message("plan.stop_by.practice"), Message("plan.stop_by.rig")
#: Current over the greatest expected one at which to stop. [1] Common practice, no source.
_OVER_CURRENT = 1.1
#: Current over that of the plate above which nothing is read at leisure. [1] Common practice, no source.
_OVERLOAD = 1.25
#: Slip over rated slip at which the motor nears breakdown. [1] Common practice, no source.
_OVER_SLIP = 2.0
#: Class taken for a winding of unknown class: the oldest still met. Common practice, no source.
_CAUTIOUS_CLASS = "A"


def stops_of(bench: Bench, expected: Expectation, points: tuple[PlannedPoint, ...]) -> tuple[Stop, ...]:
    """The list, figures first. A motor that may race is never unloaded under power: it is switched off, brake on."""
    stops = (
        *_current(bench, points),
        _temperature(bench),
        *_speed(bench, expected),
        *_of_kind(bench),
        Stop(Message("plan.stop.smoke"), None, SWITCH_OFF, _PRACTICE),
        Stop(Message("plan.stop.noise"), None, SWITCH_OFF, _PRACTICE),
        Stop(Message("plan.stop.vibration"), None, SWITCH_OFF, _PRACTICE),
        *_of_rig(bench, points),
    )
    return tuple(replace(one, act=SWITCH_OFF, brake_on=True) for one in stops) if bench.may_race else stops


def _current(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[Stop]:
    plate = bench.job.nameplate.current
    if plate is not None:
        basis = Message("plan.stop_by.plate")
        yield Stop(Message("plan.stop.current_above_plate"), measured(plate, "A"), UNLOAD, basis)
    currents = [point.current.value for point in points if point.current is not None and point.holds is not False]
    if currents:
        most = max([_OVER_CURRENT * max(currents), *([] if plate is None else [_OVERLOAD * plate])])
        basis = Message("plan.stop_by.greatest_planned", practice=_PRACTICE)
        yield Stop(Message("plan.stop.current"), measured(most, "A"), SWITCH_OFF, basis)
    elif plate is None:
        yield Stop(Message("plan.stop.current_rises"), None, UNLOAD, _PRACTICE)


def _temperature(bench: Bench) -> Stop:
    """Winding temperature at which the test would fail its class; that of the oldest class where none is known."""
    job = bench.job
    known, letter = job.nameplate.insulation_class is not None, job.nameplate.insulation_class or _CAUTIOUS_CLASS
    taken = replace(job, nameplate=replace(job.nameplate, insulation_class=letter))
    limit = allowed_rise(taken, None, companions_of(bench.criteria).temperature)
    if isinstance(limit, Message):
        key = "plan.stop_by.no_limit_of_class" if known else "plan.stop_by.no_limit_of_class_taken"
        return Stop(Message("plan.stop.hot"), None, UNLOAD, Message(key, letter=letter))
    air = ROOM if job.conditions.ambient is None else job.conditions.ambient
    key = "plan.stop_by.rise_of_class" if known else "plan.stop_by.rise_of_class_taken"
    basis = Message(key, letter=letter, rise=limit.rise, air=air, source=limit.source)
    sign = Message("plan.stop.winding") if known else Message("plan.stop.winding_class_taken", letter=letter)
    return Stop(sign, measured(air + limit.rise, "K"), UNLOAD, basis)


def _speed(bench: Bench, expected: Expectation) -> Iterator[Stop]:
    if bench.job.motor.type not in INDUCTION:
        return
    slip, synchronous = expected.rated_slip, expected.synchronous_speed
    if slip is not None and synchronous is not None and _OVER_SLIP * slip < 1.0:
        least = float(speed_at_slip(_OVER_SLIP * slip, synchronous))
        basis = Message("plan.stop_by.twice_slip", practice=_PRACTICE)
        yield Stop(Message("plan.stop.speed_below"), measured(least, "rad/s"), UNLOAD, basis)
    else:
        basis = Message("plan.stop_by.near_breakdown", practice=_PRACTICE)
        yield Stop(Message("plan.stop.speed_drops"), None, UNLOAD, basis)


def _of_kind(bench: Bench) -> Iterator[Stop]:
    kind = bench.job.motor.type
    if kind == THREE_PHASE:
        yield Stop(Message("plan.stop.line_dead"), None, SWITCH_OFF, _PRACTICE)
    if kind == SINGLE_PHASE:
        yield Stop(Message("plan.stop.start_switch"), None, SWITCH_OFF, _PRACTICE)
    if kind in (UNIVERSAL, DC):
        yield Stop(Message("plan.stop.sparking"), None, SWITCH_OFF, _PRACTICE)
        yield Stop(Message("plan.stop.runs_away"), None, SWITCH_OFF, _PRACTICE)


def _of_rig(bench: Bench, points: tuple[PlannedPoint, ...]) -> Iterator[Stop]:
    limits, scale = bench.rig.limits, bench.rig.scale
    fastest = most_speed_held(bench)
    if fastest is not None and bench.job.motor.type not in INDUCTION:
        yield Stop(Message("plan.stop.speed_above"), measured(fastest, "rad/s"), SWITCH_OFF, _RIG)
    if limits.scale is not None and scale is not None:
        unit = "kg" if scale.reads == "mass" else "N"
        yield Stop(Message("plan.stop.scale"), measured(limits.scale.value, unit), UNLOAD, _RIG)
    if limits.absorber_power is not None and any(_power_open(point, limits.absorber_power) for point in points):
        yield Stop(Message("plan.stop.absorber_power"), measured(limits.absorber_power, "W"), UNLOAD, _RIG)
    if limits.brake_current is not None:
        yield Stop(Message("plan.stop.brake_current"), measured(limits.brake_current, "A"), UNLOAD, _RIG)
    yield Stop(Message("plan.stop.brake"), None, UNLOAD, _RIG)


def _power_open(point: PlannedPoint, limit: float) -> bool:
    """Whether a load may ask more of the absorber than its limit [W], as its power is not known before the test."""
    bound = point.absorber_power_at_most
    return point.absorber_power is None and (bound is None or bound.value > limit)


# What to see to before power is on. Usual cautions, common practice; local codes and a licensed electrician decide.


def precautions_of(bench: Bench) -> tuple[Precaution, ...]:
    """The list, people first."""
    return tuple(_precautions(bench))


def _precautions(bench: Bench) -> Iterator[Precaution]:
    job, rig = bench.job, bench.rig
    volts, motor_type = job.nameplate.voltage, Message("plan.because.motor_type", type=job.motor.type)
    supply = Message("plan.because.supply") if volts is None else Message("plan.because.supply_of", voltage=volts)
    rotating = Message("plan.because.rotating")
    yield Precaution(Message("plan.precaution.licensed"), supply)
    yield Precaution(Message("plan.precaution.locked_off"), supply)
    yield Precaution(Message("plan.precaution.emergency_stop"), rotating)
    yield Precaution(Message("plan.precaution.earthed"), Message("plan.because.used_motor"))
    yield Precaution(Message("plan.precaution.secured"), Message("plan.because.rig", rig=rig.name))
    yield Precaution(Message("plan.precaution.clothing"), rotating)
    if bench.may_race:
        may_race = Message("plan.because.may_race", type=job.motor.type)
        yield Precaution(Message("plan.precaution.load_secured"), may_race)
    if job.motor.type in (UNIVERSAL, DC):
        yield Precaution(Message("plan.precaution.no_dust"), motor_type)
    if job.motor.type == SINGLE_PHASE:
        yield Precaution(Message("plan.precaution.capacitors"), motor_type)
    if rig.tachometer.magnet is not None:
        yield Precaution(Message("plan.precaution.magnet"), Message("plan.because.magnet"))
    yield Precaution(Message("plan.precaution.hot"), Message("plan.because.heat"))
    yield Precaution(Message("plan.precaution.two_people"), Message("plan.because.brake_test"))
