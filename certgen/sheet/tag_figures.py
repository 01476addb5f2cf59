"""The figures of a tag: those that lead the certificate, and the supply they were taken at."""

from __future__ import annotations

from dataclasses import replace

from certgen.assessment.results import IMPOSSIBLE, Point
from certgen.quantity import Quantity
from certgen.sheet.content import Content, headline_point


def tag_point(content: Content) -> Point:
    """The headline point with voltage and frequency: its own, those of the test, or the plate's."""
    named = headline_point(content.results, content.words)
    point = named.point if named else Point()
    return replace(point, voltage=_voltage(content, point), frequency=_frequency(content, point))


def _voltage(content: Content, point: Point) -> Quantity | None:
    usable = [one for one in content.results.points if IMPOSSIBLE not in one.flags and one.voltage is not None]
    loaded = max(usable, key=lambda one: one.torque.value if one.torque else 0.0, default=Point())
    plate = content.results.nameplate.voltage
    return point.voltage or loaded.voltage or (None if plate is None else Quantity(plate, "V"))


def _frequency(content: Content, point: Point) -> Quantity | None:
    plate = content.results.nameplate.frequency
    known = point.frequency or content.results.conditions.supply_frequency
    return known or (None if plate is None else Quantity(plate, "Hz"))
