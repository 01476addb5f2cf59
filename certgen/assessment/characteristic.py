"""Single figures of the machine: no load, starting, overload, letters and class."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.assessment.declared import is_empty_plate, rated_torque
from certgen.assessment.efficiency_class import efficiency_class
from certgen.assessment.gear import loss_at_rated_power, ratio_by_speed
from certgen.assessment.letters import design_letter, design_rating, kva_per_hp
from certgen.assessment.results import Characteristic
from certgen.assessment.speed_character import light_load_speed_ratio, speed_character
from certgen.assessment.starting import CURRENT, TITLES, StartingFigures, proved, starting_figures
from certgen.job.model import INDUCTION, THREE_PHASE, Job
from certgen.quantity import Quantity, measured
from certgen.reduction.model import POINT_UNITS, HeldRotor, LoadPoints, Reduction, TorqueAtSpeed
from certgen.standards.code_letters import code_letter

_GEAR_SLIP = "The gear ratio by speed is a little high: the motor slips without load too."


def characteristic_of(job: Job, reduction: Reduction) -> Characteristic:
    """Everything one test says of the machine as a whole."""
    idle, figures = reduction.no_load_point, starting_figures(reduction)
    ratio, kva = ratio_by_speed(job, reduction), kva_per_hp(job, figures.locked_rotor_current)
    designed, classed = design_letter(job, reduction), efficiency_class(job, reduction)
    return Characteristic(
        synchronous_speed=measured(reduction.synchronous_speed, "rad/s"),
        poles=reduction.poles.count,
        poles_basis=reduction.poles.basis,
        no_load_speed=_single(idle, "speed"),
        no_load_current=_single(idle, "current"),
        rated_torque=measured(rated_torque(job), "N*m"),
        **_starting(reduction),
        **_ratios(job, figures),
        peak_power=_single(reduction.peak, "shaft_power"),
        kva_per_hp=measured(kva, "kVA/hp"),
        code_letter=None if kva is None else code_letter(kva),
        design_letter=designed.letter,
        design_letter_reason=designed.reason,
        efficiency_class=classed.name,
        efficiency_class_reason=classed.reason,
        gear_ratio=measured(ratio, "1"),
        gear_loss=measured(loss_at_rated_power(job, reduction), "W"),
        light_load_speed_ratio=light_load_speed_ratio(job, reduction),
        proves=(
            *speed_character(job, reduction),
            *proved(job, reduction),
            *classed.levels,
            *(() if ratio is None else (_GEAR_SLIP,)),
        ),
    )


def _single(point: LoadPoints | None, name: str) -> Quantity | None:
    return None if point is None else measured(float(getattr(point, name)[0]), POINT_UNITS[name])


def _starting(reduction: Reduction) -> dict[str, Quantity | None]:
    """Torques, speeds and current of starting and overload; those with the rotor locked as read if not scaled."""
    held, found = reduction.locked_rotor, reduction.extremes
    pull_up, breakdown = (None, None) if found is None else (found.pull_up, found.breakdown)
    return {
        "locked_rotor_torque": _held(held.torque if held else None, "N*m"),
        "locked_rotor_current": _held(held.current if held else None, "A"),
        **_torque_and_speed("pull_up", pull_up),
        **_torque_and_speed("breakdown", breakdown),
    }


def _held(found: HeldRotor | None, unit: str) -> Quantity | None:
    if found is None:
        return None
    return measured(found.at_rated if math.isfinite(found.at_rated) else found.read, unit)


def _torque_and_speed(name: str, found: TorqueAtSpeed | None) -> dict[str, Quantity | None]:
    torque, speed = (None, None) if found is None else (found.torque, found.speed)
    return {f"{name}_torque": measured(torque, "N*m"), f"{name}_speed": measured(speed, "rad/s")}


def _ratios(job: Job, figures: StartingFigures) -> dict[str, Quantity | None]:
    """Figures over rated torque or current."""
    torque, current = rated_torque(job), job.nameplate.current
    rated = {name: current if name == CURRENT else torque for name in TITLES}
    return {
        f"{name}_ratio": measured(getattr(figures, name) / value, "1") if value else None
        for name, value in rated.items()
    }


def missing_characteristic(job: Job, reduction: Reduction, found: Characteristic) -> Iterator[str]:
    """What a reader would look for and does not find, one sentence each."""
    if job.motor.type == THREE_PHASE and found.efficiency_class is None and not is_empty_plate(job):
        yield f"Efficiency class: {found.efficiency_class_reason}."
    plate = job.nameplate.design_letter
    if plate is None or job.motor.type not in INDUCTION:
        return
    rating, figures = design_rating(job, reduction), starting_figures(reduction)
    if isinstance(rating, str):
        yield f"Design letter {plate}: {rating}."
        return
    untested = [title for name, title in TITLES.items() if not math.isfinite(getattr(figures, name))]
    if untested:
        yield f"Design letter {plate}: {', '.join(untested)} not tested."
