"""Preferred ratings, the torque a rating must leave in reserve, and usual full-load speeds."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

from certgen.messages.catalogue import Message
from certgen.messages.format import PlateFigures
from certgen.physics.induction import HORSEPOWER
from certgen.standards.criteria import recalled, shipped_table
from certgen.standards.nema_letters import least_torque

# Which listed horsepower a rated power stands for.


#: How far a plate may stand off a listed rating by rounding alone, in parts of it. [1] Common practice, no source.
_ROUNDING = 0.01


@lru_cache(maxsize=1)
def listed_ratings() -> dict[str, tuple[float, ...]]:
    """Horsepower as the tables write it, to the powers that are taken for it. [W]"""
    pairs: dict[str, float | None] = shipped_table("horsepower_ratings")["kilowatts"]
    return {
        label: (horsepower_of(label) * HORSEPOWER, *(() if kilowatts is None else (1000.0 * kilowatts,)))
        for label, kilowatts in pairs.items()
    }


def horsepower_of(label: str) -> float:
    """Horsepower of a label such as '1/2' or '7.5'."""
    return float(Fraction(label))


def listed_horsepower(power: float) -> str | None:
    """Label of the listed rating that a rated power stands for.

    Parameters
    ----------
    power : float
        Rated power. [W]

    Returns
    -------
    str or None
        Label of the rating whose horsepower, or whose paired kilowatts, the power meets within 1 %; ``None`` where
        no listed rating is that near.

    References
    ----------
    NEMA MG 1, 10.32; pairs of 10 CFR 431.25 and 431.446.
    """
    for label, powers in listed_ratings().items():
        if any(abs(power / one - 1.0) <= _ROUNDING for one in powers):
            return label
    return None


# Preferred ratings, the torque a rating must leave in reserve, and usual full-load speeds.


HP = "hp"
KW = "kW"
#: One unit of either ladder. [W]
UNIT = {HP: HORSEPOWER, KW: 1000.0}
#: A supply this near 50 or 60 Hz has the full-load speeds of that frequency. [1] Common practice, no source.
_NEAR = 0.05
_THREE_PHASE = "three-phase induction"


@dataclass(frozen=True)
class Step:
    """One preferred rating."""

    power: float  # W
    number: str  # as written on plates
    unit: str  # of the number
    source: Message | str

    @property
    def label(self) -> str:
        """The rating as written on plates."""
        return f"{self.number} {self.unit}"

    @property
    def words(self) -> PlateFigures:
        """The rating for a sentence, in which it has the decimal mark of the reader."""
        return PlateFigures(self.label)


@dataclass(frozen=True)
class Reserve:
    """Least breakdown torque over rated torque, and where it is asked."""

    ratio: float
    source: Message | str


def _cited(row: Mapping[str, Any], status: str) -> Message | str:
    """A source as printed: a standard's clause, or common practice for want of one."""
    parts = [str(row[name]) for name in ("standard", "clause") if name in row]
    where = Message("source.clause", title=parts[0], clause=parts[1]) if len(parts) > 1 else parts[0]
    if status == "common practice":
        return Message("source.practice_of", clause=where)
    return recalled(where, status)


@lru_cache(maxsize=2)
def ladder(unit: str) -> tuple[Step, ...]:
    """Every preferred rating of a ladder, the least first.

    Parameters
    ----------
    unit : {'hp', 'kW'}
        Which ladder.
    """
    table = shipped_table("ratings")["ladders"][unit]
    listed = dict.fromkeys(_listed(unit), "confirmed")
    also = dict.fromkeys(table["also"]["steps"], table["also"]["status"])
    steps = [
        Step(float(Fraction(label)) * UNIT[unit], label, unit, _cited(table, status))
        for label, status in {**listed, **also}.items()
    ]
    return tuple(sorted(steps, key=lambda step: step.power))


def _listed(unit: str) -> list[str]:
    """Steps as written on plates that the horsepower ratings and their pairs in kilowatts give."""
    if unit == HP:
        return list(listed_ratings())
    return [f"{powers[1] / 1000.0:g}" for powers in listed_ratings().values() if len(powers) > 1]


#: Furthest a power may fall short of a step and still be labelled with it, however uncertain it is: a poor bench labels no
#: motor up. [1] Common practice, no source.
MOST_SHORT = 0.05


def reaches(power: float, step: float, uncertainty: float = 0.0) -> bool:
    """Whether a power [W] reaches a step [W]: within its expanded uncertainty [W], and never further off than 5 %."""
    return step <= power + max(1e-9 * abs(power), min(uncertainty, MOST_SHORT * abs(power)))


def step_at_or_below(power: float, unit: str, uncertainty: float = 0.0) -> Step | None:
    """The greatest preferred rating a power reaches, or ``None`` below the least of the ladder.

    Parameters
    ----------
    power : float
        What was measured. [W]
    unit : {'hp', 'kW'}
        Which ladder.
    uncertainty : float
        Its expanded uncertainty; a power short of a step by no more counts as on it. [W]
    """
    below = [step for step in ladder(unit) if reaches(power, step.power, uncertainty)]
    return below[-1] if below else None


def ladder_unit(criteria: str, frequency: float | None) -> str:
    """Which ladder ratings are given on: that of the criteria's standard, else that of the supply's frequency [Hz]."""
    if criteria.startswith("nema"):
        return HP
    if criteria.startswith("iec"):
        return KW
    return HP if frequency is not None and abs(frequency / 60.0 - 1.0) <= _NEAR else KW


def torque_reserve(motor_type: str, step: Step, poles: int | None) -> Reserve | None:
    """The torque a rating must leave in reserve.

    Parameters
    ----------
    motor_type : str
        Kind of motor.
    step : Step
        The rating; its ladder says under which standard.
    poles : int or None
        Number of poles, where there are any.

    Returns
    -------
    Reserve or None
        ``None`` where no rule is known for the kind.
    """
    if step.unit == HP and motor_type == _THREE_PHASE and poles is not None:
        published = least_torque("B", "breakdown_torque", step.number, poles)
        if published is not None:
            return Reserve(published.value, Message("source.of_design", source=published.source, letter="B"))
    for name in ("nema", "nema_dc") if step.unit == HP else ("iec", "iec_dc", "iec_single_phase"):
        row = shipped_table("ratings")["torque_reserve"][name]
        if motor_type in row["types"]:
            return Reserve(float(row["ratio"]), _cited(row, row["status"]))
    return None


def greatest_usual_slip(poles: int, frequency: float) -> tuple[float, Message | str] | None:
    """Slip at the lowest usual full-load speed, and the source of that speed.

    Parameters
    ----------
    poles : int
        Number of poles.
    frequency : float
        Supply frequency. [Hz]

    Returns
    -------
    tuple of (float, source), or None
        Slip [1] and source; ``None`` where no full-load speed is tabled.
    """
    table = shipped_table("ratings")["full_load_speeds"]
    for tabled, speeds in table["speeds"].items():
        if math.isfinite(frequency) and abs(frequency / tabled - 1.0) <= _NEAR and poles in speeds:
            synchronous = 120.0 * tabled / poles
            source = Message("source.full_load_speed", speed=speeds[poles], poles=poles, frequency=tabled)
            return 1.0 - speeds[poles] / synchronous, recalled(source, table["status"])
    return None
