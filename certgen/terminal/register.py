"""The register in the terminal."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.errors import visible
from certgen.messages.catalogue import Message

if TYPE_CHECKING:
    from certgen.archive.register.certificates import Stuck
    from certgen.archive.register.entry import Registered
    from certgen.archive.register.reconcile import Reconciled
    from certgen.archive.register.trend import Trend

_SHOWN = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "1": ("%", 100.0)}


#: What is told of an archive, in this order.
_KINDS = (
    "damage", "missing", "changed", "unknown", "stuck", "differs", "incomplete", "mended", "removed", "never_issued",
)  # fmt: skip


def stuck_lines(stuck: Iterable[Stuck]) -> Iterator[str]:
    """Certificates whose entering was interrupted and cannot be finished, a line each."""
    for one in stuck:
        name = Message("register.stuck.entry", number=one.shown_number, why=one.why)
        yield visible(str(Message("terminal.register.not_finished", name=name)))


def certificate_lines(certificates: Iterable[Registered]) -> Iterator[str]:
    """One certificate a line: number, day, verdict, motor, power, and what replaced it."""
    for entry in certificates:
        motor = ", ".join(part for part in (entry.maker, entry.model, entry.serial) if part) or entry.motor_type
        parts = [entry.shown_number, entry.tested_on, _verdict(entry), motor]
        if entry.power is not None:
            parts.append(f"{entry.power:.4g} W")
        if entry.scope:
            parts.append(str(Message("terminal.register.scope", scope=entry.scope)))
        if entry.replacement is not None:
            parts.append(str(Message("terminal.register.replaced", number=entry.replacement)))
        yield visible("  ".join(parts))


def _verdict(entry: Registered) -> str:
    """The word of the verdict, with what the certificate prints large where that says more."""
    if not entry.headline or entry.headline.lower() == entry.verdict:
        return entry.verdict
    return str(Message("terminal.register.verdict", outcome=entry.verdict, headline=entry.headline))


def reconciled_lines(reconciled: Reconciled, folder: Path) -> Iterator[str]:
    """What is wrong, a line each; then the count."""
    for kind in _KINDS:
        for name in getattr(reconciled, kind):
            yield visible(str(Message(f"terminal.register.{kind}", name=name)))
    key = "terminal.register.agrees" if reconciled.good else "terminal.register.does_not_agree"
    yield str(Message(key, folder=str(folder), count=reconciled.certificates))


def trend_lines(followed: Trend) -> Iterator[str]:
    """Each test with its value, the limits, and the rules broken."""
    unit, factor = _SHOWN.get(followed.unit, (followed.unit, 1.0))
    yield str(
        Message("terminal.trend.of", quantity=followed.quantity, motor=followed.motor, load=followed.load, unit=unit)
    )
    broken = followed.broken()
    for index, (test, value) in enumerate(zip(followed.tests, followed.values, strict=True)):
        rules = f"  <- {'; '.join(map(str, broken[index]))}" if index in broken else ""
        yield visible(f"{test.tested_on}  {test.shown_number}  {value * factor:.5g}{rules}")
    limits = followed.limits
    if limits is None:
        yield str(Message("terminal.trend.too_few", count=len(followed.values)))
    else:
        low, centre, high = (value * factor for value in (limits.lower, limits.centre, limits.upper))
        yield str(Message("terminal.trend.limits", low=low, high=high, centre=centre))
        yield str(Message("terminal.trend.drifts" if broken else "trend.steady"))
    for number, why in followed.without_value:
        yield visible(str(Message("terminal.trend.without", number=number, why=why)))
