"""Readings, rigs and jobs in SI, built without files."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np

from certgen.document.build import Dimensioned, FileReference, Toleranced
from certgen.job.model import Certificate, Conditions, Job, Motor, Nameplate, ReadingsSource
from certgen.job.rig import Absorber, Calibration, Rig, Scale
from certgen.readings.model import Readings, Table, Zero
from certgen.reduction.model import Reduction
from certgen.results.compute import Figures, compute_figures
from certgen.standards.criteria import shipped_criteria


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
