"""Figures of starting and overload at rated voltage, each with its uncertainty, or why it is not known."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.physics.induction import locked_rotor_torque_at
from certgen.reduction.model import HeldRotor, Reduction
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.model import Characteristic
from certgen.results.starting import CURRENT
from certgen.results.uncertainty import uncertainty_of

LOCKED_TORQUE, PULL_UP, BREAKDOWN = "locked_rotor_torque", "pull_up_torque", "breakdown_torque"
#: Below this part of rated voltage the iron is less saturated than at rated voltage, and a figure scaled up from there
#: is the least that the true one can be. [1] Common practice, no source.
FAR_BELOW = 0.8
#: Voltages this near are rated voltage, and frequencies this near rated frequency. [1] Common practice, no source.
_SAME = 0.01


@dataclass(frozen=True)
class StartingFigure:
    """One figure of starting at rated voltage [SI], or why it is not known; ``voltage`` is what it was read at."""

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
    extremes = reduction.extremes
    found = None if extremes is None else extremes.breakdown if quantity == BREAKDOWN else extremes.pull_up
    if found is not None:
        return _at_rated_voltage(StartingFigure(found.torque, known), found.speed, job, reduction)
    if quantity == BREAKDOWN and extremes is not None:
        greatest = extremes.greatest
        tested = StartingFigure(
            greatest.torque, _of_tested(greatest.torque, reduction), Message("starting.greatest_tested")
        )
        enough = _at_rated_voltage(tested, greatest.speed, job, reduction)
        if least is not None and enough.value >= least:
            return enough
    return StartingFigure(note=_not_measured(quantity))


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


def _at_rated_voltage(figure: StartingFigure, speed: float, job: Job, reduction: Reduction) -> StartingFigure:
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
    return StartingFigure(value, _scaled(figure, value, row, reduction), note, part)


def _scaled(figure: StartingFigure, value: float, row: int, reduction: Reduction) -> Uncertainty | None:
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


def locked_from_far_below(quantity: str, job: Job, reduction: Reduction) -> float | None:
    """Voltage a figure with the rotor locked was read at, over rated voltage [1], where that is far below it."""
    locked, rated = reduction.locked_rotor, job.nameplate.voltage
    held = None if locked is None else locked.current if quantity == CURRENT else locked.torque
    if held is None or rated is None or not held.voltage < FAR_BELOW * rated:
        return None
    return held.voltage / rated
