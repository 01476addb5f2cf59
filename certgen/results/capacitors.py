"""Capacitors of the motor as measured, within which limits, and the speed at which the start switch opens."""

from __future__ import annotations

import math

import numpy as np

from certgen.job.as_found import Capacitor
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.physics.uncertainty import half_width_to_standard
from certgen.quantity import Quantity, measured
from certgen.reduction.uncertainty.inputs import limit_of_error
from certgen.results.as_found import CapacitorMeasured, StartSwitch
from certgen.standards.assumed_accuracy import assumed_accuracy
from certgen.standards.inspection_limits import capacitor_limits

#: Coverage factor of a limit of error taken as known: about 95 %. [1] JCGM 100:2008, 6.3.3.
_COVERAGE = 2.0


def measured_capacitors(job: Job, rig: Rig) -> tuple[CapacitorMeasured, ...]:
    """Every capacitor with its limits, its reading with its uncertainty, and its dissipation factor. [SI]"""
    frequency = job.nameplate.frequency or job.conditions.supply_frequency
    return tuple(_capacitor(one, rig, frequency) for one in job.readings.capacitors)


def _capacitor(one: Capacitor, rig: Rig, frequency: float | None) -> CapacitorMeasured:
    limits = capacitor_limits(one.kind, one.rated, one.tolerance, (one.least, one.most))
    factor = None
    if one.loss_resistance is not None and frequency is not None:
        factor = dissipation_factor(one.measured, one.loss_resistance, frequency)
    return CapacitorMeasured(
        kind=one.kind,
        rated=measured(one.rated, "farad"),
        least=Quantity(limits.least, "farad"),
        most=Quantity(limits.most, "farad"),
        measured=_with_uncertainty(one.measured, rig),
        marked=limits.marked,
        source=limits.source,
        loss_resistance=measured(one.loss_resistance, "ohm"),
        dissipation_factor=measured(factor, "1"),
    )


def dissipation_factor(capacitance: float, resistance: float, frequency: float) -> float:
    """Tangent of the loss angle of a capacitor with a resistance in series.

    Parameters
    ----------
    capacitance : float
        [F]
    resistance : float
        In series, what the meter calls equivalent series resistance. [ohm]
    frequency : float
        [Hz]

    Returns
    -------
    float
        2 pi f C R. [1]

    References
    ----------
    Any textbook of circuits: reactance 1 / (2 pi f C).
    """
    return math.tau * frequency * capacitance * resistance


def _with_uncertainty(capacitance: float, rig: Rig) -> Quantity:
    """A reading with the limit of error of its meter, or of an ordinary one where none is stated."""
    meter = None if rig.meters is None else rig.meters.capacitance
    stated = meter is not None and not (meter.reading is None and meter.range is None and meter.digits is None)
    if meter is not None and stated:
        limit = float(limit_of_error(meter, np.array([capacitance]))[0])
    else:
        limit = float(assumed_accuracy("capacitance_meter").limit(capacitance, capacitance))
    expanded = _COVERAGE * float(half_width_to_standard(limit, "rectangular"))
    return Quantity(capacitance, "farad", expanded, _COVERAGE, assumed=not stated)


def start_switch(job: Job, synchronous: Quantity | None) -> StartSwitch | None:
    """The speed at which the start switch opens [rad/s], and as a part of synchronous speed where that is known."""
    opens_at = job.readings.start_switch_opens_at
    if opens_at is None:
        return None
    part = None if synchronous is None else opens_at / synchronous.value
    return StartSwitch(Quantity(opens_at, "rad/s"), measured(part, "1"))
