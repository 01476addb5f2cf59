"""How a continuous log becomes load points: its steady stretches, or a sweep through the curve."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.document.vocabulary import Measure, Whole, key


@dataclass(frozen=True)
class Steady:
    """How steady stretches are found in a log."""

    hold: float | None = key(Measure("time", above=0.0, example="5 s"), "How long speed and torque must hold.")
    speed_band: float | None = key(Measure("ratio", above=0.0, high=1.0, example="0.5 %"), "Band of the speed.")
    torque_band: float | None = key(Measure("ratio", above=0.0, high=1.0, example="1 %"), "Band of the torque.")


@dataclass(frozen=True)
class Sweep:
    """A run through the torque-speed curve while the load changes slowly."""

    bandwidth: float = key(
        Measure("frequency", above=0.0, high=100.0, example="2 Hz", bounds="more than zero and at most 100 Hz"),
        "Of the low-pass (-3 dB) that torque, speed and its rate of change go through.",
        default=2.0,
    )
    points: int = key(Whole(5, 60), "Load points made of the sweep, spaced evenly along its curve.", default=20)


#: Keys beside the columns that say how a log is read; at most one of them stands in a table.
LOG_KINDS = {"steady": Steady, "sweep": Sweep}
#: The tables and kinds whose logs are read; elsewhere such a key is recorded only.
EVALUATED_LOGS = frozenset({("readings.load_test", "sweep")})
