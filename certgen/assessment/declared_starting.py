"""Findings on what the plate declares of starting and overload: locked-rotor current, and the torques up to breakdown."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from certgen.assessment.decision import ACCEPTED, UNDECIDED, Decision, as_found, decide
from certgen.assessment.findings import limits_of, source_of
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.physics.induction import locked_rotor_torque_at
from certgen.reduction.model import HeldRotor, Reduction
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.model import Characteristic, Finding, Limits
from certgen.results.starting import CURRENT
from certgen.results.uncertainty import uncertainty_of
from certgen.standards.criteria import ABOVE, SHIPPED, CriteriaSet, DeclaredStarting

#: What follows the name of a quantity in the id of its finding.
DECLARED = "declared"
LOCKED_TORQUE, PULL_UP, BREAKDOWN = "locked_rotor_torque", "pull_up_torque", "breakdown_torque"
_UNITS = {CURRENT: "A", LOCKED_TORQUE: "N*m", PULL_UP: "N*m", BREAKDOWN: "N*m"}
#: Below this part of rated voltage the iron is less saturated than at rated voltage, and a figure scaled up from there
#: is the least that the true one can be. [1] Common practice, no source.
FAR_BELOW = 0.8
#: Voltages this near are rated voltage, and frequencies this near rated frequency. [1] Common practice, no source.
_SAME = 0.01


@dataclass(frozen=True)
class _Figure:
    """One figure of starting at rated voltage [SI], or why it is not known; ``voltage`` is what it was read at."""

    value: float = math.nan
    uncertainty: Uncertainty | None = None
    note: Message | None = None
    read_at: float = 1.0  # voltage it was read at, over rated voltage


def declared_starting_findings(
    job: Job, reduction: Reduction, criteria: CriteriaSet, characteristic: Characteristic
) -> tuple[Finding, ...]:
    """A finding for every value of starting and overload that the plate declares and the set has a row for.

    Parameters
    ----------
    job : Job
        Its plate declares them. [SI]
    reduction : Reduction
        Holds the locked-rotor readings and the ends of the torque-speed curve. [SI]
    criteria : CriteriaSet
        Its rows under ``declared_starting``.
    characteristic : Characteristic
        The same figures with their uncertainty.

    Notes
    -----
    Figures are compared at rated voltage: torques go with its square, current with the voltage itself. What was read far
    below rated voltage is a least value, as saturation makes the true one greater: it fails a current above its limit
    and passes a torque above its least, and proves nothing else.
    """
    return tuple(_findings(job, reduction, criteria, characteristic))


def _findings(
    job: Job, reduction: Reduction, criteria: CriteriaSet, characteristic: Characteristic
) -> Iterator[Finding]:
    for row in criteria.declared_starting:
        declared = getattr(job.nameplate, row.quantity)
        if declared is None or (row.types and job.motor.type not in row.types):
            continue
        limits = limits_of(row, declared)
        figure = _figure(row.quantity, job, reduction, characteristic, limits)
        yield _made(row, declared, limits, figure, job=job, criteria=criteria)


def _made(
    row: DeclaredStarting, declared: float, limits: Limits, figure: _Figure, *, job: Job, criteria: CriteriaSet
) -> Finding:
    decision, note = UNDECIDED, figure.note
    if math.isfinite(figure.value):
        decision = decide(figure.value, limits, figure.uncertainty, job.decision_rule, harmless=row.harmless)
        if figure.read_at < FAR_BELOW:
            decision = proved_by_least(decision, figure.value, limits, harmless=row.harmless)
            note = Message("starting.read_far_below", part=figure.read_at)
    shipped = criteria.name in SHIPPED
    return Finding(
        id=f"{row.quantity}_{DECLARED}",
        title=Message(f"finding.{row.quantity}") if shipped else row.title,
        **as_found(decision),
        unit=_UNITS[row.quantity],
        declared=declared,
        measured=figure.value if math.isfinite(figure.value) else None,
        required=limits,
        source=source_of(row, criteria),
        note=note or "",
        basis=row.basis,
        decides=row.decides,
    )


def proved_by_least(decision: Decision, value: float, limits: Limits, *, harmless: str = "none") -> Decision:
    """What is left of a decision on a value that the true one may exceed, and cannot fall short of.

    Parameters
    ----------
    decision : Decision
        On the value as if it were the true one.
    value : float
        The least the true value can be. [any unit]
    limits : Limits
        Lowest and highest value allowed. [as value]
    harmless : str
        Side of the limits that fails no motor.

    Returns
    -------
    Decision
        Above a highest value that fails a motor the decision stands, and above a lowest one where there is no such
        highest value; else nothing is decided.
    """
    bounded_above = limits.high is not None and not (harmless == ABOVE and limits.low is not None)
    if decision.outcome in ACCEPTED:
        return UNDECIDED if bounded_above else decision
    too_great = bounded_above and limits.high is not None and value > limits.high
    return decision if too_great else UNDECIDED


def locked_from_far_below(quantity: str, job: Job, reduction: Reduction) -> float | None:
    """Voltage a figure with the rotor locked was read at, over rated voltage [1], where that is far below it."""
    locked, rated = reduction.locked_rotor, job.nameplate.voltage
    held = None if locked is None else locked.current if quantity == CURRENT else locked.torque
    if held is None or rated is None or not held.voltage < FAR_BELOW * rated:
        return None
    return held.voltage / rated


# Each figure at rated voltage.


def _figure(quantity: str, job: Job, reduction: Reduction, characteristic: Characteristic, limits: Limits) -> _Figure:
    known = uncertainty_of(getattr(characteristic, quantity))
    if quantity in (CURRENT, LOCKED_TORQUE):
        locked = reduction.locked_rotor
        held = None if locked is None else locked.current if quantity == CURRENT else locked.torque
        return _locked(quantity, held, job, known)
    extremes = reduction.extremes
    found = None if extremes is None else extremes.breakdown if quantity == BREAKDOWN else extremes.pull_up
    if found is not None:
        return _at_rated_voltage(_Figure(found.torque, known), found.speed, job, reduction)
    if quantity == BREAKDOWN and extremes is not None:
        greatest = extremes.greatest
        tested = _Figure(greatest.torque, _of_tested(greatest.torque, reduction), Message("starting.greatest_tested"))
        enough = _at_rated_voltage(tested, greatest.speed, job, reduction)
        if limits.high is None and limits.low is not None and enough.value >= limits.low:
            return enough
    return _Figure(note=_not_measured(quantity))


def _not_measured(quantity: str) -> Message:
    return Message("finding.not_measured", quantity=Message(f"name.{quantity}"))


def _locked(quantity: str, held: HeldRotor | None, job: Job, known: Uncertainty | None) -> _Figure:
    """A figure with the rotor locked, as the results bring it to rated voltage."""
    if held is None:
        return _Figure(note=_not_measured(quantity))
    if job.nameplate.voltage is None:
        return _Figure(note=Message("finding.plate_gives_no", quantity=Message("name.voltage")))
    if not math.isfinite(held.voltage):
        return _Figure(note=Message("starting.voltage_not_read", quantity=Message(f"name.{quantity}")))
    if not math.isfinite(held.at_rated):
        return _Figure(note=Message("starting.not_scaled", quantity=Message(f"name.{quantity}"), voltage=held.voltage))
    return _Figure(held.at_rated, known, read_at=held.voltage / job.nameplate.voltage)


def _at_rated_voltage(figure: _Figure, speed: float, job: Job, reduction: Reduction) -> _Figure:
    """A torque of the running motor [N*m] at a speed [rad/s], brought to rated voltage by its square.

    Not known where the supply was of another frequency. As read where the plate gives no voltage, or none was read.
    """
    plate, points = job.nameplate, reduction.points
    speeds = np.where(np.isfinite(points.voltage), points.speed, np.nan)
    if plate.voltage is None or not np.isfinite(speeds).any():
        missing = "starting.plate_without_voltage" if plate.voltage is None else "starting.supply_not_read"
        return replace(figure, value=math.nan, note=Message(missing))
    row = int(np.nanargmin(np.abs(speeds - speed)))
    frequency, part = float(points.frequency[row]), float(points.voltage[row]) / plate.voltage
    if plate.frequency is not None and abs(frequency / plate.frequency - 1.0) > _SAME:
        return replace(figure, value=math.nan, note=Message("starting.other_frequency", frequency=frequency))
    if abs(part - 1.0) <= _SAME:
        return figure
    value = float(locked_rotor_torque_at(figure.value, 1.0 / part))
    scaled = Message("starting.scaled_with_square", part=part)
    note = scaled if figure.note is None else Message("finding.notes", notes=(figure.note, scaled))
    return _Figure(value, _scaled(figure, value, row, reduction), note, part)


def _scaled(figure: _Figure, value: float, row: int, reduction: Reduction) -> Uncertainty | None:
    """Uncertainty of a torque brought to rated voltage [N*m]: its own as the same part, and twice that of the voltage."""
    known = figure.uncertainty
    if known is None or known.standard is None or reduction.uncertainties is None:
        return None
    voltage = reduction.uncertainties.points[row].get("voltage")
    part = known.standard / figure.value
    if voltage is not None and voltage.standard is not None:
        part = math.hypot(part, 2.0 * voltage.standard / float(reduction.points.voltage[row]))
    factor = known.coverage_factor or 2.0
    return replace(known, standard=part * value, expanded=factor * part * value)


def _of_tested(torque: float, reduction: Reduction) -> Uncertainty | None:
    """Uncertainty of a torque that was tested [N*m]."""
    rows, uncertainties = np.flatnonzero(reduction.points.torque == torque), reduction.uncertainties
    return uncertainties.points[int(rows[0])].get("torque") if rows.size and uncertainties is not None else None
