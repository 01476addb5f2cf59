"""Single figures of the machine: no load, starting, overload, letters and class."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from certgen.job.model import DC, INDUCTION, THREE_PHASE, UNIVERSAL, Job
from certgen.messages.catalogue import Message
from certgen.physics.domain import Index
from certgen.physics.induction import synchronous_speed
from certgen.physics.mechanics import gear_loss, speed_regulation
from certgen.quantity import Quantity, measured
from certgen.reduction.load_points import lightest_index
from certgen.reduction.model import POINT_UNITS, HeldRotor, LoadPoints, Reduction, TorqueAtSpeed
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, linear, nominal, single, weighted
from certgen.reduction.uncertainty.starting_errors import at_rated_voltage, breakdown_errors, locked_rotor_errors
from certgen.results.classes import design_letter, design_rating, efficiency_class, kva_per_hp
from certgen.results.model import Characteristic, Losses
from certgen.results.rated import declared_values, is_empty_plate, judged_point, rated_torque
from certgen.results.starting import (
    CURRENT,
    TITLES,
    StartingFigures,
    breakdown_of,
    proved,
    starting_figures,
    voltage_part,
)
from certgen.results.uncertainty import errors_of, in_proportion, with_errors, with_uncertainty
from certgen.standards.criteria import PLACES
from certgen.standards.nema_letters import code_letter

# How the speed of a motor with a commutator behaves between rated load and no load: what distinguishes shunt from series.


#: Regulation up to which a direct-current motor behaves as shunt wound or with magnets, and from which as series wound.
#: Common practice, no source: shunt motors keep within about 15 %, series motors more than double their speed.
_SHUNT, _SERIES = 0.25, 0.6
SHUNT_CHARACTER, COMPOUND_CHARACTER, SERIES_CHARACTER = "shunt", "compound", "series"


def light_load_speed_ratio(job: Job, reduction: Reduction) -> Quantity | None:
    """Speed at the lightest load tested over speed at rated load [1]; ``None`` unless the motor has a commutator."""
    speeds = _speeds(job, reduction)
    return None if speeds is None else measured(speeds[0] / speeds[1], "1")


def speed_character(job: Job, reduction: Reduction) -> tuple[Message, ...]:
    """One sentence on how speed follows load; none unless the motor has a commutator and was loaded to its rating.

    What the speed would become below the lightest load tested is never worked out: a series motor races.
    """
    speeds = _speeds(job, reduction)
    if speeds is None:
        return ()
    light, rated = speeds
    if reduction.no_load_point is None:
        lightest = float(np.nanmin(np.abs(reduction.points.torque)))
        return (Message("speed_character.light", torque=lightest, ratio=light / rated),)
    if job.motor.type == DC:
        rise = float(speed_regulation(light, rated))
        return (Message(f"speed_character.{character_of(rise)}", rise=rise),)
    return (Message("speed_character.races", ratio=light / rated),)


def character_of(regulation: float) -> str:
    """How a direct-current motor behaves by its speed regulation [1]: 'shunt', 'compound' or 'series'."""
    if regulation <= _SHUNT:
        return SHUNT_CHARACTER
    return SERIES_CHARACTER if regulation >= _SERIES else COMPOUND_CHARACTER


def character_by_curve(job: Job, reduction: Reduction) -> str:
    """The same by the test's own curve; empty where the motor is none or was not run from no load to its rating."""
    speeds = _speeds(job, reduction)
    if speeds is None or job.motor.type != DC or reduction.no_load_point is None:
        return ""
    return character_of(float(speed_regulation(*speeds)))


def rated_place(job: Job, reduction: Reduction) -> tuple[str, LoadPoints] | None:
    """Where a motor with a commutator stands for rated load: the point's name in the results, and the point."""
    if job.motor.type not in (DC, UNIVERSAL):
        return None
    declared = declared_values(job, reduction)
    for place in ("rated power", "rated current"):
        judged = judged_point(place, job, reduction, declared).point
        if judged is not None:
            return PLACES[place], judged
    return None


def _speeds(job: Job, reduction: Reduction) -> tuple[float, float] | None:
    """Speed at the lightest load tested and at rated load [rad/s]."""
    place, row = rated_place(job, reduction), lightest_index(reduction.points.torque)
    if place is None or row is None or not float(place[1].speed[0]) > 0.0:
        return None
    light = float(reduction.points.speed[row])
    return (light, float(place[1].speed[0])) if np.isfinite(light) else None


# Uncertainties of the single figures of the machine.


