"""Values of a nameplate as punched: one value with its unit, fractions of a horsepower, and two values side by side."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_UNIT = r"[A-Za-zµΩ%°]+"
#: Two values or more: '230/400 V', '5.8 A / 3.34 A', '220-240 V', '208-230/460 V'. The unit may stand behind each, before a
#: slash, and may be left out behind the last.
_VALUES = re.compile(
    rf"{_NUMBER}(?:(?:\s*{_UNIT})?\s*/\s*{_NUMBER}|\s*[-–]\s*{_NUMBER})+\s*(?P<unit>[^\s0-9/-].*|1/min)?"
)
_ONE = re.compile(_NUMBER)
_FRACTION = re.compile(r"(?P<top>[0-9]+)/(?P<bottom>[0-9]+)\s*(?P<unit>[A-Za-z]+)")
#: A whole number and a fraction with a hyphen between them, as plates have it: '1-1/2 HP'.
_MIXED = re.compile(r"(?P<whole>[0-9]+)-(?P<fraction>[0-9]+/[0-9]+\s*(?P<unit>[A-Za-z]+))")
_HORSEPOWER = ("hp", "ps", "cv", "horsepower")
#: Denominators of the fractions of a horsepower that do not begin with 1 on plates: 3/4, 3/8, 5/16.
_PARTED = (4, 8, 16)
_LONGEST = 80


@dataclass(frozen=True)
class PlateValue:
    """A value of a plate that is more than one sound number: several side by side, or one that can be read only in part.

    ``values`` are in SI, in the order punched, ``unit`` is their SI unit; ``tested`` is the one the test was made for,
    ``None`` as long as that is not known, and ``basis`` what shows it.
    """

    written: str
    values: tuple[float, ...]
    unit: str
    partly_legible: bool = False
    tested: float | None = None
    basis: str = ""

    @property
    def is_several(self) -> bool:
        """Whether more than one value stands there."""
        return len(self.values) > 1

    def times(self, factor: float) -> PlateValue:
        """The same with every value multiplied."""
        tested = None if self.tested is None else self.tested * factor
        return replace(self, values=tuple(value * factor for value in self.values), tested=tested)

    def member(self, index: int) -> str:
        """One of the values as punched, with its unit: '230 V' of '230/400 V'."""
        return (values_written(self.written) or (self.written,))[index]


def values_written(text: str) -> tuple[str, ...]:
    """The values of a plate that has several in one place, each with its unit.

    Parameters
    ----------
    text : str
        As punched, such as '230/400 V'.

    Returns
    -------
    tuple of str
        Such as ('230 V', '400 V'); empty where there is one value, or none that can be read. A fraction of a
        horsepower is one value: '1/2 hp', '3/4 hp', '1 1/2 hp', '1-1/2 hp'. Common practice, no source.
    """
    plain = text.strip()
    match = _VALUES.fullmatch(plain) if len(plain) <= _LONGEST else None
    if match is None or is_fraction(plain) or _mixed(plain) is not None:
        return ()
    unit = (match["unit"] or "").strip()
    numbers = plain[: match.start("unit")] if match["unit"] else plain
    return tuple(f"{number} {unit}".strip() for number in _ONE.findall(numbers))


def is_fraction(text: str) -> bool:
    """Whether a text such as '1/2 hp' can be nothing but a part of a horsepower."""
    match = _FRACTION.fullmatch(text.strip())
    if match is None or match["unit"].lower() not in _HORSEPOWER:
        return False
    top, bottom = int(match["top"]), int(match["bottom"])
    return top <= 1 or (bottom in _PARTED and top % 2 == 1 and top < bottom)


def _mixed(text: str) -> str | None:
    """'1-1/2 hp' as '1 1/2 hp'; ``None`` for any other text."""
    match = _MIXED.fullmatch(text) if len(text) <= _LONGEST else None
    if match is None or match["unit"].lower() not in _HORSEPOWER:
        return None
    return f"{match['whole']} {match['fraction']}"


def one_value(text: str) -> str:
    """The text of one value as units are read: '1-1/2 hp' becomes '1 1/2 hp', any other text stays."""
    return _mixed(text.strip()) or text
