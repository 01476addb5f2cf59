"""What the bench's instruments show for a true value: scatter, constant error, resolution, the brake's lever.

Scatter comes from the standard library's generator, whose sequence for a given seed is part of its contract,
so that the files repeat byte for byte on any machine.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from pathlib import Path
from statistics import NormalDist
from typing import Any

import yaml

#: Exact by definition (NIST Special Publication 811, appendix B).
UNITS = {
    "1": 1.0, "%": 0.01, "m": 1.0, "mm": 1e-3, "in": 0.0254, "ft": 0.3048, "kg": 1.0, "g": 1e-3,
    "lb": 0.45359237, "N": 1.0, "N*m": 1.0, "lbf*ft": 0.45359237 * 9.80665 * 0.3048,
}  # fmt: skip


class Scatter:
    """Repeatable scatter of readings, one stream a job."""

    def __init__(self, seed: str) -> None:
        self._stream = random.Random(seed)

    def normal(self, spread: float) -> float:
        """A deviation of the normal law with a standard deviation."""
        # No reading lies further out than three deviations: a bench would have read that one again.
        share = min(max(self._stream.random(), 1e-3), 1 - 1e-3)
        return NormalDist().inv_cdf(share) * spread

    def within(self, limit: float) -> float:
        """A deviation anywhere within a limit either side."""
        return (2 * self._stream.random() - 1) * limit


def shown(value: float, step: float) -> str:
    """A value as a display of that resolution shows it."""
    digits = len(f"{step:.6f}".rstrip("0").partition(".")[2])
    text = f"{round(value / step) * step:.{digits}f}"
    return text.removeprefix("-") if float(text) == 0 else text


@dataclass(frozen=True)
class Meter:
    """An instrument: its resolution, its own constant error and its spread as parts of the reading."""

    scatter: Scatter
    step: float
    gain: float = 0.0
    spread: float = 0.0

    def show(self, true: float) -> str:
        """What it shows for a true value."""
        return shown(true * (1 + self.gain + self.scatter.normal(self.spread)), self.step)


@dataclass(frozen=True)
class Zero:
    """What a scale shows without load before and after the test; the drift is spread evenly over the rows."""

    before: float
    after: float
    step: float
    unit: str

    def at(self, row: int, rows: int) -> float:
        """The zero when a row of so many was read."""
        return self.before + (self.after - self.before) * row / (rows - 1) if rows > 1 else self.before

    def values(self, suffix: str = "") -> dict[str, str]:
        """The two keys of the job file."""
        return {
            f"zero_before{suffix}": f"{shown(self.before, self.step)} {self.unit}",
            f"zero_after{suffix}": f"{shown(self.after, self.step)} {self.unit}",
        }


def meter(scatter: Scatter, step: float, *, limit: float, spread: float) -> Meter:
    """An instrument whose constant error lies somewhere within its maker's limit."""
    return Meter(scatter, step, gain=scatter.within(limit), spread=spread)


def quantity(text: str) -> float:
    """A quantity of a rig or job file in SI."""
    number, _, unit = str(text).partition(" ")
    return float(number) * UNITS[unit or "1"]


@dataclass(frozen=True)
class Brake:
    """The mechanical side of a rig: from torque at the tested shaft to what the scale shows."""

    lever: float  # arm, or drum radius and half a rope; m
    slope: float  # indication over load, from the calibration
    step: float  # resolution in the scale's unit
    unit: float  # SI value of the scale's unit
    reads: str
    tare: float  # N*m
    ratio: float
    efficiency: float
    gravity: float

    def load(self, shaft_torque: float) -> float:
        """True load on the scale in its unit at a torque of the tested shaft [N*m]."""
        force = (shaft_torque * self.ratio * self.efficiency - self.tare) / self.lever
        return (force / self.gravity if self.reads == "mass" else force) / self.unit

    def show(self, load: float, zero: float) -> str:
        """What the scale shows at a true load in its unit, standing at a zero."""
        return shown(zero + self.slope * load, self.step)


def brake_of(rig_file: Path, gravity: float = 9.80665) -> Brake:
    """The brake that a rig file describes."""
    rig: dict[str, Any] = yaml.safe_load(rig_file.read_text(encoding="utf-8"))
    scale = rig["scale"]
    drive = rig.get("drive", {})
    unit = str(scale["resolution"]).partition(" ")[2]
    lever = quantity(rig["arm_length"]["value"]) if "arm_length" in rig else _rope_lever(rig)
    return Brake(
        lever=lever,
        slope=_slope(scale["calibration"]),
        step=quantity(scale["resolution"]) / UNITS[unit],
        unit=UNITS[unit],
        reads=scale["reads"],
        tare=quantity(rig["tare_torque"]["value"]) if "tare_torque" in rig else 0.0,
        ratio=float(drive.get("ratio", 1.0)),
        efficiency=float(drive.get("efficiency", 1.0)),
        gravity=gravity,
    )


def _rope_lever(rig: dict[str, Any]) -> float:
    return quantity(rig["drum_radius"]["value"]) + quantity(rig["rope_diameter"]["value"]) / 2


def _slope(calibration: dict[str, Any]) -> float:
    """Slope of the straight line of least squares through the calibration points."""
    applied = [quantity(text) for text in calibration["applied"]]
    indicated = [quantity(text) for text in calibration["indicated"]]
    mean = math.fsum(applied) / len(applied)
    products = math.fsum((load - mean) * shows for load, shows in zip(applied, indicated, strict=True))
    return products / math.fsum((load - mean) ** 2 for load in applied)
