"""How a continuous log becomes load points: its steady stretches, or a sweep through the curve."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.document.vocabulary import Each, Measure, Whole, key

_MOST_PINNED = 200


def _band(example: str) -> Measure:
    return Measure("ratio", above=0.0, high=1.0, example=example)


@dataclass(frozen=True)
class Steady:
    """How steady stretches are found in a log."""

    hold: float | None = key(
        Measure("time", above=0.0, example="5 s"),
        "How long speed and torque must hold; left out: 5 s, or 10 samples where that is longer.",
    )
    speed_band: float | None = key(
        _band("0.5 %"), "Part of its mean by which speed may be off either way; left out: 0.5 %."
    )
    torque_band: float | None = key(
        _band("2 %"),
        "The same for the load on scale or sensor, of at least a fifth of the greatest load; left out: 2 %.",
    )
    at: tuple[tuple[float, float], ...] | None = key(
        Each(Each(Measure("time", low=0.0, example="12 s"), 2), _MOST_PINNED),
        "Stretches taken as they are, each [from, to]; none are searched for then.",
    )


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
EVALUATED_LOGS = frozenset({("readings.load_test", "steady"), ("readings.load_test", "sweep")})
