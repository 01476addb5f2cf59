"""Load points as the columns of a table: only what was measured in at least one of them."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.assessment.results import Point
from certgen.quantity import Quantity
from certgen.sheet.content import FLAG_MEANINGS, FLAG_SIGNS
from certgen.sheet.figures import KINDS, MISSING, Form, column, decimals_of, forms, spread_text
from certgen.sheet.table import Column
from certgen.sheet.words import Words

#: The quantities shown, each with how soon it goes when the table is too wide: 0 never, else the highest first.
_LEAVE = {
    "speed": 0,
    "slip": 2,
    "torque": 0,
    "shaft_power": 0,
    "input_power": 0,
    "apparent_power": 6,
    "current": 0,
    "voltage": 1,
    "power_factor": 0,
    "efficiency": 0,
    "losses": 4,
    "temperature": 3,
    "current_unbalance": 7,
    "voltage_unbalance": 8,
    "frequency": 9,
    "time": 10,
}
_ENGLISH = Words()
#: A column that says in the other system what its neighbour says already goes before all others.
_SECOND_SYSTEM = 20


def point_columns(
    points: Sequence[Point],
    units: str,
    among: Sequence[Point] = (),
    *,
    read_off_by: Sequence[str] = (),
    words: Words = _ENGLISH,
) -> tuple[Column, ...]:
    """The columns of some load points, in the order of the results.

    Digits and widths are those of the points ``among`` which these stand, so that two tables of the page agree.
    With ``read_off_by``, the quantity that defines each point, a last row holds each column's greatest expanded
    uncertainty.
    """
    everything = [*points, *among]
    columns: list[Column] = []
    for name, at_once in _LEAVE.items():
        items = [getattr(point, name) for point in everything]
        if all(item is None for item in items[: len(points)]):
            continue
        largest = max(abs(item.value) for item in items if item is not None)
        for index, form in enumerate(forms(KINDS[name], units, largest)):
            leave = _SECOND_SYSTEM + at_once if index else at_once
            called = words(f"name.{name}")
            called = words("name.in_unit", name=called, unit=form.sign) if index else called
            cells = column(items, form, spreads=False)
            own = cells[: len(points)]
            if read_off_by:
                doubtful = [item for item, by in zip(items, read_off_by, strict=False) if by != name]
                own += (_greatest_spread(doubtful, form, decimals_of(items, form, each=False)),)
            heading = heading_of(words, name)
            columns.append(Column(heading, own, form.sign, leave=leave, name=called, among=(*cells, *own)))
    return tuple(columns)


def heading_of(words: Words, name: str) -> tuple[str, ...]:
    """The heading of a column, a word a line."""
    return tuple(words(f"column.{name}").split())


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


def flag_notes(points: Sequence[Point], words: Words = _ENGLISH) -> tuple[str, ...]:
    """The meaning of every sign that stands at one of the points."""
    return tuple(
        words(meaning, sign=FLAG_SIGNS[flag])
        for flag, meaning in FLAG_MEANINGS.items()
        if any(flag in point.flags for point in points)
    )


def left_out_note(left_out: Sequence[Column], words: Words = _ENGLISH) -> str:
    """Which columns are not printed."""
    return words("page.columns_left_out", columns=", ".join(column.name for column in reversed(left_out)))
