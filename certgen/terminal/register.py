"""The register in the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.archive.register.kept_words import headline_kept, scope_kept
from certgen.messages.catalogue import Message, text_of
from certgen.messages.format import SI, as_units, quantity
from certgen.quantity import Quantity
from certgen.terminal.lines import on_one_line, verdict_words

if TYPE_CHECKING:
    from certgen.archive.register.certificates import Stuck
    from certgen.archive.register.entry import Registered
    from certgen.archive.register.reconcile import Reconciled
    from certgen.archive.register.trend import Trend
    from certgen.sheet.list_content import TrendContent

#: What is reported of an archive, in this order.
_KINDS = (
    "damage", "missing", "changed", "unknown", "stuck", "differs", "incomplete", "mended", "removed", "never_issued",
)  # fmt: skip


def stuck_lines(stuck: Iterable[Stuck], units: str = SI) -> Iterator[str]:
    """Certificates whose entering was interrupted and cannot be finished, a line each."""
    for one in stuck:
        name = Message("register.stuck.entry", number=one.shown_number, why=one.why)
        yield _line(Message("terminal.register.not_finished", name=name), units)


def _line(message: Message, units: str) -> str:
    """A message on one line, in the reader's units and language."""
    return on_one_line(text_of(message, units=units))


def certificate_lines(certificates: Iterable[Registered], units: str = SI) -> Iterator[str]:
    """One certificate a line: number, day, verdict, motor, power, and what replaced it."""
    for entry in certificates:
        motor = ", ".join(part for part in (entry.maker, entry.model, entry.serial) if part) or text_of(
            entry.motor_type, units=units
        )
        parts = [entry.shown_number, as_units(units).dated(entry.tested_on), _verdict(entry, units), motor]
        if entry.power is not None:
            parts.append(quantity(Quantity(entry.power, "W"), units))
        if entry.scope:
            parts.append(text_of(Message("terminal.register.scope", scope=scope_kept(entry.scope)), units=units))
        if entry.replacement is not None:
            parts.append(text_of(Message("terminal.register.replaced", number=entry.replacement), units=units))
        yield on_one_line("  ".join(parts))


def _verdict(entry: Registered, units: str) -> str:
    """The word of the verdict, with what the certificate prints large where that says more."""
    outcome = verdict_words(entry.verdict, units)
    if not entry.headline or entry.headline.lower() == entry.verdict:
        return outcome
    headline = headline_kept(entry.headline)
    return text_of(Message("terminal.register.verdict", outcome=outcome, headline=headline), units=units)


def reconciled_lines(reconciled: Reconciled, folder: Path, units: str = SI) -> Iterator[str]:
    """What is wrong, a line each; then the count."""
    for kind in _KINDS:
        for name in getattr(reconciled, kind):
            yield _line(Message(f"terminal.register.{kind}", name=name), units)
    key = "terminal.register.agrees" if reconciled.good else "terminal.register.does_not_agree"
    yield text_of(Message(key, folder=str(folder), count=reconciled.certificates), units=units)


def trend_lines(followed: Trend, content: TrendContent) -> Iterator[str]:
    """Each test with its value, the limits, and the rules broken, with the figures and in the words of its page."""
    units, say = content.figures, content.says
    title = {"quantity": content.name, "motor": followed.motor, "load": followed.load}
    yield say(Message("terminal.trend.of", **title))
    broken = followed.broken()
    for index, (test, value) in enumerate(zip(followed.tests, followed.values, strict=True)):
        rules = f"  <- {'; '.join(map(say, broken[index]))}" if index in broken else ""
        yield on_one_line(f"{units.dated(test.tested_on)}  {test.shown_number}  {content.figure(value)}{rules}")
    limits = followed.limits
    if limits is None:
        yield say(Message("terminal.trend.too_few", count=len(followed.values)))
    else:
        low, centre, high = (content.figure(value) for value in (limits.lower, limits.centre, limits.upper))
        yield say(Message("terminal.trend.limits", low=low, high=high, centre=centre))
        yield say(Message("terminal.trend.drifts" if broken else "trend.steady"))
    for number, why in followed.without_value:
        yield _line(Message("terminal.trend.without", number=number, why=why), units)
