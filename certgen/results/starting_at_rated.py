"""Figures of starting and overload at rated voltage, each with its uncertainty, or why it is not known."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.reduction.model import HeldRotor, Reduction, TorqueAtSpeed
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.model import Characteristic
from certgen.results.starting import CURRENT, breakdown_of, starting_figures, voltage_part
from certgen.results.uncertainty import uncertainty_of

LOCKED_TORQUE, PULL_UP, BREAKDOWN = "locked_rotor_torque", "pull_up_torque", "breakdown_torque"
#: Below this part of rated voltage the iron is less saturated than at rated voltage, and a figure scaled up from there
#: is the least that the true one can be. [1] Common practice, no source.
FAR_BELOW = 0.8


@dataclass(frozen=True)
class StartingFigure:
    """One figure of starting at rated voltage [SI], or why it is not known."""

    value: float = math.nan
    uncertainty: Uncertainty | None = None
    note: Message | None = None
    read_at: float = 1.0  # voltage it was read at, over rated voltage


def figure_at_rated_voltage(
    quantity: str, job: Job, reduction: Reduction, characteristic: Characteristic, *, least: float | None
) -> StartingFigure:
    """One figure of starting or overload at rated voltage.

    Parameters
    ----------
    quantity : str
        'locked_rotor_current', 'locked_rotor_torque', 'pull_up_torque' or 'breakdown_torque'.
    job : Job
        Plate and kind of motor. [SI]
    reduction : Reduction
        Holds the locked-rotor readings and the ends of the torque-speed curve. [SI]
    characteristic : Characteristic
        The same figures with their uncertainty.
    least : float or None
        What the greatest torque tested must reach to stand for a breakdown torque that was not reached. [N*m]

    Returns
    -------
    StartingFigure
        Value, uncertainty and remark; not a number, with the reason, where it is not known. [A] or [N*m]
    """
    known = uncertainty_of(getattr(characteristic, quantity))
    if quantity in (CURRENT, LOCKED_TORQUE):
        locked = reduction.locked_rotor
        held = None if locked is None else locked.current if quantity == CURRENT else locked.torque
        return _locked(quantity, held, job, known)
    figures, extremes = starting_figures(job, reduction), reduction.extremes
    found = breakdown_of(reduction) if quantity == BREAKDOWN else None if extremes is None else extremes.pull_up
    if found is not None:
        return _running(getattr(figures, quantity), known, found.speed, job, reduction)
    if quantity == BREAKDOWN and extremes is not None:
        greatest = extremes.greatest
        tested = _of_tested(greatest.torque, reduction)
        enough = _running(figures.greatest_torque, tested, greatest.speed, job, reduction)
        enough = replace(enough, uncertainty=_scaled(tested, greatest, enough, reduction))
        if least is not None and enough.value >= least:
            notes = tuple(note for note in (Message("starting.greatest_tested"), enough.note) if note is not None)
            return replace(enough, note=notes[0] if len(notes) == 1 else Message("finding.notes", notes=notes))
    return StartingFigure(note=_not_measured(quantity))


def _running(value: float, known: Uncertainty | None, speed: float, job: Job, reduction: Reduction) -> StartingFigure:
    """A torque of the running motor [N*m] read at a speed [rad/s], with the voltage it was brought from, or why not."""
    part = voltage_part(speed, job, reduction)
    if isinstance(part, Message):
        return StartingFigure(note=part)
    note = None if part == 1.0 else Message("starting.scaled_with_square", part=part)
    return StartingFigure(value, known, note, part)


def _not_measured(quantity: str) -> Message:
    return Message("finding.not_measured", quantity=Message(f"name.{quantity}"))


def _locked(quantity: str, held: HeldRotor | None, job: Job, known: Uncertainty | None) -> StartingFigure:
    """A figure with the rotor locked, as the results bring it to rated voltage."""
    if held is None:
        return StartingFigure(note=_not_measured(quantity))
    if job.nameplate.voltage is None:
        return StartingFigure(note=Message("finding.plate_gives_no", quantity=Message("name.voltage")))
    if not math.isfinite(held.voltage):
        return StartingFigure(note=Message("starting.voltage_not_read", quantity=Message(f"name.{quantity}")))
    if not math.isfinite(held.at_rated):
        return StartingFigure(
            note=Message("starting.figure_not_scaled", quantity=Message(f"name.{quantity}"), voltage=held.voltage)
        )
    return StartingFigure(held.at_rated, known, read_at=held.voltage / job.nameplate.voltage)


def _scaled(
    known: Uncertainty | None, tested: TorqueAtSpeed, figure: StartingFigure, reduction: Reduction
) -> Uncertainty | None:
    """Uncertainty of a tested torque brought to rated voltage [N*m]: its own as the same part, twice that of the voltage."""
    if known is None or known.standard is None or reduction.uncertainties is None or figure.read_at == 1.0:
        return known
    row = int(np.flatnonzero(reduction.points.torque == tested.torque)[0])
    voltage = reduction.uncertainties.points[row].get("voltage")
    part = known.standard / tested.torque
    if voltage is not None and voltage.standard is not None:
        part = math.hypot(part, 2.0 * voltage.standard / float(reduction.points.voltage[row]))
    factor = known.coverage_factor or 2.0
    return replace(known, standard=part * figure.value, expanded=factor * part * figure.value)


def _of_tested(torque: float, reduction: Reduction) -> Uncertainty | None:
    """Uncertainty of a torque that was tested [N*m]."""
    rows, uncertainties = np.flatnonzero(reduction.points.torque == torque), reduction.uncertainties
    return uncertainties.points[int(rows[0])].get("torque") if rows.size and uncertainties is not None else None


def locked_from_far_below(quantity: str, job: Job, reduction: Reduction) -> float | None:
    """Voltage a figure with the rotor locked was read at, over rated voltage [1], where that is far below it."""
    locked, rated = reduction.locked_rotor, job.nameplate.voltage
    held = None if locked is None else locked.current if quantity == CURRENT else locked.torque
    if held is None or rated is None or not held.voltage < FAR_BELOW * rated:
        return None
    return held.voltage / rated