#: Figures that are others over a rated value, which is exact; and which those are.
_IN_PROPORTION = {
    "locked_rotor_torque_ratio": "locked_rotor_torque",
    "locked_rotor_current_ratio": "locked_rotor_current",
    "pull_up_torque_ratio": "pull_up_torque",
    "breakdown_torque_ratio": "breakdown_torque",
    "kva_per_hp": "locked_rotor_current",
}
_BETWEEN_POINTS = Message("input.between_points")


def with_uncertainties(characteristic: Characteristic, job: Job, reduction: Reduction) -> Characteristic:
    """The same figures, each with its uncertainty where what it rests on is stated.

    Rated torque and the loss of a gear are those of the plate alone, and exact.
    """
    errors = errors_of(reduction)
    if errors is None:
        return characteristic
    changed: dict[str, Any] = {}
    made = (*_extremes(characteristic, job, reduction, errors), *_made(characteristic, job, reduction, errors))
    for name, figure in (*_at_points(characteristic, reduction), *made):
        if figure is not None:
            changed[name] = figure
    carried = replace(characteristic, **changed)
    of_others: dict[str, Any] = {
        name: in_proportion(getattr(carried, name), getattr(carried, of)) for name, of in _IN_PROPORTION.items()
    }
    return replace(carried, **{name: figure for name, figure in of_others.items() if figure is not None})


def _at_points(characteristic: Characteristic, reduction: Reduction) -> Iterator[tuple[str, Quantity]]:
    """Figures with the uncertainty of the load point they were read at: no load."""
    points, idle, uncertainties = reduction.points, reduction.no_load_point, reduction.uncertainties
    if idle is None or uncertainties is None:
        return
    rows = np.flatnonzero(points.torque == float(idle.torque[0]))
    for figure, quantity in (("no_load_speed", "speed"), ("no_load_current", "current")):
        known = getattr(characteristic, figure)
        if known is not None and rows.size:
            yield figure, with_uncertainty(known, uncertainties.points[int(rows[0])].get(quantity))


def _extremes(
    characteristic: Characteristic, job: Job, reduction: Reduction, errors: Errors
) -> Iterator[tuple[str, Quantity | None]]:
    """Breakdown and pull-up torque with their speeds: readings, spacing of the points, voltage they were brought from."""
    extremes, points = reduction.extremes, reduction.points
    for name in ("breakdown", "pull_up"):
        extreme = getattr(extremes, name, None)
        if extremes is None or extreme is None:
            continue
        row = int(np.nanargmin(np.abs(points.torque - extreme.torque) + np.abs(points.speed - extreme.speed)))
        torque, speed = errors.points["torque"][row], errors.points["speed"][row]
        if name == "breakdown" and extremes.summit is not None:
            torque, speed = breakdown_errors(errors, points, extremes.summit)
        elif name == "pull_up":
            speed = errors.between(speed, _BETWEEN_POINTS, _spacing_about(reduction, extreme.speed))
        part = voltage_part(extreme.speed, job, reduction)
        if isinstance(part, float) and part != 1.0 and job.nameplate.voltage is not None:
            torque = at_rated_voltage(torque, errors.points["voltage"][row], job.nameplate.voltage)
        yield f"{name}_torque", with_errors(getattr(characteristic, f"{name}_torque"), torque, errors)
        yield f"{name}_speed", with_errors(getattr(characteristic, f"{name}_speed"), speed, errors)


def _spacing_about(reduction: Reduction, speed: float) -> float:
    """Standard uncertainty of where a least torque lies [rad/s]: anywhere within half the gaps to its neighbours."""
    points = reduction.points
    speeds = np.unique(points.speed[np.isfinite(points.torque) & np.isfinite(points.speed) & ~points.impossible])
    gaps = np.abs(speeds - speed)
    nearest = [float(side.min()) for side in (gaps[speeds < speed], gaps[speeds > speed]) if side.size]
    return max(nearest, default=0.0) / 2.0 / math.sqrt(3.0)


def _made(
    characteristic: Characteristic, job: Job, reduction: Reduction, errors: Errors
) -> Iterator[tuple[str, Quantity | None]]:
    """Figures made from several readings."""
    supply = mean_frequency(errors)
    if supply is not None and characteristic.synchronous_speed is not None:
        by_hertz = characteristic.synchronous_speed.value / nominal(supply)
        yield (
            "synchronous_speed",
            with_errors(characteristic.synchronous_speed, linear(0.0, [(by_hertz, supply)]), errors),
        )
    held = reduction.locked_rotor
    if held is not None:
        for name, value in locked_rotor_errors(errors, job, held, reduction.points).items():
            yield f"locked_rotor_{name}", with_errors(getattr(characteristic, f"locked_rotor_{name}"), value, errors)
    yield "peak_power", with_errors(characteristic.peak_power, _peak(reduction, errors), errors)
    yield (
        "gear_ratio",
        with_errors(characteristic.gear_ratio, _gear_ratio(characteristic, reduction, errors, supply), errors),
    )
    ratio = _light_load_speed_ratio(job, reduction, errors)
    yield "light_load_speed_ratio", with_errors(characteristic.light_load_speed_ratio, ratio, errors)


