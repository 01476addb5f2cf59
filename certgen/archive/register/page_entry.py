"""What a certificate's own file says of its row in the register."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, fields
from math import isclose
from typing import Any

from certgen.archive.enclosures import RESULTS
from certgen.archive.reading import Unreadable, read_enclosed
from certgen.archive.register.entry import HEADLINES, Registered, headlines_of
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.results.model import Point
from certgen.results.points import leading_of

#: A register keeps all digits of a figure, and so does the file.
_SAME = 1e-9

_TEXTS = {
    "number": ("certificate", "number"),
    "reason": ("certificate", "revision_reason"),
    "tested_on": ("certificate", "tested_on"),
    "tested_by": ("certificate", "tested_by"),
    "issued_to": ("certificate", "issued_to"),
    "motor_type": ("motor", "type"),
    "maker": ("motor", "maker"),
    "model": ("motor", "model"),
    "serial": ("motor", "serial"),
    "description": ("motor", "description"),
    "verdict": ("verdict", "outcome"),
}


@dataclass(frozen=True)
class PageEntry:
    """The columns of a row as the certificate's own file gives them.

    Attributes
    ----------
    columns : mapping
        Column -> text, or headline value in SI by the rules of today.
    points : tuple of mapping
        Headline values at each point an earlier version may have taken them from.
    """

    columns: dict[str, Any]
    points: tuple[dict[str, float | None], ...]


def page_entry(document: bytes) -> PageEntry | None:
    """The row of a certificate from the results it encloses; ``None`` where they cannot be read."""
    try:
        inside = {one.name: one.data for one in read_enclosed(document)}
        tree = json.loads(inside[RESULTS])
        columns: dict[str, Any] = {name: str(tree[group][member] or "") for name, (group, member) in _TEXTS.items()}
        columns["revision"] = int(tree["certificate"]["revision"])
        return PageEntry(columns | _leading(tree), tuple(_points(tree)))
    except (Unreadable, KeyError, TypeError, ValueError, AttributeError, RecursionError):
        return None


def differences(row: Registered, page: PageEntry) -> dict[str, Any]:
    """Columns of a row that its own file contradicts, with what the file says."""
    wrong = {name: said for name, said in page.columns.items() if name in _TEXTS and getattr(row, name) != said}
    if row.revision != page.columns["revision"]:
        wrong["revision"] = page.columns["revision"]
    kept = {name: getattr(row, name) for name in HEADLINES}
    if any(_agree(kept, point) for point in (page.columns, *page.points)):
        return wrong
    return wrong | {name: page.columns[name] for name in kept if not _same(kept[name], page.columns[name])}


def absent(row: Registered, page: PageEntry) -> dict[str, float]:
    """Headline values that the row lacks and its own file has; an earlier version entered none for one load point."""
    if any(getattr(row, name) is not None for name in HEADLINES if name != "voltage"):
        return {}
    return {name: page.columns[name] for name in HEADLINES if page.columns[name] is not None}


def row_difference(column: str, row: Registered, said: object) -> Message:
    """What a row says and what its file says, in words."""
    kept = getattr(row, column)
    values = [
        f"{one:.6g}" if isinstance(one, float) else "-" if one in (None, "") else str(one) for one in (kept, said)
    ]
    return Message(
        "register.row_differs", number=row.shown_number, column=column.replace("_", " "), kept=values[0], said=values[1]
    )


def _agree(kept: dict[str, float | None], point: dict[str, Any]) -> bool:
    """Whether a row holds the values of a point; a row of an earlier version may have none but the voltage."""
    without = all(kept[name] is None for name in HEADLINES if name != "voltage")
    names = ("voltage",) if without and kept["voltage"] is not None else () if without else tuple(HEADLINES)
    return all(_same(kept[name], point[name]) for name in names)


def _same(one: object, other: object) -> bool:
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        return isclose(one, other, rel_tol=_SAME, abs_tol=1e-12)
    return one == other


def _leading(tree: dict[str, Any]) -> dict[str, float | None]:
    by_current = tree["nameplate"].get("current") is not None
    rating = _rating(tree)
    leading = leading_of(
        _point(tree.get("at_rated_power")),
        _point(tree.get("at_rated_current")),
        None if rating is None else (rating, "current" if by_current else "shaft_power"),
        [point for point in map(_point, tree["points"]) if point is not None],
    )
    return headlines_of(Point() if leading is None else leading.point, _rated_voltage(tree))


def _points(tree: dict[str, Any]) -> Iterator[dict[str, float | None]]:
    """Where earlier versions took the values from: rated power, else rated current, else the assessed rating."""
    for point in (_point(tree.get("at_rated_power")), _point(tree.get("at_rated_current")), _rating(tree), Point()):
        if point is not None:
            yield headlines_of(point, _rated_voltage(tree))


def _rated_voltage(tree: dict[str, Any]) -> float | None:
    voltage = tree["nameplate"].get("voltage")
    return None if voltage is None else float(voltage["value"])


def _rating(tree: dict[str, Any]) -> Point | None:
    rating = tree.get("assessed_rating")
    if rating is None or rating.get("power") is None:
        return None
    return _point(
        {**{name: rating.get(name) for name in ("torque", "speed", "current")}, "shaft_power": rating["power"]}
    )


_QUANTITIES = tuple(field.name for field in fields(Point) if field.name not in ("remark", "flags"))


def _point(tree: dict[str, Any] | None) -> Point | None:
    """A point of the results tree, its quantities without their uncertainties."""
    if tree is None:
        return None
    found = {name: tree.get(name) for name in _QUANTITIES}
    quantities: dict[str, Any] = {
        name: Quantity(one["value"], one["unit"]) for name, one in found.items() if one is not None
    }
    return Point(**quantities, flags=tuple(tree.get("flags") or ()))
