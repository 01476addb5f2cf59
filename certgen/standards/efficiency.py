"""Efficiency classes IE1 to IE4, and nominal efficiencies of motors for 60 Hz."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Any

from certgen.messages.catalogue import Message
from certgen.standards.criteria import nominal_minimum_pairs, recalled, shipped_table
from certgen.standards.ratings import horsepower_of

#: Classes from the lowest to the highest.
CLASSES = ("IE1", "IE2", "IE3", "IE4")
#: The classes end at this rated voltage. [V] IEC 60034-30-1:2014, clause 1, from memory.
GREATEST_VOLTAGE = 1000.0
#: Rated outputs this near count as listed. [1]
_SAME = 1e-6
#: Where the two sets of coefficients at 50 Hz end and begin. [kW]
_SMALL, _LARGE = 0.55, 0.75
_LARGEST_BY_FORMULA = 200.0


@dataclass(frozen=True)
class ClassLimit:
    """Least efficiency of a class [1], and how far it is confirmed."""

    name: str
    efficiency: float
    status: str


def class_standard() -> str:
    """Standard and edition, as printed."""
    table = shipped_table("efficiency_classes")
    return f"{table['standard']}:{table['edition']}"


def class_limits(power: float, poles: int, frequency: int) -> dict[str, ClassLimit]:
    """Least efficiency of each class for a rating.

    Parameters
    ----------
    power : float
        Rated output. [W]
    poles : int
        Number of poles.
    frequency : int
        Rated frequency, 50 or 60. [Hz]

    Returns
    -------
    dict of str to ClassLimit
        By class, from the lowest up. Empty for a rating the standard does not cover; a class whose limit is not at
        hand for the rating is left out (IE1 at 60 Hz; IE1 at 50 Hz between listed outputs where no coefficients are).

    References
    ----------
    IEC 60034-30-1:2014, Tables 3 to 10; coefficients at 50 Hz: UK SI 2021/745, Schedule 16, Tables 27 and 28.
    """
    table = shipped_table("efficiency_classes")
    kilowatts, scope = power / 1000.0, table["scope"]
    covered = scope["least_power"] * (1 - _SAME) <= kilowatts <= scope["greatest_power"] * (1 + _SAME)
    if not covered or poles not in table["poles"] or frequency not in (50, 60):
        return {}
    by_frequency = table[f"hz_{frequency}"]
    found = {}
    for name, rows in by_frequency["limits"].items():
        column = {listed: values[table["poles"].index(poles)] for listed, values in rows.items()}
        if frequency == 60:
            percent: float | None = column[_nearest_by_midpoint(list(column), kilowatts)]
        else:
            percent = _at_50_hz(column, kilowatts, _coefficients(by_frequency, name, poles, kilowatts))
        status = _status(by_frequency, name, poles, kilowatts)
        if percent is not None:
            found[name] = ClassLimit(name, percent / 100.0, status)
    return found


def _status(by_frequency: Any, name: str, poles: int, kilowatts: float) -> str:
    """How far the limit of a class is confirmed for a rating [kW]."""
    for one in by_frequency.get("seen", ()):
        inside = one["from"] * (1 - _SAME) <= kilowatts <= one["to"] * (1 + _SAME)
        if name in one["classes"] and poles in one["poles"] and inside:
            return str(one["status"])
    if kilowatts > _LARGEST_BY_FORMULA * (1 + _SAME) and "above_200_kW_status" in by_frequency:
        return str(by_frequency["above_200_kW_status"])
    return str(by_frequency["status"][name])


def missing_classes(power: float, poles: int, frequency: int) -> tuple[str, ...]:
    """Classes of a rating the standard covers whose limit is not at hand, which a page must say.

    Parameters and unit as for :func:`class_limits`; empty for a rating that is not covered.
    """
    found = class_limits(power, poles, frequency)
    return tuple(name for name in CLASSES if found and name not in found)


def class_of(efficiency: float, limits: dict[str, ClassLimit]) -> str | None:
    """The highest class whose limit an efficiency [1] meets, or ``None`` where it meets none."""
    met = [name for name in CLASSES if name in limits and efficiency >= limits[name].efficiency]
    return met[-1] if met else None


def _coefficients(by_frequency: Any, name: str, poles: int, kilowatts: float) -> list[float] | None:
    part = "up_to_0.55" if kilowatts <= _SMALL else "from_0.75"
    found: list[float] | None = by_frequency["coefficients"][part].get(name, {}).get(poles)
    return found


def _at_50_hz(column: dict[float, float], kilowatts: float, coefficients: list[float] | None) -> float | None:
    """Least efficiency of one class in percent: as listed, else by the published interpolation."""
    for listed, percent in column.items():
        if math.isclose(kilowatts, listed, rel_tol=_SAME):
            return percent
    if kilowatts > _LARGEST_BY_FORMULA:
        return column[max(listed for listed in column if listed < kilowatts)]
    if _SMALL < kilowatts < _LARGE:
        part = (kilowatts - _SMALL) / (_LARGE - _SMALL)
        return round(column[_SMALL] + part * (column[_LARGE] - column[_SMALL]), 1)
    if coefficients is None:
        return None
    cubic, square, slope, constant = coefficients
    x = math.log10(kilowatts)
    return round(cubic * x**3 + square * x**2 + slope * x + constant, 1)


def _nearest_by_midpoint(listed: list[float], value: float) -> float:
    """The listed value that stands for one between: the higher neighbour from the midpoint on."""
    for low, high in itertools.pairwise(listed):
        if value < (low + high) / 2.0:
            return low
    return listed[-1]


# Nominal efficiencies of motors for 60 Hz: the nominal a measurement supports, and the levels asked for.


#: Horsepower of 10 CFR 431.25 and 431.446 for ratings in kW. [W] From memory.
_REGULATION_HORSEPOWER = 746.0
#: How far beyond the listed ratings a rating may stand by rounding alone, in parts of it. [1]
_ROUNDING = 0.01
#: Levels for polyphase motors, the most demanding first.
POLYPHASE_LEVELS = ("premium", "energy_efficient")
ENCLOSURES = ("enclosed", "open")


@dataclass(frozen=True)
class Level:
    """A nominal efficiency asked of a rating [1], how far it is confirmed, and where it stands."""

    efficiency: float
    horsepower: str
    standard: str
    status: str

    @property
    def source(self) -> Message | str:
        """Standard, as printed."""
        return recalled(self.standard, self.status)


def supported_nominal(efficiency: float) -> float | None:
    """The highest nominal efficiency whose paired minimum one motor meets.

    Parameters
    ----------
    efficiency : float
        Measured at rated load. [1]

    Returns
    -------
    float or None
        Nominal efficiency of the plate's series [1]; ``None`` below the lowest minimum.

    References
    ----------
    NEMA MG 1, 12.58.2, from memory.
    """
    met = [nominal for nominal, least in nominal_minimum_pairs().items() if efficiency >= least]
    return max(met) if met else None


def polyphase_level(level: str, power: float, poles: int, enclosure: str) -> Level | None:
    """Nominal efficiency of a level for a polyphase motor from 1 hp.

    Parameters
    ----------
    level : {'premium', 'energy_efficient'}
        Which level.
    power : float
        Rated power. [W]
    poles : int
        Number of poles.
    enclosure : {'enclosed', 'open'}
        Kind of enclosure.

    Returns
    -------
    Level or None
        ``None`` where the table has no value.

    References
    ----------
    10 CFR 431.25, Table 5 (NEMA MG 1, Table 12-12); 42 USC 6313(b)(1) (NEMA MG 1, Table 12-11).
    """
    table = shipped_table("efficiency_levels_60hz")[level]
    found = _looked_up(table, table[enclosure], power, poles)
    if found is None:
        return None
    memory = table.get("from_memory", {})
    recalled = found.horsepower in memory.get("horsepower", []) or (
        poles == 8 and found.horsepower in memory.get("eight_poles", [])
    )
    thin = table.get("thin") == {"enclosure": enclosure, "poles": poles}
    status = ("thin" if thin else "from memory") if recalled else found.status
    return Level(found.efficiency, found.horsepower, found.standard, status)


def small_motor_level(kind: str, power: float, poles: int) -> Level | None:
    """Average full-load efficiency of small open motors.

    Parameters
    ----------
    kind : {'polyphase', 'capacitor_start'}
        Kind of motor.
    power : float
        Rated power. [W]
    poles : int
        Number of poles.

    Returns
    -------
    Level or None
        ``None`` where the table has no value.

    References
    ----------
    10 CFR 431.446(a).
    """
    table = shipped_table("efficiency_levels_60hz")["small"]
    return _looked_up(table, table[kind], power, poles)


def _looked_up(table: Any, rows: dict[str, list[float | None]], power: float, poles: int) -> Level | None:
    if poles not in table["poles"]:
        return None
    label = _listed(list(rows), power / _REGULATION_HORSEPOWER)
    percent = None if label is None else rows[label][table["poles"].index(poles)]
    if label is None or percent is None:
        return None
    return Level(percent / 100.0, label, table["standard"], table["status"])


def _listed(labels: list[str], horsepower: float) -> str | None:
    """The listed rating that counts for one between: the higher neighbour from the midpoint on."""
    sizes = [horsepower_of(label) for label in labels]
    if not sizes[0] * (1 - _ROUNDING) <= horsepower <= sizes[-1] * (1 + _ROUNDING):
        return None
    for low, high, label in zip(sizes, sizes[1:], labels, strict=False):
        if horsepower < (low + high) / 2.0:
            return label
    return labels[-1]