def mean_frequency(errors: Errors) -> Correlated:
    """Supply frequency over the test [Hz]; ``None`` where it is not known."""
    known = [hertz for hertz in errors.points["frequency"] if hertz is not None]
    return weighted(known, np.full(len(known), 1.0 / max(len(known), 1)))


def _peak(reduction: Reduction, errors: Errors) -> Correlated:
    """At its summit the power does not move with torque: only the speed there makes it unsure."""
    if reduction.peak is None or errors.along is None:
        return None
    speed = errors.along.at(reduction.peak.torque)["speed"][0]
    return linear(nominal(speed), [(float(reduction.peak.torque[0]), speed)])


def _gear_ratio(characteristic: Characteristic, reduction: Reduction, errors: Errors, supply: Correlated) -> Correlated:
    if characteristic.gear_ratio is None or reduction.no_load_point is None:
        return None
    row = int(np.flatnonzero(reduction.points.torque == reduction.no_load_point.torque[0])[0])
    speed = errors.points["speed"][row]
    by_hertz = characteristic.gear_ratio.value * nominal(speed) / nominal(supply)
    return single(lambda hertz, at: by_hertz * hertz / at, supply, speed)


def _light_load_speed_ratio(job: Job, reduction: Reduction, errors: Errors) -> Correlated:
    place, row = rated_place(job, reduction), lightest_index(reduction.points.torque)
    if place is None or row is None or reduction.uncertainties is None:
        return None
    name, judged = place
    operating = (reduction.uncertainties.correlated or {}).get(name, {})
    rated = operating.get("speed")
    if reduction.curve is None:
        rows: Index = np.flatnonzero(reduction.points.torque == judged.torque[0])
        rated = errors.points["speed"][int(rows[0])] if rows.size else None
    return single(lambda light, loaded: light / loaded, errors.points["speed"][row], rated)


# A motor's own gear: the ratio its speeds imply, and what it loses.


def ratio_by_speed(job: Job, reduction: Reduction) -> float | None:
    """Gear ratio as the speeds imply it: synchronous speed over no-load output speed [1].

    ``None`` without a gear, a no-load point, a frequency, or poles on the plate itself (poles found from speeds rest on
    the plate's ratio). The rotor runs below synchronous speed, so the true ratio is at most this.
    """
    idle, frequency = reduction.no_load_point, reduction.points.frequency
    if job.nameplate.gear is None or job.nameplate.poles is None or job.motor.type not in INDUCTION:
        return None
    if idle is None or not float(idle.speed[0]) > 0.0 or not np.isfinite(frequency).any():
        return None
    synchronous = synchronous_speed(float(np.nanmean(frequency)), job.nameplate.poles)
    return float(synchronous) / float(idle.speed[0])


def loss_at_rated_power(job: Job, reduction: Reduction) -> float | None:
    """Loss of the gear [W] at rated power by the plate's gear efficiency, where that power was reached."""
    gear, reached = job.nameplate.gear, reduction.operating["at_rated_power"]
    if gear is None or gear.efficiency is None or reached is None:
        return None
    return float(gear_loss(float(reached.point.shaft_power[0]), gear.efficiency))


# All single figures of the machine together.


_GEAR_SLIP = Message("gear.slip_without_load")


def characteristic_of(job: Job, reduction: Reduction, losses: Losses | None = None) -> Characteristic:
    """Everything one test says of the machine as a whole."""
    idle, figures = reduction.no_load_point, starting_figures(job, reduction)
    ratio, kva = ratio_by_speed(job, reduction), kva_per_hp(job, figures.locked_rotor_current)
    designed, classed = design_letter(job, reduction), efficiency_class(job, reduction, losses)
    return Characteristic(
        synchronous_speed=measured(reduction.synchronous_speed, "rad/s"),
        poles=reduction.poles.count,
        poles_basis=reduction.poles.basis,
        no_load_speed=_single(idle, "speed"),
        no_load_current=_single(idle, "current"),
        rated_torque=measured(rated_torque(job), "N*m"),
        **_starting(reduction, figures),
        **_ratios(job, figures),
        peak_power=_single(reduction.peak, "shaft_power"),
        kva_per_hp=measured(kva, "kVA/hp"),
        code_letter=None if kva is None else code_letter(kva),
        design_letter=designed.letter,
        design_letter_reason=designed.reason,
        efficiency_class=classed.perhaps or classed.name,
        efficiency_class_reason=classed.reason,
        gear_ratio=measured(ratio, "1"),
        gear_loss=measured(loss_at_rated_power(job, reduction), "W"),
        light_load_speed_ratio=light_load_speed_ratio(job, reduction),
        speed_character=character_by_curve(job, reduction),
        proves=(
            *speed_character(job, reduction),
            *proved(job, reduction),
            *classed.levels,
            *_declared_input(job, reduction),
            *(() if classed.missing is None else (classed.missing,)),
            *(() if ratio is None else (_GEAR_SLIP,)),
        ),
    )


