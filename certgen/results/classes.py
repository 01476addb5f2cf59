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
from certgen.results.model import Losses
from certgen.results.rated import declared_values, judged_point, rated_torque
from certgen.results.rated_efficiency import rated_efficiency, with_correction
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
    reason: Message
    levels: tuple[Message, ...] = ()
    perhaps: Message | None = None  # with what the uncertainty leaves open besides: 'IE1, perhaps IE2'
    missing: Message | None = None  # the classes whose limits are not at hand


@dataclass(frozen=True)
class _AtRating:
    """Measured efficiency at rated power, and the rating it belongs to."""

    efficiency: float
    method: Message  # how it was found
    power: float  # W
    poles: int
    frequency: int  # Hz
    note: Message | None  # what kind of point it is
    margin: float = 0.0  # expanded uncertainty of the efficiency [1]; 0 where it is not known


def efficiency_class(job: Job, reduction: Reduction, losses: Losses | None = None) -> Classed:
    """The highest class whose limit the efficiency measured at rated power meets, and which its uncertainty leaves open."""
    rating = _at_rating(job, reduction, losses)
    if isinstance(rating, Message):
        return Classed(None, rating)
    levels = tuple(_levels(job, rating)) if rating.frequency == 60 else ()
    if job.motor.type != THREE_PHASE:
        return Classed(None, Message("efficiency_class.three_phase_only"), levels)
    limits = class_limits(rating.power, rating.poles, rating.frequency)
    if not limits or (job.nameplate.voltage or 0.0) > GREATEST_VOLTAGE:
        return Classed(None, Message("efficiency_class.outside"), levels)
    name = class_of(rating.efficiency, limits)
    perhaps, absent = _perhaps(name, rating, limits), missing_classes(rating.power, rating.poles, rating.frequency)
    missing = Message("classes.missing", classes=absent) if absent else None
    reason = _reason(name, rating, limits, perhaps)
    return Classed(name, reason, levels, None if name is None else perhaps, missing)


def _reason(name: str | None, rating: _AtRating, limits: dict[str, ClassLimit], perhaps: Message | None) -> Message:
    """What was measured, and what the classes named ask for."""
    values: dict[str, object] = {"efficiency": rating.efficiency, "method": rating.method}
    measured = Message("efficiency_class.measured", **values)
    if rating.note is not None:
        measured = Message("efficiency_class.measured_where", **values, where=rating.note)
    asked = tuple(
        Message("efficiency_class.asks", name=limit.name, efficiency=limit.efficiency)
        for limit in _neighbours(name, limits)
    )
    values = {"measured": measured, "asked": asked, "source": _source(name, limits)}
    if name is not None:
        return Message("efficiency_class.met", **values)
    lowest = _lowest(limits)
    if perhaps is not None:
        return Message("efficiency_class.below_perhaps", lowest=lowest, perhaps=perhaps, **values)
    return Message("efficiency_class.below", lowest=lowest, **values)


def _at_rating(job: Job, reduction: Reduction, losses: Losses | None) -> _AtRating | Message:
    """What is classed, or why nothing can be."""
    plate, poles = job.nameplate, reduction.poles.count
    if job.motor.type not in INDUCTION:
        return Message("efficiency_class.three_phase_only")
    if plate.gear is not None:
        return Message("efficiency_class.with_gear")
    needed = {"rated_power": plate.power, "number_of_poles": poles, "rated_frequency": plate.frequency}
    missing = tuple(Message(f"name.{name}") for name, value in needed.items() if value is None)
    if missing or plate.power is None or poles is None or plate.frequency is None:
        return Message("efficiency_class.not_known", what=missing)
    frequency = next((hertz for hertz in (50, 60) if abs(plate.frequency - hertz) <= _NEAR), None)
    if frequency is None:
        return Message("efficiency_class.other_frequency", frequency=plate.frequency)
    judged = judged_point("rated power", job, reduction, declared_values(job, reduction))
    if judged.point is None:
        assert judged.note is not None  # which says why there is none
        return judged.note
    if judged.power_ratio is not None and abs(judged.power_ratio - 1.0) > REACH:
        return Message("efficiency_class.no_point")
    found = rated_efficiency(job, judged, losses)
    if not math.isfinite(found.value):
        return Message("finding.not_measured", quantity=Message("name.input_power"))
    off = _supply_off(job, judged.point)
    if off is not None:
        return off
    value, known = found.value, found.uncertainty
    if found.corrected.reason is None:
        value, known = found.corrected.value, with_correction(known, found.corrected)
    margin = 0.0 if known is None or known.expanded is None else known.expanded
    return _AtRating(value, found.method, plate.power, poles, frequency, judged.note, margin)


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


def _supply_off(job: Job, point: LoadPoints) -> Message | None:
    for name, rated, allowed in (
        ("voltage", job.nameplate.voltage, _VOLTAGE_OFF),
        ("frequency", job.nameplate.frequency, _FREQUENCY_OFF),
    ):
        value = float(np.asarray(getattr(point, name))[0])
        if rated is not None and math.isfinite(value) and abs(value / rated - 1.0) > allowed:
            return Message(f"efficiency_class.off_{name}", **{name: value})
    return None


def _neighbours(name: str | None, limits: dict[str, ClassLimit]) -> list[ClassLimit]:
    """The limit met and the next one above, as far as they exist."""
    in_order = list(limits.values())
    start = 0 if name is None else list(limits).index(name)
    return in_order[start : start + (1 if name is None else 2)]


def _lowest(limits: dict[str, ClassLimit]) -> Message | str:
    lowest = next(iter(limits))
    if lowest == CLASSES[0]:
        return lowest
    return Message("efficiency_class.lowest_not_at_hand", lowest=lowest, name=CLASSES[0])


