"""Load points as the columns of a table: only what was measured in at least one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from certgen.assessment.results import Point
from certgen.quantity import Quantity
from certgen.sheet.content import FLAG_MEANINGS, FLAG_SIGNS
from certgen.sheet.figures import KINDS, MISSING, Form, column, decimals_of, forms, spread_text
from certgen.sheet.table import Column


@dataclass(frozen=True)
class _Shown:
    """How a quantity heads its column, and how soon it goes when the table is too wide."""

    heading: tuple[str, ...]
    leave: int = 0


_SHOWN = {
    "speed": _Shown(("Speed",)),
    "slip": _Shown(("Slip",), 2),
    "torque": _Shown(("Torque",)),
    "shaft_power": _Shown(("Shaft", "power")),
    "input_power": _Shown(("Input", "power")),
    "apparent_power": _Shown(("Apparent", "power"), 6),
    "current": _Shown(("Current",)),
    "voltage": _Shown(("Voltage",), 1),
    "power_factor": _Shown(("Power", "factor")),
    "efficiency": _Shown(("Efficiency",)),
    "losses": _Shown(("Losses",), 4),
    "temperature": _Shown(("Winding", "temp."), 3),
    "current_unbalance": _Shown(("Current", "unbal."), 7),
    "voltage_unbalance": _Shown(("Voltage", "unbal."), 8),
    "frequency": _Shown(("Freq.",), 9),
    "time": _Shown(("Time",), 10),
}
#: A column that says in the other system what its neighbour says already goes before all others.
_SECOND_SYSTEM = 20


def point_columns(
    points: Sequence[Point], units: str, among: Sequence[Point] = (), *, read_off_by: Sequence[str] = ()
) -> tuple[Column, ...]:
    """The columns of some load points, in the order of the results.

    Digits and widths are those of the points ``among`` which these stand, so that two tables of the page agree.
    With ``read_off_by``, the quantity that defines each point, a last row holds each column's greatest expanded
    uncertainty.
    """
    everything = [*points, *among]
    columns: list[Column] = []
    for name, shown in _SHOWN.items():
        items = [getattr(point, name) for point in everything]
        if all(item is None for item in items[: len(points)]):
            continue
        largest = max(abs(item.value) for item in items if item is not None)
        for index, form in enumerate(forms(KINDS[name], units, largest)):
            leave = _SECOND_SYSTEM + shown.leave if index else shown.leave
            words = name.replace("_", " ") + (f" in {form.sign}" if index else "")
            cells = column(items, form, spreads=False)
            own = cells[: len(points)]
            if read_off_by:
                doubtful = [item for item, by in zip(items, read_off_by, strict=False) if by != name]
                own += (_greatest_spread(doubtful, form, decimals_of(items, form, each=False)),)
            columns.append(Column(shown.heading, own, form.sign, leave=leave, name=words, among=(*cells, *own)))
    return tuple(columns)


def _greatest_spread(items: Sequence[Quantity | None], form: Form, decimals: int) -> str:
    """The greatest expanded uncertainty of a column; a dash where that of a figure in it is not known.

    Nothing where no figure is in doubt.
    """
    known = [item for item in items if item is not None]
    if not known:
        return ""
    if any(item.expanded_uncertainty is None for item in known):
        return MISSING
    return spread_text(max(known, key=lambda item: item.expanded_uncertainty or 0.0), form, decimals)


def flagged(name: str, point: Point) -> str:
    """The name of a point with the signs of its flags."""
    return name + "".join(sign for flag, sign in FLAG_SIGNS.items() if flag in point.flags)


def flag_notes(points: Sequence[Point]) -> tuple[str, ...]:
    """The meaning of every sign that stands at one of the points."""
    return tuple(meaning for flag, meaning in FLAG_MEANINGS.items() if any(flag in point.flags for point in points))
