"""The inspection judged: which items are good, by the inspector's word and by published limits of what was measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from certgen.job.as_found import OF_SAFETY, Inspected
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.results.as_found import InspectedItem
from certgen.results.model import FAIL, Finding
from certgen.standards import inspection_limits as limits
from certgen.standards.criteria import WORKSHOP

#: A figure on its limit keeps it, whatever its last binary digit. [1]
_ON_LIMIT = 1.0 + 1e-9
#: What the findings on items of safety begin with.
PREFIX = "inspection_"


@dataclass(frozen=True)
class _Judged:
    """What a figure shows of an item."""

    text: Message
    good: bool | None = None
    measured: Quantity | None = None
    limit: Quantity | None = None
    source: Message | str = ""


def inspected_items(job: Job) -> tuple[InspectedItem, ...]:
    """Every item of the inspection with its judgement, in the order written.

    An item is good where inspector and figure say so, as far as either speaks; a figure beyond its limit is not good
    whatever the inspector wrote.
    """
    return tuple(_item(one, job) for one in job.inspection)


def _item(one: Inspected, job: Job) -> InspectedItem:
    judged = _by_figure(one, job)
    said = [good for good in (one.ok, None if judged is None else judged.good) if good is not None]
    found = InspectedItem(one.item, one.finding or "", all(said) if said else None, one.item in OF_SAFETY)
    if judged is None:
        return found
    return InspectedItem(
        found.item, found.finding, found.good, found.safety, judged.measured, judged.limit, judged.text, judged.source
    )


def _by_figure(one: Inspected, job: Job) -> _Judged | None:
    if one.velocity is not None:
        return _vibration(one.velocity, one.support, job)
    if one.run_out is not None:
        return _run_out(one.run_out, job)
    if one.degree is not None:
        good, allowed, source = limits.sparking_allowed(one.degree)
        return _Judged(Message("inspection.sparking", degree=one.degree, allowed=allowed), good, source=source)
    if one.length is not None:
        return _brush(one.length, one.least_length)
    if one.level is not None:
        measured = Quantity(one.level, "dB")
        if one.distance is None:
            return _Judged(Message("inspection.sound", level=one.level), measured=measured)
        return _Judged(Message("inspection.sound_at", level=one.level, distance=one.distance), measured=measured)
    return None


def _vibration(velocity: float, support: str | None, job: Job) -> _Judged:
    measured, power = Quantity(velocity, "m/s"), job.nameplate.power
    zone = None if power is None else limits.vibration_zone(velocity, power, support)
    if zone is None:
        key = "inspection.no_zone_without_power" if power is None else "inspection.no_zone"
        return _Judged(Message(key, velocity=velocity), measured=measured)
    text = Message("inspection.zone", velocity=velocity, letter=zone.letter, limit=zone.limit)
    return _Judged(text, zone.good, measured, Quantity(zone.limit, "m/s"), zone.source)


def _run_out(run_out: float, job: Job) -> _Judged:
    measured, shaft = Quantity(run_out, "m"), job.motor.shaft
    diameter = None if shaft is None else shaft.diameter
    allowed = None if diameter is None else limits.run_out_allowed(diameter)
    if allowed is None:
        key = "inspection.run_out_without_diameter" if diameter is None else "inspection.run_out_without_limit"
        return _Judged(Message(key, run_out=run_out), measured=measured)
    limit, source = allowed
    text = Message("inspection.run_out", run_out=run_out, limit=limit)
    return _Judged(text, run_out <= _ON_LIMIT * limit, measured, Quantity(limit, "m"), source)


def _brush(length: float, least: float | None) -> _Judged:
    measured = Quantity(length, "m")
    if least is None:
        return _Judged(Message("inspection.brush", length=length), measured=measured)
    text = Message("inspection.brush_least", length=length, least=least)
    source = Message("inspection.by_maker")
    return _Judged(text, _ON_LIMIT * length >= least, measured, Quantity(least, "m"), source)


def item_title(item: str) -> Message:
    """An item by its name on the page."""
    return Message(f"inspection.item.{item.replace(' ', '_')}")


def not_good(items: tuple[InspectedItem, ...], *, safety: bool) -> tuple[InspectedItem, ...]:
    """The items of safety, or the others, that are not good."""
    return tuple(one for one in items if one.good is False and one.safety is safety)


def in_words(one: InspectedItem) -> Message:
    """An item with what was found of it, as one phrase."""
    title, judged = item_title(one.item), one.judgement
    if one.finding and judged is not None:
        return Message("inspection.found_and_measured", title=title, finding=one.finding, judged=judged)
    if one.finding or judged is not None:
        return Message("inspection.found", title=title, finding=one.finding or judged)
    return title


def inspection_findings(items: tuple[InspectedItem, ...]) -> tuple[Finding, ...]:
    """A fail for each item of safety that is not good; an item looked at more than once stands once."""
    return tuple(_findings(not_good(items, safety=True)))


def _findings(failed: tuple[InspectedItem, ...]) -> Iterator[Finding]:
    for item in dict.fromkeys(one.item for one in failed):
        words = tuple(one.finding for one in failed if one.item == item and one.finding)
        note = Message("finding.notes", notes=words) if words else Message("inspection.not_good")
        name = f"{PREFIX}{item.replace(' ', '_')}"
        source = Message("source.practice_of", clause=Message("inspection.safety_rule"))
        yield Finding(name, item_title(item), FAIL, "1", note=note, source=source, basis=WORKSHOP)


def inspection_reservations(items: tuple[InspectedItem, ...]) -> tuple[Message, ...]:
    """Why a pass is at most conditional: every other item that is not good, in one sentence; nothing where all are."""
    poor = not_good(items, safety=False)
    return (Message("inspection.reservation", items=tuple(map(in_words, poor))),) if poor else ()
