"""Readings, rigs and jobs in SI, built without files."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np

from certgen.assessment.findings import judge
from certgen.assessment.verdict import verdict_of
from certgen.document.build import Dimensioned, FileReference, Toleranced
from certgen.job.model import Certificate, Conditions, Job, Motor, Nameplate, ReadingsSource
from certgen.job.rig import (
    Absorber,
    Ammeter,
    Calibration,
    Meters,
    PowerFactorMeter,
    Rig,
    Scale,
    Tachometer,
    Thermometer,
    TorqueMeter,
    Voltmeter,
    Wattmeter,
)
from certgen.readings.model import Readings, Table, Zero
from certgen.reduction.model import Reduction
from certgen.results.compute import Figures, compute_figures
from certgen.results.model import Finding, Verdict
from certgen.standards.criteria import CriteriaSet, shipped_criteria

_RPM = np.pi / 30.0
#: Instruments of a rig whose readings are taken as good: 0.05 % each, 0.1 rpm and 0.1 K.
FINE_INSTRUMENTS: dict[str, Any] = {
    "meters": Meters(
        voltage=Voltmeter(reading=5e-4),
        current=Ammeter(reading=5e-4),
        input_power=Wattmeter(reading=5e-4),
        power_factor=PowerFactorMeter(reading=5e-4),
        winding_temperature=Thermometer(digits=1, resolution=0.1),
        torque=TorqueMeter(reading=5e-4),
    ),
    "tachometer": Tachometer(tolerance=0.1 * _RPM),
}


def make_table(**columns: Any) -> Table:
    """A table of SI columns."""
    arrays = {name: np.asarray(values, dtype=float) for name, values in columns.items()}
    count = len(next(iter(arrays.values())))
    return Table(arrays, ("",) * count)


def make_readings(zero: Zero | None = None, zero_2: Zero | None = None, **columns: Any) -> Readings:
    """Readings of one load test."""
    return Readings(make_table(**columns), zero or Zero(), zero_2 or Zero())


def make_job(kind: str = "three-phase induction", conditions: Conditions | None = None, **plate: Any) -> Job:
    """A job with a plate in SI."""
    return Job(
        certificate=Certificate(date(2026, 1, 1), "a tester", "T-1"),
        motor=Motor(kind),
        nameplate=Nameplate(**plate),
        rig=FileReference("rig.yaml", (1, 1)),
        conditions=conditions or Conditions(),
        readings=ReadingsSource(),
    )


def make_rig(kind: str = "torque sensor", **keys: Any) -> Rig:
    """A rig in SI; an arm is 0.5 m on a scale of mass unless said otherwise."""
    if kind == "arm":
        keys = {"arm_length": Toleranced(0.5), "scale": Scale("mass"), **keys}
    if kind == "rope":
        keys = {"drum_radius": Toleranced(0.1), "scale": Scale("mass"), **keys}
    return Rig(name="a rig", absorber=Absorber(kind), **keys)


def fine_rig(kind: str = "torque sensor", **keys: Any) -> Rig:
    """A rig in SI that states good instruments, so that hardly any outcome lies within its uncertainty."""
    return make_rig(kind, **{**FINE_INSTRUMENTS, **keys})


def known_supply(frequency: float = 50.0, tolerance: float = 0.01) -> Conditions:
    """Conditions of a supply whose frequency is known within a tolerance. [Hz]"""
    return Conditions(supply_frequency=Toleranced(frequency, tolerance))  # type: ignore[arg-type]


def make_calibration(applied: list[float], indicated: list[float]) -> Calibration:
    """A calibration of a mass scale. [kg]"""
    return Calibration(
        tuple(Dimensioned(one, "mass") for one in applied),
        tuple(Dimensioned(one, "mass") for one in indicated),
    )


def figures_of(job: Job, rig: Rig, reduction: Reduction, criteria: str = "iec-60034-1") -> Figures:
    """The figures of a reduced load test without further tables, for what is judged by them."""
    readings = make_readings(speed=reduction.points.speed, torque=reduction.points.torque)
    return compute_figures(job, rig, readings, reduction, shipped_criteria(criteria))


def findings_of(job: Job, reduction: Reduction, criteria: CriteriaSet, rig: Rig | None = None) -> tuple[Finding, ...]:
    """The findings of a reduced load test without further tables."""
    return judge(job, reduction, figures_of(job, rig or make_rig(), reduction, criteria.name), criteria)


def verdict_on(job: Job, reduction: Reduction, findings: tuple[Finding, ...], rig: Rig | None = None) -> Verdict:
    """The verdict on some findings of a reduced load test without further tables."""
    return verdict_of(job, reduction, figures_of(job, rig or make_rig(), reduction), findings)
