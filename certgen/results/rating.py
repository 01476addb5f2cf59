"""The rating assessed for a motor whose plate gives no power, and what would have to be measured for one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from certgen.job.model import INDUCTION, Job
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity, measured
from certgen.readings.model import Readings
from certgen.reduction.heat import heat_run_load, load_where, power_within
from certgen.reduction.model import POINT_UNITS, LoadPoints, Reduction
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.model import AssessedRating, Characteristic, Thermal
from certgen.results.rated import declared_values, judged_point
from certgen.results.starting import breakdown_of, voltage_part
from certgen.results.uncertainty import errors_of, with_errors, with_uncertainty
from certgen.standards.criteria import IEC, standard_behind
from certgen.standards.ratings import (
    Reserve,
    Step,
    greatest_usual_slip,
    ladder,
    ladder_unit,
    reaches,
    step_at_or_below,
    torque_reserve,
)
from certgen.standards.temperature_limits import RiseLimit, at_ambient, build_of, rise_limit

# What each test result allows an unmarked motor to be rated for: heat, torque in reserve, slip, the range tested.


#: Furthest the rise of a heat run is scaled to another load, by the losses. Common practice, no source.
MOST_SCALING = 1.25
#: The ordinary room a rating holds for [K]: IEC 60034-1, 6.3, from memory.
_HOTTEST_AIR = 273.15 + 40.0


@dataclass(frozen=True, eq=False)
class LoadLimit:
    """One limit: its name, how it was found, the power it allows [W], and which steps of the ladder."""

    name: Message
    basis: Message
    power: float
    allows: Callable[[Step], bool]


def up_to(name: Message, basis: Message, power: float, uncertainty: float = 0.0) -> LoadLimit:
    """A limit that allows every step a power [W] reaches within its expanded uncertainty [W]."""
    return LoadLimit(name, basis, power, lambda step: reaches(power, step.power, uncertainty))


def shown_power(power: float) -> Message:
    """A power at the shaft [W], three digits."""
    return Message("rating.shaft_power", power=power)


def _reached(power: float | None) -> Message:
    """How far a limit lets the load go [W]."""
    return Message("rating.no_load") if power is None else Message("rating.up_to", power=shown_power(power))


def heat_limit(
    thermal: Thermal, load: LoadPoints, curve: LoadPoints, allowed: RiseLimit, *, part: float = 0.0
) -> LoadLimit | None:
    """What the heat run allows: its final rise brought to the limit in proportion to the losses.

    ``load`` is the one point the run was made at; ``part`` is the uncertainty of shaft power over it. ``None`` where rise
    or losses are not known.
    """
    rise, losses = final_winding_rise(thermal), float(load.losses[0])
    if rise is None or not np.isfinite(losses) or not np.isfinite(curve.losses).all():
        return None
    scale = min(allowed.rise / rise, MOST_SCALING)
    power = power_within(curve, curve.losses, losses * scale)
    how = Message("rating.by_losses")
    if scale == MOST_SCALING:
        how = Message("rating.by_most_losses", factor=MOST_SCALING)
    basis = Message(
        "rating.by_heat",
        ran=shown_power(float(load.shaft_power[0])),
        rise=rise,
        allowed=allowed.rise,
        source=allowed.source,
        how=how,
        reached=_reached(power),
    )
    return up_to(Message("rating.limit.heat_run"), basis, -1.0 if power is None else power, part * (power or 0.0))


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
    motor_type: str,
    characteristic: Characteristic,
    curve: LoadPoints,
    ladder: tuple[Step, ...],
    *,
    at_test: float = 1.0,
    spread: float = 0.0,
) -> LoadLimit | None:
    """What the torque in reserve allows; ``None`` where no rule is known for the kind of motor.

    The reserve is that of breakdown torque of an induction motor, of the greatest torque tested of any other;
    ``at_test`` is breakdown torque at the voltage of the test over that at rated voltage [1]. ``spread`` is the uncertainty
    of a torque read [N*m], that of the instruments alone: points far apart give no higher rating.
    """
    greatest, name = float(curve.torque.max()), Message("rating.limit.greatest_torque")
    if motor_type in INDUCTION:
        if characteristic.breakdown_torque is None:
            return None
        greatest, name = at_test * characteristic.breakdown_torque.value, Message("rating.limit.breakdown_torque")
    tested = float(curve.shaft_power.max())

    def reserve_at(step: Step) -> Reserve | None:
        return torque_reserve(motor_type, step, characteristic.poles)

    def allows(step: Step) -> bool:
        reserve, point = reserve_at(step), load_where(curve, "shaft_power", min(step.power, tested))
        if reserve is None or point is None:
            return False
        torque = float(point.torque[0]) * max(1.0, step.power / tested)
        return reaches(greatest, torque * reserve.ratio, spread)

    fitting = [index for index, step in enumerate(ladder) if allows(step)]
    following = ladder[min(max(fitting, default=-1) + 1, len(ladder) - 1)]
    reserve = reserve_at(following)
    if reserve is None:
        return None
    power = power_within(curve, curve.torque * reserve.ratio, greatest)
    reached = Message("rating.up_to_step", step=ladder[fitting[-1]].words) if fitting else Message("rating.no_step")
    asked: dict[str, Any] = {"ratio": reserve.ratio, "source": reserve.source}
    basis = Message("rating.by_torque", name=name, torque=greatest, **asked, reached=reached)
    return LoadLimit(name, basis, -1.0 if power is None else power, allows)


def slip_limit(
    curve: LoadPoints, characteristic: Characteristic, declared: float | None, *, part: float = 0.0
) -> LoadLimit | None:
    """What the slip allows: that of the speed on the plate, else the greatest usual one; ``None`` if none is known.

    ``part`` is the uncertainty of shaft power over it.
    """
    if characteristic.poles is None or not np.isfinite(curve.slip).all():
        return None
    frequency = float(np.nanmean(curve.frequency))
    usual = greatest_usual_slip(characteristic.poles, frequency)
    if declared is not None:
        usual = (declared, Message("source.speed_on_plate"))
    if usual is None:
        return None
    power = power_within(curve, curve.slip, usual[0])
    basis = Message("rating.by_slip", slip=usual[0], source=usual[1], reached=_reached(power))
    return up_to(Message("rating.limit.slip"), basis, -1.0 if power is None else power, part * (power or 0.0))


def tested_limit(curve: LoadPoints, *, part: float) -> LoadLimit:
    """Nothing is rated beyond what was tested; ``part`` is the uncertainty of shaft power over it."""
    greatest = float(np.nanmax(curve.shaft_power))
    basis = Message("rating.by_range", power=shown_power(greatest))
    return up_to(Message("rating.limit.range_tested"), basis, greatest, part * greatest)


def greatest_step(ladder: tuple[Step, ...], limits: tuple[LoadLimit, ...]) -> tuple[Step | None, Message | None]:
    """The greatest step every limit allows, and the name of the least of the limits that refuse the next one.

    Adding a limit never raises the step: the steps all limits allow become fewer or stay.
    """
    allowed = [index for index, step in enumerate(ladder) if all(limit.allows(step) for limit in limits)]
    best = max(allowed, default=-1)
    refusing = [] if best + 1 >= len(ladder) else [limit for limit in limits if not limit.allows(ladder[best + 1])]
    held = min(refusing, key=lambda limit: limit.power).name if refusing else None
    return (ladder[best] if best >= 0 else None), held


# The rating by all limits together, or what would have to be measured for one.


WORDS, WORDS_AT_GEAR = Message("rating.assessed"), Message("rating.assessed_at_gear")
#: Taken where the insulation class is not known: the lowest there is, so that a better winding is only spared.
ASSUMED_CLASS = "A"
NO_RATING = Message("rating.none")


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


def _nothing(
    to_measure: tuple[Message, ...], basis: tuple[Message, ...] = (), limited_by: Message | None = None
) -> AssessedRating:
    return AssessedRating(words=NO_RATING, basis=basis, limited_by=limited_by, to_measure=to_measure)


def _at_plate_current(tested: Evidence) -> AssessedRating:
    job, reduction = tested.job, tested.reduction
    judged = judged_point("rated current", job, reduction, declared_values(job, reduction))
    if judged.point is None:
        return _nothing((Message("to_measure.both_sides_of_current", current=job.nameplate.current),))
    power = float(judged.point.shaft_power[0])
    known = judged.uncertainties.get("shaft_power")
    step = step_at_or_below(power, tested.unit, _stated(known))
    basis = [Message("rating.at_plate_current", power=shown_power(power))]
    if judged.note is not None:
        basis.append(Message("rating.remark", note=judged.note))
    if step is not None:
        above = step.power > power * (1.0 + 1e-9)
        basis.append(Message("rating.label_within" if above else "rating.label_below", source=step.source))
    basis.append(_duty(tested, judged.point))
    figures = _quantities(reduction, judged.point, "current", judged.uncertainties)
    limited_by = Message("rating.limit.plate_current")
    return _rating(tested, figures, figures["shaft_power"], step, basis=tuple(basis), limited_by=limited_by)


def _duty(tested: Evidence, point: LoadPoints) -> Message:
    """Whether the load of a point [of one row] was held until the temperature was steady."""
    thermal, curve = tested.thermal, tested.reduction.curve
    load = None if curve is None else _heat_load(tested, curve)
    if (
        thermal is not None
        and thermal.steady
        and isinstance(load, LoadPoints)
        and load.torque[0] >= 0.98 * point.torque[0]
    ):
        return Message("rating.held")
    return Message("rating.not_held")


def _heat_load(tested: Evidence, curve: LoadPoints) -> LoadPoints | Message:
    kind, gravity = tested.job.motor.type, tested.job.conditions.local_gravity
    return heat_run_load(tested.readings, tested.rig, curve, motor_type=kind, gravity=gravity)


def _rating(
    tested: Evidence,
    figures: Mapping[str, Quantity | None],
    power: Quantity | None,
    step: Step | None,
    *,
    basis: tuple[Message, ...],
    limited_by: Message | None,
) -> AssessedRating:
    return AssessedRating(
        words=WORDS if tested.job.nameplate.gear is None else WORDS_AT_GEAR,
        power=power,
        power_label="" if step is None else step.label,
        current=figures["current"],
        speed=figures["speed"],
        torque=figures["torque"],
        service_factor=measured(1.0, "1"),
        basis=basis,
        limited_by=limited_by,
    )


def _quantities(
    reduction: Reduction, point: LoadPoints, read_off_by: str, of_row: Mapping[str, Uncertainty] | None = None
) -> dict[str, Quantity | None]:
    """Quantities of a point of the load curve with their uncertainty; exact is the one it was read off by.

    Those of a tested point, where there is no curve, have the uncertainties ``of_row``.
    """
    errors = errors_of(reduction)
    names = ("shaft_power", "current", "speed", "torque")
    values = {name: measured(float(getattr(point, name)[0]), POINT_UNITS[name]) for name in names}
    if errors is not None and errors.along is not None:
        known = errors.along.read_off([(read_off_by, point)])[0]
        return {name: with_errors(value, known.get(name), errors) for name, value in values.items()}
    read = of_row or {}
    return {name: value and with_uncertainty(value, read.get(name)) for name, value in values.items()}


def _power_part(reduction: Reduction) -> float:
    """Expanded uncertainty of the greatest shaft power tested, over it; zero where it is not known.

    It stands for the powers that heat, slip and range allow: what else they are uncertain by is not counted.
    """
    points = reduction.points
    if reduction.uncertainties is None or not np.isfinite(points.shaft_power).any():
        return 0.0
    row = int(np.nanargmax(points.shaft_power))
    known = reduction.uncertainties.points[row].get("shaft_power")
    return _stated(known) / float(points.shaft_power[row])


def _stated(known: Uncertainty | None) -> float:
    """Expanded uncertainty that may bring a power to a step: zero where any of it was assumed, as nobody stated it.

    So that a step is never higher for an accuracy left out.
    """
    return 0.0 if known is None or known.expanded is None or known.assumed else known.expanded


def _by_limits(tested: Evidence) -> AssessedRating:
    curve = tested.reduction.curve
    limits = [] if curve is None else _limits(tested, curve)
    to_measure = tuple(limit for limit in limits if isinstance(limit, Message))
    known_limits = tuple(limit for limit in limits if isinstance(limit, LoadLimit))
    basis = tuple(limit.basis for limit in known_limits)
    if curve is None:
        return _nothing(_always(tested))
    if to_measure:
        return _nothing(to_measure, basis)
    step, limited_by = greatest_step(ladder(tested.unit), known_limits)
    power = 0.0 if step is None else min(step.power, float(np.nanmax(curve.shaft_power)))
    point = load_where(curve, "shaft_power", power)
    if step is None or point is None:
        nothing = Message("rating.nothing_preferred", least=ladder(tested.unit)[0].words)
        return _nothing((), (*basis, nothing), limited_by)
    basis = (*basis, *_holds(curve, step))
    figures = _quantities(tested.reduction, point, "shaft_power")
    return _rating(tested, figures, measured(power, "W"), step, basis=basis, limited_by=limited_by)


def _holds(curve: LoadPoints, step: Step) -> tuple[Message, ...]:
    """How the step was chosen, and for what it holds."""
    supply = []
    if np.isfinite(curve.voltage).any():
        supply.append(Message("rating.volts", voltage=float(np.nanmean(curve.voltage))))
    if np.isfinite(curve.frequency).any():
        supply.append(Message("rating.hertz", frequency=float(np.nanmean(curve.frequency))))
    holds = Message("rating.holds", air=_HOTTEST_AIR)
    if supply:
        holds = Message("rating.holds_at", supply=tuple(supply), air=_HOTTEST_AIR)
    return Message("rating.brought_down", step=step.words, source=step.source), holds


def _limits(tested: Evidence, curve: LoadPoints) -> list[LoadLimit | Message]:
    """Every limit, or what to measure for one."""
    kind, characteristic = tested.job.motor.type, tested.characteristic
    at_test = _breakdown_at_test(tested)
    heat, spread = _heat(tested, curve), _spread_of_greatest(tested)
    torque = torque_limit(kind, characteristic, curve, ladder(tested.unit), at_test=at_test, spread=spread)
    limits: list[LoadLimit | Message] = [*heat]
    if kind in INDUCTION and characteristic.breakdown_torque is None:
        limits.append(Message("to_measure.past_breakdown"))
    if torque is not None:
        limits.append(torque)
    if kind in INDUCTION:
        if characteristic.poles is None:
            limits.append(Message("to_measure.poles"))
        limits += _slip(tested, curve, proved=torque is not None and any(isinstance(one, LoadLimit) for one in heat))
    limits.append(tested_limit(curve, part=_power_part(tested.reduction)))
    return limits


def _spread_of_greatest(tested: Evidence) -> float:
    """Stated expanded uncertainty of the greatest torque of an induction motor as read [N*m], else zero."""
    extremes, known = tested.reduction.extremes, tested.reduction.uncertainties
    if extremes is None or extremes.breakdown is None or known is None:
        return 0.0
    rows = np.flatnonzero(tested.reduction.points.torque == extremes.breakdown.torque)
    return _stated(known.points[int(rows[0])].get("torque")) if rows.size else 0.0


def _breakdown_at_test(tested: Evidence) -> float:
    """Breakdown torque at the voltage of the load test over that at the plate's [1], by the square of the voltage."""
    breakdown = breakdown_of(tested.reduction)
    part = 1.0 if breakdown is None else voltage_part(breakdown.speed, tested.job, tested.reduction)
    return part**2 if isinstance(part, float) else 1.0


