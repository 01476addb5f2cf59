"""Figures within the plan's sentences."""

from __future__ import annotations

import math

from certgen.units import from_si

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
