"""The efficiency class that the measured efficiency would bear. Indicative only: a class is declared by a maker."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from certgen.assessment.declared import declared_values
from certgen.assessment.operating import judged_point
from certgen.job.model import INDUCTION, SINGLE_PHASE, THREE_PHASE, Job
from certgen.reduction.model import LoadPoints, Reduction
from certgen.standards.efficiency_classes import (
    CLASSES,
    GREATEST_VOLTAGE,
    ClassLimit,
    class_limits,
    class_of,
    class_standard,
)
from certgen.standards.efficiency_levels_60hz import (
    ENCLOSURES,
    POLYPHASE_LEVELS,
    polyphase_level,
    small_motor_level,
    supported_nominal,
)

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


@dataclass(frozen=True)
class _AtRating:
    """Measured efficiency at rated power, and the rating it belongs to."""

    efficiency: float
    power: float  # W
    poles: int
    frequency: int  # Hz
    note: str  # what kind of point it is


def efficiency_class(job: Job, reduction: Reduction) -> Classed:
    """The highest class whose limit the efficiency measured at rated power meets."""
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
    measured = f"{_percent(rating.efficiency, 2)} measured, output over input{rating.note}"
    asked = ", ".join(f"{one.name} asks {_percent(one.efficiency, 1)}" for one in _neighbours(name, limits))
    below = "" if name else f"below {_below(limits)}, "
    return Classed(name, f"{below}indicative, not declared: {measured}; {asked}; {_source(name, limits)}", levels)


def _at_rating(job: Job, reduction: Reduction) -> _AtRating | str:
    """What is classed, or in words why nothing can be."""
    plate, poles = job.nameplate, reduction.poles.count
    if job.motor.type not in INDUCTION:
        return "classes are told for three-phase motors only"
    if plate.gear is not None:
        return "measured with the gear, whose loss is not the motor's"
    lacking = {"rated power": plate.power, "number of poles": poles, "rated frequency": plate.frequency}
    missing = [name for name, value in lacking.items() if value is None]
    if missing or plate.power is None or poles is None or plate.frequency is None:
        return f"{' and '.join(missing)} not known"
    frequency = next((one for one in (50, 60) if abs(plate.frequency - one) <= _NEAR), None)
    if frequency is None:
        return f"no classes for {plate.frequency:.4g} Hz"
    judged = judged_point("rated power", job, reduction, declared_values(job, reduction))
    if judged.point is None:
        return judged.note
    efficiency = float(judged.point.efficiency[0])
    if not math.isfinite(efficiency):
        return "input power was not measured"
    off = _supply_off(job, judged.point)
    if off:
        return off
    note = f" ({judged.note})" if judged.note else ""
    return _AtRating(efficiency, plate.power, poles, frequency, note)


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
    found = list(limits.values())
    start = 0 if name is None else list(limits).index(name)
    return found[start : start + (1 if name is None else 2)]


def _below(limits: dict[str, ClassLimit]) -> str:
    lowest = next(iter(limits))
    return lowest if lowest == CLASSES[0] else f"{lowest} (the limit of {CLASSES[0]} is not at hand)"


def _source(name: str | None, limits: dict[str, ClassLimit]) -> str:
    """The standard, and which of the limits told are from memory."""
    told = _neighbours(name, limits)
    recalled = [one.name for one in told if one.status == "from memory"]
    memory = "" if not recalled else "from memory" if len(recalled) == len(told) else f"{recalled[0]} from memory"
    return ", ".join(part for part in (class_standard(), memory) if part)


def _levels(job: Job, rating: _AtRating) -> Iterator[str]:
    measured = f"{_percent(rating.efficiency, 2)} measured"
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
            f"{as_kind} of {small.horsepower} hp, indicative: {measured}, average of {_percent(small.efficiency, 1)} "
            f"by {small.source} {reached}."
        )


def _nominal(rating: _AtRating, measured: str) -> Iterator[str]:
    """The nominal efficiency supported, and the levels it reaches in either enclosure."""
    nominal = supported_nominal(rating.efficiency)
    if nominal is None:
        yield f"{measured}: below the least minimum of NEMA MG 1, Table 12-10, from memory."
        return
    yield (
        f"{measured}, indicative: supports a nominal efficiency of {_percent(nominal, 1)} by its paired minimum "
        "(NEMA MG 1, Table 12-10, from memory)."
    )
    for name in POLYPHASE_LEVELS:
        required = _required(rating, name)
        met = [enclosure for enclosure, (least, _) in required.items() if nominal >= least]
        if not required:
            continue
        asked = " and ".join(f"{_percent(least, 1)} {enclosure}" for enclosure, (least, _) in required.items())
        source = next(iter(required.values()))[1]
        verdict = {0: "not reached", len(required): "reached"}.get(len(met), f"reached {' and '.join(met)} only")
        yield f"Level {name.replace('_', '-')}, {asked} ({source}): {verdict}."
        if len(met) == len(required):
            return


def _required(rating: _AtRating, level: str) -> dict[str, tuple[float, str]]:
    found = {one: polyphase_level(level, rating.power, rating.poles, one) for one in ENCLOSURES}
    return {enclosure: (one.efficiency, one.source) for enclosure, one in found.items() if one is not None}


def _percent(value: float, digits: int) -> str:
    return f"{100.0 * value:.{digits}f} %"
