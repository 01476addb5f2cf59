"""The register told in the terminal."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.errors import visible

if TYPE_CHECKING:
    from certgen.archive.register.reconcile import Reconciled
    from certgen.archive.register.search import Registered
    from certgen.archive.register.trend import Trend

_SHOWN = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "1": ("%", 100.0)}


def listed(found: Iterable[Registered]) -> Iterator[str]:
    """One certificate a line: number, day, verdict, motor, power, and what replaced it."""
    for one in found:
        motor = ", ".join(part for part in (one.maker, one.model, one.serial) if part) or one.motor_type
        power = "" if one.power is None else f"  {one.power:.4g} W"
        replaced = "" if one.replacement is None else f"  (replaced by {one.replacement})"
        yield visible(f"{one.shown_number}  {one.tested_on}  {one.verdict}  {motor}{power}{replaced}")


def reconciled_told(reconciled: Reconciled, folder: Path) -> Iterator[str]:
    """What is wrong, a line each; then the count."""
    for words, names in (
        ("damaged register", reconciled.damage),
        ("missing from the folder", reconciled.missing),
        ("changed since it was issued", reconciled.changed),
        ("not in the register", reconciled.unknown),
        ("left behind by an interrupted run, removed", reconciled.removed),
        ("number given, no certificate issued", reconciled.never_issued),
    ):
        for name in names:
            yield visible(f"{words}: {name}")
    good = "register and folder agree" if reconciled.good else "register and folder do not agree"
    yield f"{folder}: {reconciled.certificates} certificates; {good}"


def trend_told(followed: Trend) -> Iterator[str]:
    """Each test with its value, the limits, and the rules broken."""
    unit, factor = _SHOWN.get(followed.unit, (followed.unit, 1.0))
    yield f"{followed.quantity} of motor {followed.motor}, {unit}"
    broken: dict[int, list[str]] = {}
    for signal in followed.signals:
        broken.setdefault(signal.at, []).append(signal.rule)
    for index, (test, value) in enumerate(zip(followed.tests, followed.values, strict=True)):
        told = f"  <- {'; '.join(broken[index])}" if index in broken else ""
        yield visible(f"{test.tested_on}  {test.shown_number}  {value * factor:.5g}{told}")
    limits = followed.limits
    if limits is None:
        yield f"{len(followed.values)} tests give no limits; five are needed."
    else:
        low, centre, high = (value * factor for value in (limits.lower, limits.centre, limits.upper))
        yield f"limits {low:.5g} to {high:.5g}, centre {centre:.5g}"
        yield "The rig drifts, or the motor does: see the marked tests." if broken else "No sign of drift."
    for number in followed.without_value:
        yield f"not measured on {number}"
