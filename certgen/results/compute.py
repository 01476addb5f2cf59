"""Every figure of one test, computed before anything is judged."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from certgen.errors import RefusedTest
from certgen.job.model import DC, Job
from certgen.job.rig import TORQUE_SENSOR, Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.mechanics import STANDARD_GRAVITY
from certgen.quantity import Quantity, measured
from certgen.readings.model import Readings
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.assumed_inputs import assumed_in_words
from certgen.reduction.uncertainty.errors import Errors, gravity
from certgen.reduction.uncertainty.linear import Correlated
from certgen.reduction.uncertainty.winding_errors import room
from certgen.results.as_found import CapacitorMeasured, StartSwitch, WindingResistances
from certgen.results.capacitors import measured_capacitors, start_switch
from certgen.results.changing_speed import run_down_result, sweep_of
from certgen.results.characteristic import characteristic_of, mean_frequency, with_uncertainties
from certgen.results.comparisons import sweeps_compared
from certgen.results.heat import HeatFigures, heat_figures
from certgen.results.instruments import InstrumentUsed, instruments_used
from certgen.results.insulation import InsulationFigures, insulation_figures
from certgen.results.log import log_of
from certgen.results.losses import losses_of
from certgen.results.model import (
    AssessedRating,
    BudgetLine,
    Characteristic,
    Comparison,
    Curves,
    Log,
    Losses,
    Point,
    RunDown,
    Sweep,
)
from certgen.results.points import (
    IMPOSSIBLE_CAUSES,
    budget_of,
    curves_of,
    meter_difference,
    operating_points,
    tested_points,
)
from certgen.results.rating import Evidence, assessed_rating
from certgen.results.rig_use import RigUse, rig_use
from certgen.results.safety import SafetyMeasured, safety_measured
from certgen.results.uncertainty import errors_of, with_errors
from certgen.results.windings import winding_resistances
from certgen.standards.criteria import CriteriaSet, companions_of


@dataclass(frozen=True)
class Surroundings:
    """Air, supply and gravity of the test, each ``None`` where it is not known or plays no part."""

    ambient: Quantity | None
    supply_frequency: Quantity | None  # the mean over the load points
    local_gravity: Quantity | None  # only where a mass scale was used


@dataclass(frozen=True, eq=False)
class Figures:
    """Everything one test says in numbers; nothing of it is judged."""

    readings: Readings  # those the load points were made of: the means of its plateaus where the test was a log
    points: tuple[Point, ...]
    operating: Mapping[str, Point | None]  # read off the load curve, by their names in the results tree
    curves: Curves
    characteristic: Characteristic
    heat: HeatFigures
    insulation: InsulationFigures | None
    windings: WindingResistances | None
    capacitors: tuple[CapacitorMeasured, ...]
    start_switch: StartSwitch | None
    safety: SafetyMeasured | None
    losses: Losses | None
    rating: AssessedRating | None  # what the figures allow, whether or not motor and readings are fit for a rating
    surroundings: Surroundings
    rig_use: RigUse
    instruments: tuple[InstrumentUsed, ...]
    meter_difference: Array  # of the power-factor meter from watts over volt-amperes, as part of them, shape (n,)
    comparisons: tuple[Comparison, ...]
    sweep: Sweep | None
    run_down: RunDown | None
    budget: tuple[BudgetLine, ...]
    log: Log | None
    assumed: Message | None  # accuracies taken as ordinary where none was stated


def compute_figures(job: Job, rig: Rig, readings: Readings, reduction: Reduction, criteria: CriteriaSet) -> Figures:
    """Every figure of a reduced test.

    Parameters
    ----------
    job, rig, readings
        The test as read. [SI]
    reduction : Reduction
        Made of them. [SI]
    criteria : CriteriaSet
        Its name chooses the ladder of ratings, the tables beside it the rises of temperature and the loss procedure; its
        limits are not looked at.

    Raises
    ------
    RefusedTest
        Every load point gives more shaft power than it takes in: the readings as a whole cannot be true.
    """
    _refuse_impossible(reduction)
    if reduction.log is not None:
        readings = reduction.log.readings
    beside = companions_of(criteria)
    heat = heat_figures(job, readings, reduction, beside)
    losses = losses_of(job, readings, reduction, heat.thermal, beside.procedure)
    characteristic = with_uncertainties(characteristic_of(job, reduction, losses), job, reduction)
    evidence = Evidence(job, rig, readings, reduction, characteristic, heat.thermal, criteria.name, beside.temperature)
    return Figures(
        readings=readings,
        points=tested_points(reduction, rig),
        operating=operating_points(reduction),
        curves=curves_of(reduction),
        characteristic=characteristic,
        heat=heat,
        insulation=insulation_figures(job, reduction),
        windings=winding_resistances(job, reduction),
        capacitors=measured_capacitors(job, rig),
        start_switch=start_switch(job, characteristic.synchronous_speed),
        safety=safety_measured(job.readings.safety, rig),
        losses=losses,
        rating=assessed_rating(evidence),
        surroundings=_surroundings(job, rig, reduction),
        instruments=instruments_used(rig, job.certificate.tested_on),
        rig_use=rig_use(rig, reduction, readings.brake_envelope),
        meter_difference=meter_difference(reduction),
        comparisons=sweeps_compared(reduction),
        sweep=sweep_of(reduction),
        run_down=run_down_result(reduction, losses),
        budget=budget_of(reduction),
        log=log_of(reduction, rig),
        assumed=None if reduction.uncertainties is None else assumed_in_words(reduction.uncertainties.assumed),
    )


def _refuse_impossible(reduction: Reduction) -> None:
    points = reduction.points
    if points.count and bool(points.impossible.all()):
        greatest = float(np.nanmax(points.efficiency))
        raise RefusedTest(
            f"every load point gives more shaft power than it takes in (efficiency up to {greatest:.0%}), "
            f"which no motor can; {IMPOSSIBLE_CAUSES}; correct the readings or the rig file, nothing was issued."
        )


def _surroundings(job: Job, rig: Rig, reduction: Reduction) -> Surroundings:
    weighs = rig.scale is not None and rig.scale.reads == "mass" and rig.absorber.kind != TORQUE_SENSOR
    stated, frequency = job.conditions.local_gravity, reduction.points.frequency
    known = frequency[np.isfinite(frequency)]
    hertz = float(known.mean()) if known.size and job.motor.type != DC else None
    acceleration = STANDARD_GRAVITY if stated is None else stated
    return Surroundings(
        ambient=_with_uncertainty(job.conditions.ambient, "K", reduction, room),
        supply_frequency=_with_uncertainty(hertz, "Hz", reduction, mean_frequency),
        local_gravity=_with_uncertainty(acceleration, "m/s^2", reduction, gravity) if weighs else None,
    )


def _with_uncertainty(
    value: float | None, unit: str, reduction: Reduction, of: Callable[[Errors], Correlated]
) -> Quantity | None:
    """A condition of the test with its uncertainty, where that is stated."""
    errors = errors_of(reduction)
    return with_errors(measured(value, unit), None if errors is None else of(errors), errors)