def _source(name: str | None, limits: dict[str, ClassLimit]) -> Message | str:
    """The standard, and which of the limits named are from memory."""
    named, standard = _neighbours(name, limits), class_standard()
    recalled = [limit.name for limit in named if limit.status == "from memory"]
    if not recalled:
        return standard
    if len(recalled) == len(named):
        return Message("efficiency_class.recalled", standard=standard)
    return Message("efficiency_class.one_recalled", standard=standard, name=recalled[0])


def _levels(job: Job, rating: _AtRating) -> Iterator[Message]:
    kind = "capacitor_start" if job.motor.type == SINGLE_PHASE else "polyphase"
    premium = _required(rating, POLYPHASE_LEVELS[0]) if kind == "polyphase" else {}
    if kind == "polyphase" and premium:
        yield from _nominal(rating)
        return
    small = small_motor_level(kind, rating.power, rating.poles)
    if small is not None:
        reached = rating.efficiency >= small.efficiency
        yield Message(
            "efficiency_level.small",
            kind=Message(f"efficiency_level.{kind}"),
            horsepower=small.horsepower,
            efficiency=rating.efficiency,
            method=rating.method,
            average=small.efficiency,
            source=small.source,
            outcome=Message("efficiency_level.reached" if reached else "efficiency_level.not_reached"),
        )


def _nominal(rating: _AtRating) -> Iterator[Message]:
    """The nominal efficiency supported, and the levels it reaches in either enclosure."""
    nominal = supported_nominal(rating.efficiency)
    if nominal is None:
        yield Message("efficiency_level.no_nominal", efficiency=rating.efficiency, method=rating.method)
        return
    yield Message("efficiency_level.nominal", efficiency=rating.efficiency, method=rating.method, nominal=nominal)
    for name in POLYPHASE_LEVELS:
        required = _required(rating, name)
        met = [enclosure for enclosure, (least, _) in required.items() if nominal >= least]
        if not required:
            continue
        asked = tuple(
            Message("efficiency_level.of_enclosure", efficiency=least, enclosure=_enclosure(enclosure))
            for enclosure, (least, _) in required.items()
        )
        source, level = next(iter(required.values()))[1], Message(f"efficiency_level.{name}")
        outcome = _outcome(met, len(required))
        yield Message("efficiency_level.asked", level=level, asked=asked, source=source, outcome=outcome)
        if len(met) == len(required):
            return


def _outcome(met: list[str], asked: int) -> Message:
    if not met:
        return Message("efficiency_level.not_reached")
    if len(met) == asked:
        return Message("efficiency_level.reached")
    return Message("efficiency_level.reached_only", enclosures=tuple(map(_enclosure, met)))


def _enclosure(name: str) -> Message:
    return Message(f"efficiency_level.{name}")


def _required(rating: _AtRating, level: str) -> dict[str, tuple[float, Message | str]]:
    levels = {enclosure: polyphase_level(level, rating.power, rating.poles, enclosure) for enclosure in ENCLOSURES}
    return {name: (least.efficiency, least.source) for name, least in levels.items() if least is not None}


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


def design_rating(job: Job, reduction: Reduction) -> DesignRating | Message:
    """The rating for the design-letter tables, or why they hold nothing for this motor."""
    plate, poles = job.nameplate, reduction.poles.count
    if job.motor.type != THREE_PHASE:
        return Message("design_letter.three_phase_only")
    if plate.gear is not None:
        return Message("design_letter.with_gear")
    if plate.frequency is None or abs(plate.frequency - 60.0) > _SIXTY:
        return Message("design_letter.at_60_hz")
    if plate.power is None or plate.voltage is None or poles is None:
        missing = "number_of_poles" if poles is None else ("power" if plate.power is None else "voltage")
        return Message("design_letter.not_known", what=Message(f"name.{missing}"))
    horsepower = listed_horsepower(plate.power)
    if horsepower is None:
        return Message("design_letter.unlisted", power=plate.power)
    return DesignRating(horsepower, poles, plate.voltage)


@dataclass(frozen=True)
class Lettered:
    """A letter, or ``None``, with the reason."""

    letter: str | None
    reason: Message


def design_letter(job: Job, reduction: Reduction) -> Lettered:
    """The design letter whose published figures the measured ones meet.

    Where they meet several the plate's letter goes first, then B: a motor may exceed the least torques of its letter.
    """
    rating, rated = design_rating(job, reduction), rated_torque(job)
    if isinstance(rating, Message):
        return Lettered(None, rating)
    figures, slip = starting_figures(job, reduction), _slip_at_rated_power(job, reduction)
    high_slip = slip >= DESIGN_D_SLIP
    wanted = ("locked_rotor_torque",) if high_slip else TORQUES
    missing = [TITLES[name] for name in (*wanted, CURRENT) if not math.isfinite(getattr(figures, name))]
    missing += [] if math.isfinite(slip) else [Message("name.slip_at_rated_power")]
    missing += [] if rated else [Message("name.rated_torque")]
    if missing or not rated:
        return Lettered(None, Message("design_letter.missing", figures=tuple(missing)))
    allowed = [design for design in _ORDER if (design == "D") == high_slip and _meets(rating, design, figures, rated)]
    if not allowed:
        return Lettered(None, Message("design_letter.none", slip=slip))
    plate = job.nameplate.design_letter
    letter = plate if plate in allowed else allowed[0]
    letters = (letter, *(design for design in allowed if design != letter))
    return Lettered(letter, Message("design_letter.meets", letters=letters, slip=slip))


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


def _slip_at_rated_power(job: Job, reduction: Reduction) -> float:
    judged = judged_point("rated power", job, reduction, declared_values(job, reduction))
    return math.nan if judged.point is None else float(judged.point.slip[0])
