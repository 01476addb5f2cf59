"""The rating assessed for a motor whose plate gives no power, and what would have to be measured for one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity, measured
from certgen.readings.model import Readings
from certgen.reduction.heat import heat_run_load, load_where, power_within
from certgen.reduction.model import POINT_UNITS, LoadPoints, Reduction
from certgen.results.model import AssessedRating, Characteristic, Thermal
from certgen.results.rated import declared_values, judged_point
from certgen.results.uncertainty import errors_of, with_errors
from certgen.standards.criteria import IEC, standard_behind
from certgen.standards.ratings import (
    UNIT,
    Reserve,
    Step,
    greatest_usual_slip,
    ladder,
    ladder_unit,
    step_at_or_below,
    torque_reserve,
)
from certgen.standards.temperature_limits import RiseLimit, at_ambient, rise_limit

# What each test result allows an unmarked motor to be rated for: heat, torque in reserve, slip, the range tested.


#: Furthest the rise of a heat run is scaled to another load, by the losses. Common practice, no source.
MOST_SCALING = 1.25


@dataclass(frozen=True, eq=False)
class LoadLimit:
    """One limit: its name, how it was found, the power it allows [W], and which steps of the ladder."""

    name: str
    basis: str
    power: float
    allows: Callable[[Step], bool]


def up_to(name: str, basis: str, power: float) -> LoadLimit:
    """A limit that allows every step up to a power [W]."""
    return LoadLimit(name, basis, power, lambda step: step.power <= power * (1.0 + 1e-9))


def format_power(power: float, unit: str) -> str:
    """A power [W] in the unit of a ladder, three digits."""
    return f"{power / UNIT[unit]:.3g} {unit}"


def heat_limit(
    thermal: Thermal, load: LoadPoints, curve: LoadPoints, allowed: RiseLimit, unit: str
) -> LoadLimit | None:
    """What the heat run allows: its final rise brought to the limit in proportion to the losses.

    ``load`` is the one point the run was made at. ``None`` where rise or losses are not known.
    """
    rise, losses = final_winding_rise(thermal), float(load.losses[0])
    if rise is None or not np.isfinite(losses) or not np.isfinite(curve.losses).all():
        return None
    scale = min(allowed.rise / rise, MOST_SCALING)
    power = power_within(curve, curve.losses, losses * scale)
    held = "in proportion to the losses"
    if scale == MOST_SCALING:
        held = f"taken no further than {MOST_SCALING:g} times the losses of the run"
    ran = format_power(float(load.shaft_power[0]), unit)
    basis = (
        f"Heat: at {ran} the winding settles at a rise of {rise:.0f} K, {allowed.rise:.0f} K allowed "
        f"({allowed.source}); {held}, {'no load' if power is None else f'up to {format_power(power, unit)}'}."
    )
    return up_to("the heat run", basis, -1.0 if power is None else power)


def final_winding_rise(thermal: Thermal) -> float | None:
    """Rise the winding tends to [K]: by resistance at switching off, carried on as the heat run goes on.

    A run that was steady but shows no exponential, as the motor was warm from its beginning, has nothing to carry on.
    """
    if thermal.winding_rise is None:
        return None
    if thermal.final_rise is None:
        return thermal.winding_rise.value if thermal.steady else None
    left = 0.0 if thermal.remaining_rise is None else thermal.remaining_rise.value
    reached = thermal.final_rise.value - left
    return thermal.winding_rise.value * (thermal.final_rise.value / reached if reached > 0.0 else 1.0)


def torque_limit(
    motor_type: str, characteristic: Characteristic, curve: LoadPoints, ladder: tuple[Step, ...]
) -> LoadLimit | None:
    """What the torque in reserve allows; ``None`` where no rule is known for the kind of motor.

    The reserve is that of breakdown torque of an induction motor, of the greatest torque tested of any other.
    """
    greatest, name = float(curve.torque.max()), "the greatest torque tested"
    if motor_type in INDUCTION:
        if characteristic.breakdown_torque is None:
            return None
        greatest, name = characteristic.breakdown_torque.value, "the breakdown torque"

    def reserve_at(step: Step) -> Reserve | None:
        return torque_reserve(motor_type, step, characteristic.poles)

    def allows(step: Step) -> bool:
        reserve, point = reserve_at(step), load_where(curve, "shaft_power", step.power)
        return reserve is not None and point is not None and float(point.torque[0]) * reserve.ratio <= greatest

    fitting = [index for index, step in enumerate(ladder) if allows(step)]
    following = ladder[min(max(fitting, default=-1) + 1, len(ladder) - 1)]
    reserve = reserve_at(following)
    if reserve is None:
        return None
    power = power_within(curve, curve.torque * reserve.ratio, greatest)
    reached = f"up to the step of {ladder[fitting[-1]].label}" if fitting else "no step of the ladder"
    asked = f"{reserve.ratio:g} times rated torque or more ({reserve.source})"
    basis = f"Torque: {name}, {greatest:.3g} N·m, is to be {asked}; {reached}."
    return LoadLimit(name, basis, -1.0 if power is None else power, allows)


def slip_limit(
    curve: LoadPoints, characteristic: Characteristic, declared: float | None, unit: str
) -> LoadLimit | None:
    """What the slip allows: that of the speed on the plate, else the greatest usual one; ``None`` if none is known."""
    if characteristic.poles is None or not np.isfinite(curve.slip).all():
        return None
    frequency = float(np.nanmean(curve.frequency))
    usual = greatest_usual_slip(characteristic.poles, frequency)
    if declared is not None:
        usual = (declared, "speed on the plate")
    if usual is None:
        return None
    power = power_within(curve, curve.slip, usual[0])
    reached = "no load" if power is None else f"up to {format_power(power, unit)}"
    basis = f"Slip: at most {usual[0]:.1%} ({usual[1]}); {reached}.".replace("%", " %")
    return up_to("the slip", basis, -1.0 if power is None else power)


def tested_limit(curve: LoadPoints, unit: str) -> LoadLimit:
    """Nothing is rated beyond what was tested."""
    greatest = float(np.nanmax(curve.shaft_power))
    return up_to("the range tested", f"Tested up to {format_power(greatest, unit)}.", greatest)


def greatest_step(ladder: tuple[Step, ...], limits: tuple[LoadLimit, ...]) -> tuple[Step | None, str]:
    """The greatest step every limit allows, and the name of the least of the limits that refuse the next one.

    Adding a limit never raises the step: the steps all limits allow become fewer or stay.
    """
    allowed = [index for index, step in enumerate(ladder) if all(limit.allows(step) for limit in limits)]
    best = max(allowed, default=-1)
    refusing = [] if best + 1 >= len(ladder) else [limit for limit in limits if not limit.allows(ladder[best + 1])]
    held = min(refusing, key=lambda limit: limit.power).name if refusing else ""
    return (ladder[best] if best >= 0 else None), held


# The rating by all limits together, or what would have to be measured for one.


WORDS = "Rating assessed by this bench, not a maker's rating"
#: Taken where the insulation class is not known: the lowest there is, so that a better winding is only spared.
ASSUMED_CLASS = "A"
NO_RATING = "No rating was assessed by this bench, and the plate gives none"


@dataclass(frozen=True, eq=False)
class Evidence:
    """What the test of a motor without a rating gave."""

    job: Job
    rig: Rig
    readings: Readings
    reduction: Reduction
    characteristic: Characteristic
    thermal: Thermal | None
    criteria: str  # name of the criteria set
    temperature: str | None = None  # whose rises of temperature; left out: those of the standard behind the set

    @property
    def unit(self) -> str:
        """The ladder the rating is given on."""
        known = self.reduction.points.frequency[np.isfinite(self.reduction.points.frequency)]
        return ladder_unit(self.criteria, float(known.mean()) if known.size else None)


def assessed_rating(tested: Evidence) -> AssessedRating | None:
    """The rating the figures allow; ``None`` where the plate gives its power, so that nothing is left to assess.

    A plate that gives current but no power is rated at that current. A plate that gives neither is rated for the
    greatest preferred rating that heat, torque in reserve, slip and the range tested all allow. Whether motor and
    readings are fit to be rated at all is not looked at here.
    """
    if tested.job.nameplate.power is not None:
        return None
    if tested.job.nameplate.current is not None:
        return _at_plate_current(tested)
    return _by_limits(tested)


def _nothing(to_measure: tuple[str, ...], basis: tuple[str, ...] = (), limited_by: str = "") -> AssessedRating:
    return AssessedRating(words=NO_RATING, basis=basis, limited_by=limited_by, to_measure=to_measure)


def _at_plate_current(tested: Evidence) -> AssessedRating:
    job, reduction = tested.job, tested.reduction
    judged = judged_point("rated current", job, reduction, declared_values(job, reduction))
    if judged.point is None:
        return _nothing((f"load points on both sides of the current on the plate, {job.nameplate.current:.3g} A",))
    power = float(judged.point.shaft_power[0])
    step = step_at_or_below(power, tested.unit)
    gave = format_power(power, tested.unit)
    basis = [f"{gave} is what the shaft gave at the current on the plate; it is not brought to a step above."]
    if judged.note is not None:
        note = str(judged.note)
        basis.append(f"{note[0].upper()}{note[1:]}.")
    if step is not None:
        basis.append(f"Label: the step at or below it ({step.source}).")
    basis.append(_duty(tested, judged.point))
    return _rating(tested, judged.point, power, step, basis=tuple(basis), limited_by="the current on the plate")


def _duty(tested: Evidence, point: LoadPoints) -> str:
    """Whether the load of a point [of one row] was held until the temperature was steady."""
    thermal, curve = tested.thermal, tested.reduction.curve
    load = None if curve is None else _heat_load(tested, curve)
    if (
        thermal is not None
        and thermal.steady
        and isinstance(load, LoadPoints)
        and load.torque[0] >= 0.98 * point.torque[0]
    ):
        return "Held in the heat run until the temperature was steady."
    return "Not held in a heat run until steady: nothing is said of continuous duty."


def _heat_load(tested: Evidence, curve: LoadPoints) -> LoadPoints | Message:
    kind, gravity = tested.job.motor.type, tested.job.conditions.local_gravity
    return heat_run_load(tested.readings, tested.rig, curve, motor_type=kind, gravity=gravity)


def _rating(
    tested: Evidence, point: LoadPoints, power: float, step: Step | None, *, basis: tuple[str, ...], limited_by: str
) -> AssessedRating:
    at_shaft = ", at the output shaft of its gear" if tested.job.nameplate.gear is not None else ""
    read_off_by = "shaft_power" if tested.job.nameplate.current is None else "current"
    figures = _quantities(tested.reduction, point, read_off_by)
    return AssessedRating(
        words=WORDS + at_shaft,
        power=figures["shaft_power"] if read_off_by == "current" else measured(power, "W"),
        power_label="" if step is None else step.label,
        current=figures["current"],
        speed=figures["speed"],
        torque=figures["torque"],
        service_factor=measured(1.0, "1"),
        basis=basis,
        limited_by=limited_by,
    )


def _quantities(reduction: Reduction, point: LoadPoints, read_off_by: str) -> dict[str, Quantity | None]:
    """Quantities of a point of the load curve with their uncertainty; exact is the one it was read off by."""
    errors = errors_of(reduction)
    known = {} if errors is None or errors.along is None else errors.along.read_off([(read_off_by, point)])[0]
    return {
        name: with_errors(measured(float(getattr(point, name)[0]), POINT_UNITS[name]), known.get(name), errors)
        for name in ("shaft_power", "current", "speed", "torque")
    }


def _by_limits(tested: Evidence) -> AssessedRating:
    curve = tested.reduction.curve
    limits = [] if curve is None else _limits(tested, curve)
    to_measure = tuple(limit for limit in limits if isinstance(limit, str))
    known_limits = tuple(limit for limit in limits if isinstance(limit, LoadLimit))
    basis = tuple(limit.basis for limit in known_limits)
    if curve is None:
        return _nothing(_always(tested))
    if to_measure:
        return _nothing(to_measure, basis)
    step, limited_by = greatest_step(ladder(tested.unit), known_limits)
    point = None if step is None else load_where(curve, "shaft_power", step.power)
    if step is None or point is None:
        least = ladder(tested.unit)[0].label
        return _nothing(
            (), (*basis, f"No preferred rating from {least} up is within the limits and the range tested."), limited_by
        )
    basis = (*basis, *_holds(tested, curve, step))
    return _rating(tested, point, step.power, step, basis=basis, limited_by=limited_by)


def _holds(tested: Evidence, curve: LoadPoints, step: Step) -> tuple[str, ...]:
    """How the step was chosen, and for what it holds."""
    supply = [
        f"{float(np.nanmean(values)):.4g} {unit}"
        for values, unit in ((curve.voltage, "V"), (curve.frequency, "Hz"))
        if np.isfinite(values).any()
    ]
    at = f" at {' and '.join(supply)}" if supply else ""
    return (
        f"Brought down to {step.label} ({step.source}).",
        f"Holds for continuous duty{at} in air up to 40 °C; service factor 1.0, no overload is rated.",
    )


def _limits(tested: Evidence, curve: LoadPoints) -> list[LoadLimit | str]:
    """Every limit, or in words what to measure for one."""
    kind, characteristic = tested.job.motor.type, tested.characteristic
    limits: list[LoadLimit | str] = [*_heat(tested, curve)]
    if kind in INDUCTION and characteristic.breakdown_torque is None:
        limits.append("the load test carried past breakdown, to where torque falls with speed, if the rig holds it")
    torque = torque_limit(kind, characteristic, curve, ladder(tested.unit))
    if torque is not None:
        limits.append(torque)
    if kind in INDUCTION:
        if characteristic.poles is None:
            limits.append("supply frequency and a row at light load, for the number of poles")
        slip = slip_limit(curve, characteristic, declared_values(tested.job, tested.reduction)["slip"], tested.unit)
        if slip is not None:
            limits.append(slip)
    limits.append(tested_limit(curve, tested.unit))
    return limits


def _heat(tested: Evidence, curve: LoadPoints) -> list[LoadLimit | str]:
    load, missing = _heat_load(tested, curve), _heat_missing(tested)
    if isinstance(load, Message):
        missing.insert(0, str(load))
    if not np.isfinite(curve.losses).all():
        missing.append("input power in the load test, for the losses that warm the motor")
    if missing or isinstance(load, Message) or tested.thermal is None:
        return [*missing]
    allowed = _rise_allowed(tested, float(load.shaft_power[0]))
    if allowed is None:
        return [f"the kind of motor: no limit of temperature rise is tabled for '{tested.job.motor.type}'"]
    limit = heat_limit(tested.thermal, load, curve, allowed, tested.unit)
    return [] if limit is None else [limit]


def _heat_missing(tested: Evidence) -> list[str]:
    """What the heat run lacks before its rise can be held against a limit."""
    thermal = tested.thermal
    missing = []
    if thermal is None or thermal.winding_rise is None:
        missing.append("winding resistance cold, and hot right after the heat run")
    if "heat_run" in tested.readings.others and (thermal is None or not thermal.steady):
        missing.append("the heat run carried on until the temperature is steady")
    return missing


def _rise_allowed(tested: Evidence, power: float) -> RiseLimit | None:
    """Rise allowed for the class on the plate, else for the lowest class, which is said."""
    plate = tested.job.nameplate
    letter = plate.insulation_class or ASSUMED_CLASS
    for standard in (tested.temperature or standard_behind(tested.criteria), IEC):
        limit = rise_limit(standard, letter, motor_type=tested.job.motor.type, power=power)
        if limit is not None:
            assumed = "" if plate.insulation_class else f"; class {letter} assumed for want of a marking"
            return at_ambient(RiseLimit(limit.rise, limit.source + assumed), standard, plate.ambient)
    return None


def _always(tested: Evidence) -> tuple[str, ...]:
    """What a rating takes when there is not even a load curve."""
    wanted = ["a load test of three different torques or more, with input power"]
    wanted += ["a heat run at one load, with a column that tells the load, until the temperature is steady"]
    wanted += ["winding resistance cold, and hot right after the heat run"]
    if tested.job.motor.type in INDUCTION:
        wanted.append("the load test carried past breakdown, to where torque falls with speed, if the rig holds it")
    return tuple(wanted)
