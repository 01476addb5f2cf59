"""The list of everything that is not sure about the readings of one test."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.document.build import Toleranced
from certgen.job.model import Job
from certgen.readings.model import COOLING
from certgen.reduction.uncertainty.lever_inputs import lever_inputs
from certgen.reduction.uncertainty.mean_inputs import mean_inputs
from certgen.reduction.uncertainty.meter_inputs import meter_inputs
from certgen.reduction.uncertainty.model import Measured, UncertainInput
from certgen.reduction.uncertainty.scale_inputs import scale_inputs
from certgen.reduction.uncertainty.single_readings import every_table
from certgen.reduction.uncertainty.speed_inputs import frequency_inputs, speed_inputs
from certgen.reduction.uncertainty.sweep_inputs import sweep_inputs


def uncertain_inputs(job: Job, measured: Measured) -> tuple[UncertainInput, ...]:
    """Every source of doubt about the readings of a test, each with its standard uncertainty.

    Parameters
    ----------
    job : Job
        Kind of motor, plate and conditions. [SI]
    measured : Measured
        Rig, readings and gravity. [SI]

    Returns
    -------
    tuple of UncertainInput
        One for each source, names all different. What the files say nothing of stands with ``nan`` and what to state.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2 and 4.3: type A and type B evaluation.
    """
    return tuple(_inputs(job, measured))


def _inputs(job: Job, measured: Measured) -> Iterator[UncertainInput]:
    yield from lever_inputs(measured, _gravity(job))
    yield from scale_inputs(measured)
    yield from speed_inputs(measured)
    tables = every_table(job, measured.readings)
    yield from meter_inputs(measured.rig, tables.values(), tables.get(COOLING))
    yield from frequency_inputs(job, measured)
    yield from sweep_inputs(measured)
    yield from mean_inputs(measured)


def _gravity(job: Job) -> Toleranced | None:
    stated = job.conditions.local_gravity
    return None if stated is None else job.conditions.spreads.get("local_gravity", Toleranced(stated))
