"""What the generator makes for one example job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from simulated_bench.job_file import Row, with_rows, with_value

EXAMPLES = Path(__file__).parents[1]
RIGS = EXAMPLES / "rigs"
RPM = 9.549296585513721  # rev/min in one rad/s: 60 / (2 pi)


@dataclass(frozen=True)
class Truth:
    """What really went on at one load point, at the judged shaft: W, N*m, rad/s."""

    speed: float
    torque: float
    input_power: float
    power_factor: float
    synchronous_speed: float | None = None

    @property
    def shaft_power(self) -> float:
        """Power at the judged shaft [W]."""
        return self.speed * self.torque


@dataclass(frozen=True)
class SimulatedJob:
    """Generated readings of one job, the truth behind its load test, and the motor's rated point as made."""

    name: str
    tables: Mapping[str, Sequence[Row]]
    truth: Sequence[Truth]
    rated: Mapping[str, float]  # SI; speed in rev/min
    values: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)

    def contents(self) -> dict[Path, str]:
        """Every file of the job that holds generated readings, as it should stand."""
        folder = EXAMPLES / self.name
        job_file = folder / "job.yaml"
        text = job_file.read_text(encoding="utf-8")
        for table, rows in self.tables.items():
            text = with_rows(text, table, rows)
        for key, value in self.values.items():
            text = with_value(text, key, value)
        return {job_file: text} | {folder / name: made for name, made in self.files.items()}
