"""A job as somebody types it, small enough to spoil a cell of: plate, rows, rig, from files to results."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import yaml
from bench import FINE_INSTRUMENTS

from certgen.pipeline import assess_job
from certgen.results.model import Evidence, Finding, Results

#: A four-pole motor by hand: 10.1 N*m, 1427 rpm and 3.34 A at rated load, slip 4.5 % and 0.4 % of load and its square,
#: 120 W lost at no load and 250 W more at rated load besides the rotor's; an arm of 0.5 m on a scale in kg.
COLUMNS = {"speed": "rpm", "scale": "kg", "voltage": "V", "current": "A", "input_power": "W"}
ROWS = (
    (1493, 0.206, 400, 1.92, 281),
    (1479, 0.618, 400, 2.07, 618),
    (1465, 1.030, 400, 2.35, 976),
    (1450, 1.441, 400, 2.70, 1353),
    (1434, 1.853, 400, 3.12, 1750),
    (1418, 2.265, 400, 3.57, 2168),
)
PLATE = {
    "power": "1.5 kW", "voltage": "400 V", "current": "3.35 A", "frequency": "50 Hz", "speed": "1427 rpm", "poles": 4,
}  # fmt: skip
ARM = {
    "name": "Arm brake",
    "absorber": {"kind": "arm"},
    "arm_length": {"value": "0.5 m", "tolerance": "0.2 mm"},
    "scale": {"reads": "mass", "resolution": "0.001 kg", "tolerance": "0.002 kg"},
    "tare_torque": {"value": "0 N*m", "tolerance": "0.005 N*m"},
}
#: The winding at every load, so that slip is known at working temperature. [degC]
WARM = 75


@dataclass(frozen=True)
class TypedJob:
    """Every part of a job and its rig, as a person would type it; ``warm`` is the winding's temperature in every row."""

    plate: dict[str, Any] = field(default_factory=lambda: dict(PLATE))
    columns: dict[str, str] = field(default_factory=lambda: dict(COLUMNS))
    rows: tuple[tuple[Any, ...], ...] = ROWS
    kind: str = "three-phase induction"
    motor: dict[str, Any] = field(default_factory=dict)
    rig: dict[str, Any] = field(default_factory=lambda: dict(ARM))
    fine: bool = True
    conditions: dict[str, Any] = field(
        default_factory=lambda: {
            "ambient": "21 degC", "supply_frequency": {"value": "50 Hz", "tolerance": "0.01 Hz"},
            "local_gravity": {"value": "9.81 m/s^2", "tolerance": "0.001 m/s^2"},
        }
    )  # fmt: skip
    readings: dict[str, Any] = field(default_factory=dict)
    inspection: list[dict[str, Any]] = field(default_factory=list)
    warm: float | None = WARM
    criteria: str = "iec-60034-1"

    def having(self, **plate: Any) -> TypedJob:
        """The same with other values on the plate; ``None`` takes one off."""
        changed = {**self.plate, **plate}
        return replace(self, plate={name: value for name, value in changed.items() if value is not None})

    def spoilt(self, column: str, row: int, change: Callable[[float], Any]) -> TypedJob:
        """The same with one cell changed; rows counted from 1."""
        place = list(self.columns).index(column)
        rows = [list(cells) for cells in self.rows]
        rows[row - 1][place] = change(rows[row - 1][place])
        return replace(self, rows=tuple(map(tuple, rows)))

    def column(self, name: str, change: Callable[[float], Any]) -> TypedJob:
        """The same with every cell of a column changed."""
        changed = self
        for row in range(1, len(self.rows) + 1):
            changed = changed.spoilt(name, row, change)
        return changed

    def without(self, *names: str) -> TypedJob:
        """The same without some columns."""
        kept = [place for place, name in enumerate(self.columns) if name not in names]
        columns = {name: unit for name, unit in self.columns.items() if name not in names}
        return replace(self, columns=columns, rows=tuple(tuple(cells[place] for place in kept) for cells in self.rows))

    def judged(self, folder: Path) -> Results:
        """Job and rig written to a folder, read and judged."""
        warm = {} if self.warm is None else {"winding_temperature": "degC"}
        load_test = {
            "columns": {**self.columns, **warm},
            "rows": [[*cells, *([] if self.warm is None else [self.warm])] for cells in self.rows],
        }
        job = {
            "certificate": {"number": "T-1", "tested_on": "2026-01-01", "tested_by": "a tester"},
            "motor": {"type": self.kind, **self.motor},
            "nameplate": self.plate,
            "rig": "../rig.yaml",
            "conditions": self.conditions,
            "inspection": self.inspection,
            "readings": {"load_test": load_test, **self.readings},
            "criteria": self.criteria,
        }
        (folder / "job").mkdir(exist_ok=True)
        rig = yaml.safe_dump(self.rig) + (FINE_INSTRUMENTS if self.fine else "")
        (folder / "rig.yaml").write_text(rig, encoding="utf-8")
        path = folder / "job" / "job.yaml"
        path.write_text(yaml.safe_dump(job, sort_keys=False), encoding="utf-8")
        return assess_job(path).results


def finding(results: Results, name: str) -> Finding:
    """The finding of a name."""
    (found,) = [one for one in results.findings if one.id == name]
    return found


def evidence(results: Results, check: str) -> list[Evidence]:
    """The entries of a check."""
    return [entry for entry in results.plausibility if entry.id == check]


def scope(results: Results) -> dict[str, str]:
    """How far each subject of the scope was tested."""
    return {item.subject: item.state for item in results.verdict.scope}
