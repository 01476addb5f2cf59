"""The results a certificate carries held against those computed again from the files it carries."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

#: Parts by which a number may differ and still be the same: another processor rounds the last of 16 digits otherwise.
SAME = 1e-9

#: Texts that are facts; others are wording, which a later version may have bettered.
_FACTS = ("outcome", "unit", "code_letter", "design_letter", "efficiency_class", "power_label", "flags", "number")

#: Says who computed, which is told apart.
_LEFT_OUT = ("traceability",)


@dataclass(frozen=True)
class Change:
    """One figure that came out otherwise: where it stands in the tree, what is printed, what was computed again."""

    where: str
    then: Any
    now: Any

    def __str__(self) -> str:
        """The figure, both values, and how far they are apart."""
        told = f"{self.where}: {_told(self.then)} on the page, {_told(self.now)} computed now"
        if _number(self.then) and _number(self.now) and self.then:
            told += f" ({100.0 * (self.now / self.then - 1.0):+.3g} %)"
        return told


def changes(then: Any, now: Any) -> list[Change]:
    """Figures and outcomes of the earlier tree that the later one gives otherwise.

    What only the later tree has is no change: a later version may compute more.
    """
    return list(_compared("", "", then, now))


def _compared(where: str, name: str, then: Any, now: Any) -> Iterator[Change]:
    match then:
        case dict():
            yield from _mappings(where, then, now)
        case list():
            yield from _lists(where, name, then, now)
        case str():
            if name in _FACTS and then != now:
                yield Change(where, then, now)
        case _:
            if not _same(then, now):
                yield Change(where, then, now)


def _mappings(where: str, then: Mapping[str, Any], now: Any) -> Iterator[Change]:
    if not isinstance(now, dict):
        yield Change(where, "some", now)
        return
    for name, member in then.items():
        if where or name not in _LEFT_OUT:
            yield from _compared(f"{where}.{name}".lstrip("."), name, member, now.get(name))


def _lists(where: str, name: str, then: list[Any], now: Any) -> Iterator[Change]:
    """Members with an id are matched by it, others by place."""
    if not isinstance(now, list):
        yield Change(where, f"{len(then)} of them", now)
        return
    if all(isinstance(one, dict) and "id" in one for one in (*then, *now)) and then:
        by_id = {one["id"]: one for one in now}
        for one in then:
            yield from _compared(f"{where}[{one['id']}]", name, one, by_id.get(one["id"]))
        return
    if len(then) != len(now) and (name in _FACTS or not all(isinstance(one, str) for one in then)):
        yield Change(where, f"{len(then)} of them", f"{len(now)}")
        return
    for place, (one, other) in enumerate(zip(then, now, strict=False)):
        yield from _compared(f"{where}[{place}]", name, one, other)


def _same(then: Any, now: Any) -> bool:
    if _number(then) and _number(now):
        return math.isclose(then, now, rel_tol=SAME, abs_tol=1e-12)
    return type(then) is type(now) and bool(then == now)


def _number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _told(value: Any) -> str:
    if value is None:
        return "none"
    return f"{value:.9g}" if isinstance(value, float) else str(value)[:80]
