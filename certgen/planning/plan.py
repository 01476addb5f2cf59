"""The plan of one test, as plain frozen data.

The JSON of a plan is this tree written out, field for field. Every quantity is in SI (N*m, W, rad/s, A, K, s, kg or N
on the scale; parts of the rated load have the unit "1"). ``None`` means not known before the test; a basis or a
sentence beside it says why.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from certgen.job.model import Certificate, Motor, Nameplate
from certgen.quantity import Quantity
from certgen.units import from_si

#: What the rig makes of one limit.
HOLDS, EXCEEDED, NOT_STATED, NOT_KNOWN = "holds", "exceeded", "not stated", "not known"

#: Whether the motor can be tested on the rig.
ALL_HELD, SOME_REFUSED, ALL_REFUSED, NOT_ALL_COMPARED = (
    "the rig holds every load planned",
    "the rig does not hold every load planned",
    "the rig holds no load planned",
    "no load is refused, but not all can be compared with what the rig states",
)


@dataclass(frozen=True)
class PlannedPoint:
    """One load to take, with what it is expected to give; torque, speed and power are the tested shaft's."""

    name: str
    load: Quantity | None  # part of rated load
    torque: Quantity | None
    scale: Quantity | None  # what the scale or the torque sensor should show; the balances' difference of a rope brake
    speed: Quantity | None
    current: Quantity | None
    shaft_power: Quantity | None
    absorber_torque: Quantity | None
    absorber_power: Quantity | None
    holds: bool | None  # whether the rig holds it, by what it states
    refused: tuple[str, ...] = ()  # why not
    not_compared: tuple[str, ...] = ()  # limits the rig states that could not be held against this load
    may_be_held: Quantity | None = None  # time from a cold absorber; None: see ``held``
    held: str = ""  # the same in words


@dataclass(frozen=True)
class ColumnToRead:
    """One column of the readings to come."""

    name: str
    unit: str


@dataclass(frozen=True)
class RigCheck:
    """One limit of the rig against the most that the planned loads ask of it."""

    name: str
    outcome: str
    asked: Quantity | None
    limit: Quantity | None
    at: str  # the load that asks most
    note: str = ""


@dataclass(frozen=True)
class Stop:
    """A sign to unload or switch off at; ``limit`` where it is a figure."""

    sign: str
    limit: Quantity | None
    act: str
    basis: str


@dataclass(frozen=True)
class Precaution:
    """What to see to before power is switched on, and what in this job asks for it."""

    text: str
    because: str


@dataclass(frozen=True)
class Breakdown:
    """Whether the rig can take the motor past its breakdown torque."""

    least: Quantity | None  # torque at the shaft the motor must at least reach
    source: str
    rig_holds: Quantity | None  # most torque the rig holds at the shaft over the speeds of breakdown
    words: str


@dataclass(frozen=True)
class Starting:
    """What the motor takes from the supply when it is switched on."""

    least_current: Quantity | None
    most_current: Quantity | None
    basis: str


@dataclass(frozen=True)
class Plan:
    """Everything the bench should know before one test."""

    certificate: Certificate | None  # as far as it is written yet
    motor: Motor
    nameplate: Nameplate
    rig: str
    outcome: str
    rated_torque: Quantity | None
    rated_torque_basis: str
    synchronous_speed: Quantity | None  # at the tested shaft
    rated_slip: Quantity | None
    points: tuple[PlannedPoint, ...]  # in the order they are taken
    columns: tuple[ColumnToRead, ...]  # what is read at each
    loads_source: str
    order: str
    greatest_load: Quantity | None  # part of rated load the rig holds; None: not limited or not known
    greatest_load_by: str  # what limits it
    scale_unit: str  # as the scale itself shows it
    scale_basis: tuple[str, ...]  # sentences: how the reading was worked out
    expectations: tuple[str, ...]  # sentences: on what expected speed and current rest
    rig_checks: tuple[RigCheck, ...]
    rig_notes: tuple[str, ...]  # scale little used, beyond its calibration, meters too small
    breakdown: Breakdown | None
    starting: Starting | None
    steps: tuple[str, ...]  # how to begin and go on
    stops: tuple[Stop, ...]
    precautions: tuple[Precaution, ...]
    missing: tuple[str, ...]  # what is not known, and what it would take
    program: str
    version: str
    inputs: Mapping[str, str]  # file name as written in the job -> SHA-256, hexadecimal


# Figures within the plan's sentences.


#: How an SI unit is told in a sentence: unit printed, factor.
_TOLD = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "N*m": ("N·m", 1.0)}


def figure(value: float, unit: str, digits: int = 4) -> str:
    """An SI value in the unit a bench reads, with its unit."""
    shown, factor = _TOLD.get(unit, (unit, 1.0))
    number = value * factor
    places = max(0, digits - 1 - math.floor(math.log10(abs(number)))) if number else 0
    return f"{number:.{min(places, 6)}f} {shown}"


def percent(part: float) -> str:
    """A part of rated load."""
    return f"{100.0 * part:.0f} %"


def own(value: float, unit: str) -> str:
    """An SI value in a named unit, four digits."""
    return f"{from_si(value, unit):.4g} {unit.replace('*', '·')}"


def named(names: list[str], of: int) -> str:
    """Some loads by name, or 'any load' where they are all there are."""
    return "any load" if len(names) == of else ", ".join(names)
