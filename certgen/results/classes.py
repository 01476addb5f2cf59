"""Efficiency class, code letter and design letter the figures would bear. Indicative, never a maker's marking."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from certgen.job.model import INDUCTION, SINGLE_PHASE, THREE_PHASE, Job
from certgen.messages.catalogue import Message
from certgen.physics.electrics import single_phase_apparent_power, three_phase_apparent_power
from certgen.physics.induction import kva_per_horsepower
from certgen.reduction.load_curve import REACH
from certgen.reduction.model import LoadPoints, Reduction
from certgen.results.rated import declared_values, judged_point, rated_torque
from certgen.results.starting import CURRENT, TITLES, StartingFigures, starting_figures
from certgen.standards.efficiency import (
    CLASSES,
    ENCLOSURES,
    GREATEST_VOLTAGE,
    POLYPHASE_LEVELS,
    ClassLimit,
    class_limits,
    class_of,
    class_standard,
    missing_classes,
    polyphase_level,
    small_motor_level,
    supported_nominal,
)
from certgen.standards.nema_letters import (
    DESIGN_D_SLIP,
    TORQUES,
    Published,
    greatest_locked_rotor_current,
    least_torque,
)
from certgen.standards.ratings import listed_horsepower

#: How far the supply may stand off the plate for the efficiency to count as that at rated voltage and frequency. [1]
#: IEC 60034-1, 7.3, zone A.
_VOLTAGE_OFF, _FREQUENCY_OFF = 0.05, 0.02
#: How far a plate's frequency may stand off 50 or 60 Hz and still be it. [Hz]
_NEAR = 0.5


@dataclass(frozen=True)
class Classed:
    """A class, or ``None``, with the reason; ``levels`` are sentences on other published levels."""

    name: str | None
    reason: str
    levels: tuple[str, ...] = ()
    perhaps: Message | None = None  # with what the uncertainty leaves open besides: 'IE1, perhaps IE2'
    missing: Message | None = None  # the classes whose limits are not at hand


@dataclass(frozen=True)
class _AtRating:
    """Measured efficiency at rated power, and the rating it belongs to."""

    efficiency: float
    power: float  # W
    poles: int
    frequency: int  # Hz
    note: str  # what kind of point it is
    margin: float = 0.0  # expanded uncertainty of the efficiency [1]; 0 where it is not known


def efficiency_class(job: Job, reduction: Reduction) -> Classed:
    """The highest class whose limit the efficiency measured at rated power meets, and which its uncertainty leaves open."""
    rating = _at_rating(job, reduction)
    if isinstance(rating, str):
        return Classed(None, rating)
    levels = tuple(_levels(job, rating)) if rating.frequency == 60 else ()
    if job.motor.type != THREE_PHASE:
        return Classed(None, "classes are told for three-phase motors only", levels)
    limits = class_limits(rating.power, rating.poles, rating.frequency)
    if not limits or (job.nameplate.voltage or 0.0) > GREATEST_VOLTAGE:
        return Classed(None, "the rating is outside the classes: 0.12 to 1000 kW, 2 to 8 poles, up to 1000 V", levels)
    name = class_of(rating.efficiency, limits)
    measured = f"{_as_percent(rating.efficiency, 2)} measured, output over input{rating.note}"
    asked = ", ".join(f"{limit.name} asks {_as_percent(limit.efficiency, 1)}" for limit in _neighbours(name, limits))
    below = "" if name else f"below {_below(limits)}, "
    perhaps = _perhaps(name, rating, limits)
    said = f" ({perhaps})" if perhaps is not None and name is None else ""
    absent = missing_classes(rating.power, rating.poles, rating.frequency)
    missing = Message("classes.missing", classes=absent) if absent else None
    reason = f"{below}indicative, not declared{said}: {measured}; {asked}; {_source(name, limits)}"
    return Classed(name, reason, levels, None if name is None else perhaps, missing)


def _at_rating(job: Job, reduction: Reduction) -> _AtRating | str:
    """What is classed, or in words why nothing can be."""
    plate, poles = job.nameplate, reduction.poles.count
    if job.motor.type not in INDUCTION:
        return "classes are told for three-phase motors only"
    if plate.gear is not None:
        return "measured with the gear, whose loss is not the motor's"
    needed = {"rated power": plate.power, "number of poles": poles, "rated frequency": plate.frequency}
    missing = [name for name, value in needed.items() if value is None]
    if missing or plate.power is None or poles is None or plate.frequency is None:
        return f"{' and '.join(missing)} not known"
    frequency = next((hertz for hertz in (50, 60) if abs(plate.frequency - hertz) <= _NEAR), None)
    if frequency is None:
        return f"no classes for {plate.frequency:.4g} Hz"
    judged = judged_point("rated power", job, reduction, declared_values(job, reduction))
    if judged.point is None:
        return str(judged.note)
    if judged.power_ratio is not None and abs(judged.power_ratio - 1.0) > REACH:
        return "no tested point lies within 5 % of rated power, and there are too few for a curve"
    efficiency = float(judged.point.efficiency[0])
    if not math.isfinite(efficiency):
        return "input power was not measured"
    off = _supply_off(job, judged.point)
    if off:
        return off
    note = f" ({judged.note})" if judged.note else ""
    known = judged.uncertainties.get("efficiency")
    margin = 0.0 if known is None or known.expanded is None else known.expanded
    return _AtRating(efficiency, plate.power, poles, frequency, note, margin)


def _perhaps(name: str | None, rating: _AtRating, limits: dict[str, ClassLimit]) -> Message | None:
    """What else the class may be, where a limit lies within the expanded uncertainty of the efficiency."""
    lowest = class_of(rating.efficiency - rating.margin, limits)
    highest = class_of(rating.efficiency + rating.margin, limits)
    in_order: list[str | None] = [None, *limits]
    between = in_order[in_order.index(lowest) : in_order.index(highest) + 1]
    open_to = [one for one in between if one != name]
    if not open_to:
        return None
    none = Message("classes.none", lowest=next(iter(limits)))
    return Message("classes.perhaps", name=name or none, others=tuple(one or none for one in open_to))


def _supply_off(job: Job, point: LoadPoints) -> str:
    for name, rated, allowed, unit in (
        ("voltage", job.nameplate.voltage, _VOLTAGE_OFF, "V"),
        ("frequency", job.nameplate.frequency, _FREQUENCY_OFF, "Hz"),
    ):
        value = float(np.asarray(getattr(point, name))[0])
        if rated is not None and math.isfinite(value) and abs(value / rated - 1.0) > allowed:
            return f"tested at {value:.4g} {unit}, too far from the rated {name}"
    return ""


def _neighbours(name: str | None, limits: dict[str, ClassLimit]) -> list[ClassLimit]:
    """The limit met and the next one above, as far as they exist."""
    in_order = list(limits.values())
    start = 0 if name is None else list(limits).index(name)
    return in_order[start : start + (1 if name is None else 2)]


def _below(limits: dict[str, ClassLimit]) -> str:
    lowest = next(iter(limits))
    return lowest if lowest == CLASSES[0] else f"{lowest} (the limit of {CLASSES[0]} is not at hand)"


def _source(name: str | None, limits: dict[str, ClassLimit]) -> str:
    """The standard, and which of the limits told are from memory."""
    named = _neighbours(name, limits)
    recalled = [limit.name for limit in named if limit.status == "from memory"]
    memory = "" if not recalled else "from memory" if len(recalled) == len(named) else f"{recalled[0]} from memory"
    return ", ".join(part for part in (class_standard(), memory) if part)


def _levels(job: Job, rating: _AtRating) -> Iterator[str]:
    measured = f"{_as_percent(rating.efficiency, 2)} measured"
    kind = "capacitor_start" if job.motor.type == SINGLE_PHASE else "polyphase"
    premium = _required(rating, POLYPHASE_LEVELS[0]) if kind == "polyphase" else {}
    if kind == "polyphase" and premium:
        yield from _nominal(rating, measured)
        return
    small = small_motor_level(kind, rating.power, rating.poles)
    if small is not None:
        as_kind = "As a capacitor-start motor" if kind == "capacitor_start" else "As a small polyphase motor"
        reached = "reached" if rating.efficiency >= small.efficiency else "not reached"
        yield (
            f"{as_kind} of {small.horsepower} hp, indicative: {measured}, average of {_as_percent(small.efficiency, 1)} "
            f"by {small.source} {reached}."
        )


def _nominal(rating: _AtRating, measured: str) -> Iterator[str]:
    """The nominal efficiency supported, and the levels it reaches in either enclosure."""
    nominal = supported_nominal(rating.efficiency)
    if nominal is None:
        yield f"{measured}: below the least minimum of NEMA MG 1, Table 12-10, from memory."
        return
    yield (
        f"{measured}, indicative: supports a nominal efficiency of {_as_percent(nominal, 1)} by its paired minimum "
        "(NEMA MG 1, Table 12-10, from memory)."
    )
    for name in POLYPHASE_LEVELS:
        required = _required(rating, name)
        met = [enclosure for enclosure, (least, _) in required.items() if nominal >= least]
        if not required:
            continue
        asked = " and ".join(f"{_as_percent(least, 1)} {enclosure}" for enclosure, (least, _) in required.items())
        source = next(iter(required.values()))[1]
        verdict = {0: "not reached", len(required): "reached"}.get(len(met), f"reached {' and '.join(met)} only")
        yield f"Level {name.replace('_', '-')}, {asked} ({source}): {verdict}."
        if len(met) == len(required):
            return


def _required(rating: _AtRating, level: str) -> dict[str, tuple[float, str]]:
    levels = {enclosure: polyphase_level(level, rating.power, rating.poles, enclosure) for enclosure in ENCLOSURES}
    return {name: (least.efficiency, least.source) for name, least in levels.items() if least is not None}


def _as_percent(value: float, digits: int) -> str:
    return f"{100.0 * value:.{digits}f} %"


# Code letter and design letter: which letter the measured figures would bear. Indicative, never a maker's marking.


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
        missing = "number of poles" if poles is None else ("power" if plate.power is None else "voltage")
        return f"the {missing} is not known"
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
    missing = [TITLES[name] for name in (*wanted, CURRENT) if not math.isfinite(getattr(figures, name))]
    missing += [] if math.isfinite(slip) else ["slip at rated power"]
    missing += [] if rated else ["rated torque"]
    if missing or not rated:
        return Lettered(None, f"not known: {', '.join(missing)}")
    allowed = [design for design in _ORDER if (design == "D") == high_slip and _meets(rating, design, figures, rated)]
    if not allowed:
        return Lettered(None, _spaced_percent(f"with {slip:.1%} slip the figures meet the tables of no letter"))
    plate = job.nameplate.design_letter
    letter = plate if plate in allowed else allowed[0]
    also = "".join(f" and of {design}" for design in allowed if design != letter)
    return Lettered(
        letter,
        _spaced_percent(
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


def _spaced_percent(text: str) -> str:
    return text.replace("%", " %")


def _slip_at_rated_power(job: Job, reduction: Reduction) -> float:
    judged = judged_point("rated power", job, reduction, declared_values(job, reduction))
    return math.nan if judged.point is None else float(judged.point.slip[0])
