"""How a continuous log becomes load points: its steady stretches, or a sweep through the curve."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.document.vocabulary import Measure, key


@dataclass(frozen=True)
class Steady:
    """How steady stretches are found in a log."""

    hold: float | None = key(Measure("time", above=0.0, example="5 s"), "How long speed and torque must hold.")
    speed_band: float | None = key(Measure("ratio", above=0.0, high=1.0, example="0.5 %"), "Band of the speed.")
    torque_band: float | None = key(Measure("ratio", above=0.0, high=1.0, example="1 %"), "Band of the torque.")


@dataclass(frozen=True)
class Sweep:
    """A run through the torque-speed curve while the load changes slowly."""


#: Keys beside the columns that say how a log is read; at most one of them stands in a table.
LOG_KINDS = {"steady": Steady, "sweep": Sweep}
