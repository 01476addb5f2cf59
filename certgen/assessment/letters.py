"""Code letter and design letter: which letter the measured figures would bear. Indicative, never a maker's marking."""

from __future__ import annotations

import math
from dataclasses import dataclass

from certgen.assessment.declared import declared_values, rated_torque
from certgen.assessment.operating import judged_point
from certgen.assessment.starting import CURRENT, TITLES, StartingFigures, starting_figures
from certgen.job.model import SINGLE_PHASE, THREE_PHASE, Job
from certgen.physics.electrics import single_phase_apparent_power, three_phase_apparent_power
from certgen.physics.locked_rotor import kva_per_horsepower
from certgen.reduction.model import Reduction
from certgen.standards.horsepower_ratings import listed_horsepower
from certgen.standards.nema_design_torques import (
    DESIGN_D_SLIP,
    TORQUES,
    Published,
    greatest_locked_rotor_current,
    least_torque,
)

#: Letters in the order they are given where the figures allow more than one: the ordinary one first.
_ORDER = ("B", "A", "C", "D")
#: How far a plate's frequency may stand off 60 Hz and still be it. [Hz]
_SIXTY = 0.5


def kva_per_hp(job: Job, current_at_rated: float) -> float | None:
    """Locked-rotor kVA per hp of the plate [kVA/hp] from the current at rated voltage [A], or ``None``."""
    plate = job.nameplate
    apparent = {THREE_PHASE: three_phase_apparent_power, SINGLE_PHASE: single_phase_apparent_power}.get(job.motor.type)
    if apparent is None or plate.voltage is None or plate.power is None or not math.isfinite(current_at_rated):
        return None
    return float(kva_per_horsepower(apparent(plate.voltage, current_at_rated), plate.power))


@dataclass(frozen=True)
class DesignRating:
    """The rating a design letter is looked up for."""

    horsepower: str
    poles: int
    voltage: float

    def least(self, letter: str, torque: str) -> Published | None:
        """Least torque of a letter, over rated torque."""
        return least_torque(letter, torque, self.horsepower, self.poles)

    def greatest_current(self, letter: str) -> Published | None:
        """Greatest locked-rotor current of a letter at rated voltage [A]."""
        return greatest_locked_rotor_current(letter, self.horsepower, self.voltage)


def design_rating(job: Job, reduction: Reduction) -> DesignRating | str:
    """The rating for the design-letter tables, or in words why they hold nothing for this motor."""
    plate, poles = job.nameplate, reduction.poles.count
    if job.motor.type != THREE_PHASE:
        return "design letters A to D are for three-phase motors"
    if plate.gear is not None:
        return "judged at the output shaft of a gear"
    if plate.frequency is None or abs(plate.frequency - 60.0) > _SIXTY:
        return "design letters are judged at 60 Hz"
    if plate.power is None or plate.voltage is None or poles is None:
        lacking = "number of poles" if poles is None else ("power" if plate.power is None else "voltage")
        return f"the {lacking} is not known"
    horsepower = listed_horsepower(plate.power)
    if horsepower is None:
        return f"{plate.power / 1000.0:.4g} kW is no listed horsepower"
    return DesignRating(horsepower, poles, plate.voltage)


@dataclass(frozen=True)
class Lettered:
    """A letter, or ``None``, with the reason."""

    letter: str | None
    reason: str


def design_letter(job: Job, reduction: Reduction) -> Lettered:
    """The design letter whose published figures the measured ones meet.

    Where they meet several the plate's letter goes first, then B: a motor may exceed the least torques of its letter.
    """
    rating, rated = design_rating(job, reduction), rated_torque(job)
    if isinstance(rating, str):
        return Lettered(None, rating)
    figures, slip = starting_figures(reduction), _slip_at_rated_power(job, reduction)
    high_slip = slip >= DESIGN_D_SLIP
    wanted = ("locked_rotor_torque",) if high_slip else TORQUES
    lacking = [TITLES[name] for name in (*wanted, CURRENT) if not math.isfinite(getattr(figures, name))]
    lacking += [] if math.isfinite(slip) else ["slip at rated power"]
    lacking += [] if rated else ["rated torque"]
    if lacking or not rated:
        return Lettered(None, f"not known: {', '.join(lacking)}")
    allowed = [one for one in _ORDER if (one == "D") == high_slip and _meets(rating, one, figures, rated)]
    if not allowed:
        return Lettered(None, _percent(f"with {slip:.1%} slip the figures meet the tables of no letter"))
    plate = job.nameplate.design_letter
    letter = plate if plate in allowed else allowed[0]
    also = "".join(f" and of {one}" for one in allowed if one != letter)
    return Lettered(
        letter,
        _percent(
            f"indicative: meets the tables of {letter}{also} with {slip:.1%} slip; NEMA MG 1, 12.35 to 12.40, "
            "partly from memory"
        ),
    )


def _meets(rating: DesignRating, letter: str, figures: StartingFigures, rated: float) -> bool:
    """Whether every torque a letter promises is reached and its current kept; A is where the current of B is passed."""
    limit = rating.greatest_current("B" if letter == "A" else letter)
    if limit is None or (figures.locked_rotor_current > limit.value) != (letter == "A"):
        return False
    for name in ("locked_rotor_torque",) if letter == "D" else TORQUES:
        least = rating.least(letter, name)
        if least is None or getattr(figures, name) < least.value * rated:
            return False
    return True


def _percent(text: str) -> str:
    return text.replace("%", " %")


def _slip_at_rated_power(job: Job, reduction: Reduction) -> float:
    judged = judged_point("rated power", job, reduction, declared_values(job, reduction))
    return math.nan if judged.point is None else float(judged.point.slip[0])
