"""Volts and amperes mistaken throughout a load test: a phase read for a line, or one column typed for the other."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.assessment.plausibility.evidence import LOAD_TEST, Evidence, Suggestion
from certgen.physics.domain import Array

#: How near to the factor amperes must come, the power with them, and volts of a supply that is off. [1]
_NEAR, _NEAR_POWER, _NEAR_VOLTS = 0.09, 0.15, 0.13


@dataclass(frozen=True)
class UnitRows:
    """Readings and plate, SI; arrays of shape (n,), NaN where empty, None where there is no column or no plate value.

    ``speed`` of the motor's shaft [rad/s], ``torque`` at it [N*m, efficiency of a gear taken out], ``plate_voltages``
    all that the plate allows, ``relative_uncertainty`` the standard one of shaft power over input power.
    """

    kind: str
    speed: Array
    torque: Array
    voltage: Array | None = None
    current: Array | None = None
    input_power: Array | None = None
    three_phase: bool = False
    plate_power: float | None = None
    plate_current: float | None = None
    plate_voltages: tuple[float, ...] = ()
    plate_speed: float | None = None
    plate_power_factor: float | None = None
    plate_efficiency: float | None = None
    synchronous_speed: float | None = None
    relative_uncertainty: float = 0.03


def _middle(values: Array | None) -> float | None:
    if values is None:
        return None
    read = values[np.isfinite(values)]
    return float(np.median(read)) if read.size else None


def current_unit(rows: UnitRows) -> Evidence | None:
    """Amperes of a phase where the line's are wanted: at the plate's speed and power 1/1.732 of the plate's current."""
    if not rows.three_phase or rows.synchronous_speed is None or rows.plate_speed is None or rows.current is None:
        return None
    if rows.plate_power is None or rows.plate_current is None or not at_rated_voltage(rows):
        return None
    order = np.argsort(rows.speed)
    known = order[np.isfinite(rows.speed[order]) & np.isfinite(rows.torque[order]) & np.isfinite(rows.current[order])]
    speed = rows.speed[known]
    if not known.size or not speed[0] <= rows.plate_speed <= speed[-1]:
        return None
    amperes = float(np.interp(rows.plate_speed, speed, rows.current[known]))
    power = float(np.interp(rows.plate_speed, speed, (rows.torque * rows.speed)[known]))
    for name, factor in (("phase_for_line", 1.0 / math.sqrt(3.0)), ("line_for_phase", math.sqrt(3.0))):
        if (
            abs(amperes / rows.plate_current / factor - 1.0) < _NEAR
            and abs(power / rows.plate_power - 1.0) < _NEAR_POWER
        ):
            sizes = {"factor": factor, "current": amperes, "plate_current": rows.plate_current}
            return Evidence("unit_suspected", LOAD_TEST, None, "current", sizes, Suggestion(name), "no_verdict")
    return None


def at_rated_voltage(rows: UnitRows) -> bool:
    """Whether nothing speaks for another connection than that of the plate's one current."""
    volts = _middle(rows.voltage)
    if len(rows.plate_voltages) > 1:
        return False
    return volts is None or not rows.plate_voltages or abs(volts / rows.plate_voltages[0] - 1.0) < _NEAR_VOLTS


def voltage_unit(rows: UnitRows) -> Evidence | None:
    """Volts of a phase where the line's are wanted, or the reverse."""
    volts = _middle(rows.voltage)
    if volts is None or volts <= 0.0 or not rows.plate_voltages or not rows.three_phase:
        return None
    if min(abs(math.log(max(volts, 1e-9) / plate)) for plate in rows.plate_voltages) < 0.2:
        return None
    root = math.sqrt(3.0)
    plate = min(rows.plate_voltages, key=lambda each: abs(abs(math.log(max(volts, 1e-9) / each)) - math.log(root)))
    for name, factor in (("phase_for_line", 1.0 / root), ("line_for_phase", root)):
        if abs(volts / factor / plate - 1.0) < _NEAR_VOLTS:
            sizes = {"factor": factor, "voltage": volts, "plate_voltage": plate}
            return Evidence("unit_suspected", LOAD_TEST, None, "voltage", sizes, Suggestion(name), "no_verdict")
    return None


def volts_and_amperes_exchanged(rows: UnitRows) -> Evidence | None:
    """The volts in the column of the amperes and the amperes in that of the volts."""
    volts, amperes = _middle(rows.voltage), _middle(rows.current)
    if volts is None or amperes is None or volts <= 1e-9 or amperes <= 1e-9:
        return None
    if not (_exchanged_by_plate(rows, volts, amperes) or _exchanged_by_spread(rows, volts, amperes)):
        return None
    sizes = {"voltage": volts, "current": amperes}
    return Evidence(
        "columns_exchanged", LOAD_TEST, None, "voltage", sizes, Suggestion("volts_and_amperes_exchanged"), "no_verdict"
    )


def _exchanged_by_plate(rows: UnitRows, volts: float, amperes: float) -> bool:
    """Whether the amperes read as the plate's volts, and the volts as its amperes."""
    if not rows.plate_voltages or rows.plate_current is None:
        return False
    plate_volts = min(rows.plate_voltages, key=lambda plate: abs(math.log(max(amperes, 1e-9) / plate)))
    like_volts = 0.8 < amperes / plate_volts < 1.25
    like_amperes = 0.1 < volts / rows.plate_current < 2.0
    return plate_volts / rows.plate_current > 4.0 and like_volts and like_amperes


#: A supply keeps its voltage within the first of these parts from row to row, and the current of a motor loaded from light
#: to heavy changes by more than the second. Common practice, no source.
_STEADY, _CHANGING = 0.05, 0.2


def _exchanged_by_spread(rows: UnitRows, volts: float, amperes: float) -> bool:
    """Whether the amperes hardly change with the load and the volts do, and neither is where the plate has it."""
    if rows.voltage is None or rows.current is None:
        return False
    usable = np.isfinite(rows.voltage) & np.isfinite(rows.current) & np.isfinite(rows.torque)
    if usable.sum() < 3 or np.ptp(rows.torque[usable]) <= 0.0:
        return False
    steady, changing = (
        float(np.ptp(each[usable])) / middle for each, middle in ((rows.current, amperes), (rows.voltage, volts))
    )
    rises = float(np.corrcoef(rows.torque[usable], rows.voltage[usable])[0, 1]) > 0.9
    nearer = all(abs(math.log(amperes / plate)) < abs(math.log(volts / plate)) for plate in rows.plate_voltages)
    return steady < _STEADY and changing > _CHANGING and rises and nearer
