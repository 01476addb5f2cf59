"""A brake test as somebody typed it: job and rig as texts, the cells of its load test one by one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from simulated_tests.motor import RPM, Array
from simulated_tests.plate import Plate, Truth

JOB, RIG = "job.yaml", "rig.yaml"


@dataclass(frozen=True)
class TypedTest:
    """One test and what is true of it.

    ``spread`` has for each cell the standard deviation between rows that one must reckon with, in the unit of its column;
    ``loads`` the true torque of each row [N*m]; ``slips`` that row's true slip in revolutions a minute, or NaN.
    """

    motor: str  # kind as a job names it
    name: str  # what motor it is, more closely
    quality: str
    plate: Plate
    truth: Truth
    conditions: tuple[str, ...]
    zeros: tuple[str, ...]
    columns: tuple[tuple[str, str], ...]  # name and unit
    rows: tuple[tuple[str, ...], ...]
    spread: Array
    loads: Array
    slips: Array
    past_breakdown: bool
    voltage_off: float  # supply's voltage over the plate's, less 1
    rig: str
    more: str = ""  # further readings
    excitation: str = ""
    criteria: str = "iec-60034-1"

    def cell(self, row: int, column: int) -> float:
        """The number typed in a cell."""
        return float(self.rows[row][column])

    def column(self, name: str) -> int | None:
        """Where a column stands."""
        return next((index for index, (one, _) in enumerate(self.columns) if one == name), None)

    def with_cells(self, cells: dict[tuple[int, int], str]) -> TypedTest:
        """The test with other texts in some cells."""
        rows = [list(row) for row in self.rows]
        for (row, column), text in cells.items():
            rows[row][column] = text
        return replace(self, rows=tuple(tuple(row) for row in rows))

    def with_column(self, column: int, factor: float) -> TypedTest:
        """The test with a column in another unit than it says."""
        return self.with_cells(
            {(row, column): f"{self.cell(row, column) * factor:.5g}" for row in range(len(self.rows))}
        )

    def inner(self, row: int) -> bool:
        """Whether a row is neither the lightest nor the heaviest."""
        return bool(self.loads.min() < self.loads[row] < self.loads.max())

    def job_text(self) -> str:
        """The job file."""
        conditions = f"conditions: {{{', '.join(self.conditions)}}}\n" if self.conditions else ""
        columns = ", ".join(f"{name}: '{unit}'" for name, unit in self.columns)
        rows = "".join(f"      - [{', '.join(row)}]\n" for row in self.rows)
        excitation = f"  excitation: {self.excitation}\n" if self.excitation else ""
        zeros = "".join(f"  {line}\n" for line in self.zeros)
        return (
            "certificate: {number: SIM-1, tested_on: 2026-03-14, tested_by: R. Tanner}\n"
            f"motor:\n  type: {self.motor}\n{excitation}nameplate: {{{plate_text(self.plate)}}}\n"
            f"rig: {RIG}\n{conditions}readings:\n{zeros}  load_test:\n    columns: {{{columns}}}\n    rows:\n{rows}"
            f"{self.more}criteria: {self.criteria}\n"
        )

    def write(self, folder: Path) -> Path:
        """Write job and rig; the path of the job."""
        (folder / RIG).write_text(self.rig, encoding="utf-8")
        path = folder / JOB
        path.write_text(self.job_text(), encoding="utf-8")
        return path


def plate_text(plate: Plate) -> str:
    """The plate's keys, as they stand in a job."""
    in_horsepower = plate.power is not None and plate.in_horsepower
    said = {
        "power": _said(plate.power, 745.69987 if in_horsepower else 1.0, "hp" if in_horsepower else "W", ".7g"),
        "voltage": _said(plate.voltage, 1.0, "V", "g"),
        "current": _said(plate.current, 1.0, "A", "g"),
        "frequency": _said(plate.frequency, 1.0, "Hz", "g"),
        "speed": _said(plate.speed, RPM, "rpm", ".0f"),
        "poles": plate.poles,
        "power_factor": plate.power_factor,
        "efficiency": _said(plate.efficiency, 0.01, "%", ".4g"),
        "service_factor": plate.service_factor,
        "service_factor_current": _said(plate.service_factor_current, 1.0, "A", "g"),
        "insulation_class": plate.insulation_class,
    }
    return ", ".join(f"{key}: {value}" for key, value in said.items() if value is not None)


def _said(value: float | None, unit: float, name: str, form: str) -> str | None:
    if value is None:
        return None
    return f"{format(value / unit, form)} {name}" if np.isfinite(value) else None