def _declared_input(job: Job, reduction: Reduction) -> Iterator[Message]:
    """What an appliance's plate declares of its input, given beside what it took at its rating."""
    place = "at_rated_power" if job.nameplate.power is not None else "at_rated_current"
    reached = reduction.operating.get(place)
    for name in ("input_power", "apparent_power"):
        declared = getattr(job.nameplate, name)
        if declared is None:
            continue
        value = math.nan if reached is None else float(getattr(reached.point, name)[0])
        quantity, at = Message(f"name.{name}"), Message(f"place.{place.removeprefix('at_')}")
        if math.isfinite(value):
            unit = "W" if name == "input_power" else "VA"
            figures = {"declared": Quantity(declared, unit), "measured": Quantity(value, unit)}
            yield Message("characteristic.declared_input", quantity=quantity, place=at, **figures)
        else:
            yield Message("characteristic.declared_input_alone", quantity=quantity, place=at)


def _single(point: LoadPoints | None, name: str) -> Quantity | None:
    return None if point is None else measured(float(getattr(point, name)[0]), POINT_UNITS[name])


def _starting(reduction: Reduction, figures: StartingFigures) -> dict[str, Quantity | None]:
    """Torques, speeds and current of starting and overload at rated voltage; as read where they are not brought to it."""
    held, extremes = reduction.locked_rotor, reduction.extremes
    pull_up, breakdown = None if extremes is None else extremes.pull_up, breakdown_of(reduction)
    tested = None if breakdown is None or figures.breakdown_torque == breakdown.torque else breakdown.torque
    return {
        "locked_rotor_torque": _held(held.torque if held else None, "N*m"),
        "locked_rotor_current": _held(held.current if held else None, "A"),
        "breakdown_torque_as_tested": measured(tested if math.isfinite(figures.breakdown_torque) else None, "N*m"),
        **_torque_and_speed("pull_up", pull_up, figures.pull_up_torque),
        **_torque_and_speed("breakdown", breakdown, figures.breakdown_torque),
    }


def _held(figure: HeldRotor | None, unit: str) -> Quantity | None:
    if figure is None:
        return None
    return measured(figure.at_rated if math.isfinite(figure.at_rated) else figure.read, unit)


def _torque_and_speed(name: str, extreme: TorqueAtSpeed | None, at_rated: float) -> dict[str, Quantity | None]:
    torque, speed = (None, None) if extreme is None else (extreme.torque, extreme.speed)
    torque = at_rated if math.isfinite(at_rated) else torque
    return {f"{name}_torque": measured(torque, "N*m"), f"{name}_speed": measured(speed, "rad/s")}


def _ratios(job: Job, figures: StartingFigures) -> dict[str, Quantity | None]:
    """Figures over rated torque or current."""
    torque, current = rated_torque(job), job.nameplate.current
    rated = {name: current if name == CURRENT else torque for name in TITLES}
    return {
        f"{name}_ratio": measured(getattr(figures, name) / value, "1") if value else None
        for name, value in rated.items()
    }


def missing_characteristic(job: Job, reduction: Reduction, characteristic: Characteristic) -> Iterator[Message]:
    """What a reader would look for and does not find, one sentence each."""
    reason = characteristic.efficiency_class_reason
    without_class = job.motor.type == THREE_PHASE and characteristic.efficiency_class is None
    if without_class and reason is not None and not is_empty_plate(job):
        yield Message("missing.efficiency_class", reason=reason)
    plate = job.nameplate.design_letter
    if plate is None or job.motor.type not in INDUCTION:
        return
    rating, figures = design_rating(job, reduction), starting_figures(job, reduction)
    if isinstance(rating, Message):
        yield Message("missing.design_letter", letter=plate, reason=rating)
        return
    untested = tuple(title for name, title in TITLES.items() if not math.isfinite(getattr(figures, name)))
    if untested:
        yield Message("missing.design_letter_untested", letter=plate, figures=untested)
