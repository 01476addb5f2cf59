"""The motor as found, as it stands in the results: what was looked at and measured before the brake."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from certgen.job.pictures import Picture
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.results.safety import SafetyMeasured


@dataclass(frozen=True)
class InspectedItem:
    """One item of the inspection; ``good`` is ``None`` where nothing says so."""

    item: str
    finding: str  # the inspector's words
    good: bool | None
    safety: bool  # whether not good is a fail whatever the load test gave
    measured: Quantity | None = None
    limit: Quantity | None = None
    judgement: Message | None = None  # what the figure means
    source: Message | str = ""


@dataclass(frozen=True)
class WindingResistance:
    """One winding, or one pair of terminals, cold."""

    name: str  # u_v, v_w, w_u, main, start, armature, field
    measured: Quantity
    corrected: Quantity | None = None  # to 25 degC


@dataclass(frozen=True)
class WindingResistances:
    """The windings cold; ``unbalance`` of the three pairs is the largest deviation from their mean, over the mean."""

    windings: tuple[WindingResistance, ...]
    temperature: Quantity | None  # then
    unbalance: Quantity | None = None
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True)
class CapacitorMeasured:
    """One capacitor between its limits; ``marked`` says that these stand on its case."""

    kind: str  # run, start
    rated: Quantity | None
    least: Quantity
    most: Quantity
    measured: Quantity
    marked: bool
    source: Message | str
    loss_resistance: Quantity | None = None
    dissipation_factor: Quantity | None = None  # at the plate's frequency, else that of the supply


@dataclass(frozen=True)
class StartSwitch:
    """The speed at which the start winding is switched off, and as a part of synchronous speed."""

    opens_at: Quantity
    part: Quantity | None


@dataclass(frozen=True)
class PictureTaken:
    """A picture as it is enclosed in the certificate; its SHA-256 stands among the inputs."""

    of: str  # plate, motor
    file: str
    width: int  # [pixel]
    height: int


@dataclass(frozen=True)
class AsFound:
    """Everything found before the brake; empty where the job has none of it."""

    inspection: tuple[InspectedItem, ...] = ()
    windings: WindingResistances | None = None
    capacitors: tuple[CapacitorMeasured, ...] = ()
    start_switch: StartSwitch | None = None
    safety: SafetyMeasured | None = None
    pictures: tuple[PictureTaken, ...] = ()


def pictures_taken(pictures: Iterable[Picture]) -> tuple[PictureTaken, ...]:
    """Pictures as they stand in the results, without their bytes."""
    return tuple(PictureTaken(one.of, one.name, one.width, one.height) for one in pictures)
