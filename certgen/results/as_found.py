"""The motor as found, as it stands in the results: what was looked at and measured before the brake."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.messages.catalogue import Message
from certgen.quantity import Quantity


@dataclass(frozen=True)
class InspectedItem:
    """One item of the inspection; ``good`` is ``None`` where nothing tells it."""

    item: str
    finding: str  # the inspector's words
    good: bool | None
    safety: bool  # whether not good is a fail whatever the load test gave
    measured: Quantity | None = None
    limit: Quantity | None = None
    judgement: Message | None = None  # what the figure means
    source: Message | str = ""


@dataclass(frozen=True)
class AsFound:
    """Everything found before the brake; empty where the job has none of it."""

    inspection: tuple[InspectedItem, ...] = ()