def _slip(tested: Evidence, curve: LoadPoints, *, proved: bool) -> list[LoadLimit]:
    """The limit of slip: the plate's own, and what is usual only where not both heat and reserve were ``proved``.

    Usual speeds are no limit of a motor that was shown to bear the load.
    """
    declared = declared_values(tested.job, tested.reduction)["slip"]
    if proved and declared is None:
        return []
    limit = slip_limit(curve, tested.characteristic, declared, part=_power_part(tested.reduction))
    return [] if limit is None else [limit]


def _heat(tested: Evidence, curve: LoadPoints) -> list[LoadLimit | Message]:
    load, missing = _heat_load(tested, curve), _heat_missing(tested)
    if isinstance(load, Message):
        missing.insert(0, load)
    if not np.isfinite(curve.losses).all():
        missing.append(Message("to_measure.input_power"))
    if missing or isinstance(load, Message) or tested.thermal is None:
        return [*missing]
    allowed = _rise_allowed(tested, float(load.shaft_power[0]))
    if allowed is None:
        return [Message("to_measure.kind_of_motor", type=tested.job.motor.type)]
    limit = heat_limit(tested.thermal, load, curve, allowed, part=_power_part(tested.reduction))
    return [] if limit is None else [limit]


def _heat_missing(tested: Evidence) -> list[Message]:
    """What the heat run lacks before its rise can be held against a limit."""
    thermal = tested.thermal
    missing = []
    if thermal is None or thermal.winding_rise is None:
        missing.append(Message("to_measure.winding"))
    if "heat_run" in tested.readings.others and (thermal is None or not thermal.steady):
        missing.append(Message("to_measure.until_steady"))
    return missing


def _rise_allowed(tested: Evidence, power: float) -> RiseLimit | None:
    """Rise allowed for the class on the plate, else for the lowest class, which is said."""
    plate = tested.job.nameplate
    letter, motor = plate.insulation_class or ASSUMED_CLASS, tested.job.motor
    build = build_of(motor.enclosure, motor.cooling, motor.frame)
    for standard in (tested.temperature or standard_behind(tested.criteria), IEC):
        limit = rise_limit(standard, letter, motor_type=motor.type, power=power, build=build)
        if limit is not None:
            source = limit.source
            if not plate.insulation_class:
                source = Message("source.assumed_class", source=source, letter=letter)
            return at_ambient(RiseLimit(limit.rise, source), standard, plate.ambient)
    return None


def _always(tested: Evidence) -> tuple[Message, ...]:
    """What a rating takes when there is not even a load curve."""
    wanted = [Message(f"to_measure.{what}") for what in ("load_test", "heat_run", "winding")]
    if tested.job.motor.type in INDUCTION:
        wanted.append(Message("to_measure.past_breakdown"))
    return tuple(wanted)
