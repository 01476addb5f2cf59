"""Code letter and design letter: which letter the measured figures would bear. Indicative, never a maker's marking."""

from __future__ import annotations

import math
from dataclasses import dataclass

from certgen.assessment.declared import declared_values
from certgen.assessment.operating import judged_point
from certgen.assessment.results import Characteristic
from certgen.job.model import SINGLE_PHASE, THREE_PHASE, Job
from certgen.physics.electrics import single_phase_apparent_power, three_phase_apparent_power
from certgen.physics.locked_rotor import kva_per_horsepower
from certgen.quantity import Quantity
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


def design_letter(job: Job, reduction: Reduction, found: Characteristic) -> Lettered:
    """The design letter whose published figures the measured ones meet.

    Where they meet several the plate's letter goes first, then B: a motor may exceed the least torques of its letter.
    """
    rating = design_rating(job, reduction)
    if isinstance(rating, str):
        return Lettered(None, rating)
    current = found.locked_rotor_current if found.locked_rotor_current_at_rated else None
    torques = {name: getattr(found, f"{name}_ratio") for name in TORQUES}
    slip = _slip_at_rated_power(job, reduction)
    lacking = [name.replace("_", " ") for name, ratio in torques.items() if ratio is None]
    lacking += ["locked-rotor current"] if current is None else []
    lacking += ["slip at rated power"] if slip is None else []
    lacking = [name.replace("locked rotor", "locked-rotor").replace("pull up", "pull-up") for name in lacking]
    high_slip = slip is not None and slip >= DESIGN_D_SLIP
    needed = {"pull-up torque", "breakdown torque"} if high_slip else set()
    if current is None or slip is None or set(lacking) - needed:
        return Lettered(None, f"not measured or not at rated voltage: {', '.join(lacking)}")
    allowed = [letter for letter in _ORDER if (letter == "D") == high_slip and _meets(rating, letter, torques, current)]
    if not allowed:
        return Lettered(None, f"the figures at {slip:.1%} slip meet no letter's table".replace("%", " %"))
    letter = job.nameplate.design_letter if job.nameplate.design_letter in allowed else allowed[0]
    others = [one for one in allowed if one != letter]
    also = f", those of {' and '.join(others)} too" if others else ""
    reason = f"indicative: meets the tables{also}, {slip:.1%} slip; NEMA MG 1 12.35 to 12.40, partly from memory"
    return Lettered(letter, reason.replace("%", " %"))


def _meets(rating: DesignRating, letter: str, torques: dict[str, Quantity | None], current: Quantity) -> bool:
    """Whether every torque the letter promises is reached and its current kept; A is where B's current is passed."""
    limit = rating.greatest_current("B" if letter == "A" else letter)
    if limit is None or (current.value > limit.value) != (letter == "A"):
        return False
    wanted = ("locked_rotor_torque",) if letter == "D" else TORQUES
    for name in wanted:
        least, ratio = rating.least(letter, name), torques[name]
        if least is None or ratio is None or ratio.value < least.value:
            return False
    return True


def _slip_at_rated_power(job: Job, reduction: Reduction) -> float | None:
    judged = judged_point("rated power", job, reduction, declared_values(job, reduction))
    slip = math.nan if judged.point is None else float(judged.point.slip[0])
    return slip if math.isfinite(slip) else None
