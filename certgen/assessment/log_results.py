"""What results say of a log: its plateaus, and what was left out of it. Times in s, other values in SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class ColumnMean:
    """The mean of one column over a plateau, in SI; the effective number allows for correlated samples."""

    mean: float
    unit: str
    standard_deviation: float  # of the samples
    samples: int
    effective_number: float
    standard_uncertainty: float  # of the mean, by its scatter alone


@dataclass(frozen=True)
class LogPlateau:
    """One steady stretch of a log and the load point it gave; times in s."""

    from_: float
    to: float
    samples: int
    used: int
    means: Mapping[str, ColumnMean]  # by column
    pinned: bool = False  # chosen in the job
    steady: bool = True  # false only for a stretch chosen in the job


@dataclass(frozen=True)
class LogLeftOut:
    """Samples of a log left out for one reason, from the first to the last of them; times in s."""

    reason: str
    count: int
    from_: float
    to: float
    fault: bool  # false for what any log holds: changes of load, standstill


@dataclass(frozen=True)
class Log:
    """How a log became load points; times in s. ``used`` and the counts of ``left_out`` add up to ``samples``."""

    samples: int
    used: int
    seconds: float
    seconds_used: float
    hold: float
    speed_band: float
    torque_band: float
    plateaus: tuple[LogPlateau, ...]  # in the order of the load points
    left_out: tuple[LogLeftOut, ...]
    summary: tuple[str, ...]  # sentences
