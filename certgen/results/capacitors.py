"""Capacitors of the motor as measured, within which limits, and the speed at which the start switch opens."""

from __future__ import annotations

import math

from certgen.job.as_found import Capacitor
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.quantity import Quantity, measured
from certgen.results.as_found import CapacitorMeasured, StartSwitch
from certgen.results.uncertainty import by_meter
from certgen.standards.inspection_limits import capacitor_limits


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
        measured=by_meter(
            one.measured, "farad", None if rig.meters is None else rig.meters.capacitance, "capacitance_meter"
        ),
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


def start_switch(job: Job, synchronous: Quantity | None) -> StartSwitch | None:
    """The speed at which the start switch opens [rad/s], and as a part of synchronous speed where that is known."""
    opens_at = job.readings.start_switch_opens_at
    if opens_at is None:
        return None
    part = None if synchronous is None else opens_at / synchronous.value
    return StartSwitch(Quantity(opens_at, "rad/s"), measured(part, "1"))
