"""One factor that explains a whole table: a unit mistaken, a phase read for a line, two columns exchanged.

A suspicion needs a contradiction that no motor of the kind can have (more out than in, or a plate that disagrees with
the readings on every count in the same ratio) and one factor of the trade that removes it. A poor motor is none: it
gives little, but its slip at the plate's current tells that it is asked for little.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.assessment.plausibility.evidence import LOAD_TEST, Evidence, Suggestion
from certgen.physics.domain import Array, Mask

#: Torque read too large (or, inverted, too small) by these. NIST SP 811 (2008), Appendix B: pound, inch; foot of 12 in.
TORQUE_FACTORS: dict[str, float] = {
    "pounds_for_kilograms": 1.0 / 0.45359237,
    "newtons_for_kilograms": 9.80665,
    "inches_for_feet": 12.0,
    "millimetres_for_inches": 25.4,
}
#: Watts of a mechanical horsepower over 1000 (NIST SP 811, B.8): 1.341 hp to the kilowatt.
HORSEPOWER = 0.7456999
#: Efficiency no motor of the kind reaches, and the range a sound one of small to middling size has at load.
#: Common practice, no source; wide on purpose.
GREATEST_EFFICIENCY = {"three_phase": 0.97, "single_phase": 0.90, "universal": 0.85, "dc": 0.95, "other": 0.98}
USUAL_EFFICIENCY = {
    "three_phase": (0.55, 0.95),
    "single_phase": (0.30, 0.80),
    "universal": (0.30, 0.75),
    "dc": (0.40, 0.92),
    "other": (0.30, 0.95),
}
#: Power over volt-amperes on the plate that no motor of up to 200 kW has (efficiency times power factor).
GREATEST_PLATE_FACTOR = {"three_phase": 0.90, "single_phase": 0.86, "universal": 0.85, "dc": 0.96, "other": 0.97}
#: How near a factor must come to be named. [1]
NEAR = 0.06
_LOADED = 0.5


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
    synchronous_speed: float | None = None
    relative_uncertainty: float = 0.03


def suspected_units(rows: UnitRows) -> tuple[Evidence, ...]:
    """Units or columns mistaken throughout a load test.

    Parameters
    ----------
    rows : UnitRows

    Returns
    -------
    tuple of Evidence
        Check ``unit_suspected`` or ``columns_exchanged``; at most one of torque, one of voltage, one of the plate.
        Sizes: factor, and what it removes.
    """
    with np.errstate(all="ignore"):
        exchanged = _volts_and_amperes_exchanged(rows)
        if exchanged is not None:
            return (exchanged,)
        voltage = _voltage_unit(rows)
        found = [voltage, None if voltage is not None else _torque_unit(rows), _plate_power_unit(rows)]
        return tuple(each for each in found if each is not None)


def _median(values: Array | None) -> float | None:
    if values is None:
        return None
    read = values[np.isfinite(values)]
    return float(np.median(read)) if read.size else None


def _loaded(rows: UnitRows) -> Mask:
    """Rows of the heavier half of the loads."""
    top = np.nanmax(np.where(np.isfinite(rows.torque), rows.torque, -np.inf), initial=-np.inf)
    loaded: Mask = np.isfinite(rows.torque) & (rows.torque > _LOADED * top) & (rows.torque > 0.0)
    return loaded


def _apparent(rows: UnitRows) -> Array | None:
    if rows.voltage is None or rows.current is None:
        return None
    return rows.voltage * rows.current * (math.sqrt(3.0) if rows.three_phase else 1.0)


def _torque_unit(rows: UnitRows) -> Evidence | None:
    """A factor of the torque, from shaft power over what goes in."""
    taken, by_watts = (rows.input_power, True) if rows.input_power is not None else (_apparent(rows), rows.kind == "dc")
    if taken is None:
        return None
    loaded = _loaded(rows) & np.isfinite(taken) & (taken > 0.0) & np.isfinite(rows.speed)
    if not loaded.any():
        return None
    efficiency = float(np.median((rows.torque * rows.speed)[loaded] / taken[loaded]))
    low, high = USUAL_EFFICIENCY.get(rows.kind, USUAL_EFFICIENCY["other"])
    low, high = (low, high) if by_watts else (0.6 * low, 0.9 * high)
    limit = max(GREATEST_EFFICIENCY.get(rows.kind, 0.98), 0.9) * (1.0 + 3.0 * rows.relative_uncertainty) + 0.05
    share = _share_of_plate(rows)
    if efficiency > limit:
        return _torque_too_large(efficiency, low, high, share)
    return _torque_too_small(rows, efficiency, low, share)


def _torque_too_large(efficiency: float, low: float, high: float, share: float | None) -> Evidence | None:
    expected = math.sqrt(low * high)
    fitting = {name: factor for name, factor in TORQUE_FACTORS.items() if low <= efficiency / factor <= high}
    if share is not None:
        fitting = {name: factor for name, factor in fitting.items() if 0.75 < share / factor < 1.35}
    if not fitting:
        return None
    ratio = share if share is not None else efficiency / expected
    name = min(fitting, key=lambda each: abs(math.log(ratio / fitting[each])))
    sizes = {"factor": fitting[name], "efficiency": efficiency, "efficiency_with_factor": efficiency / fitting[name]}
    return Evidence("unit_suspected", LOAD_TEST, None, "torque", sizes, Suggestion(name), "no_verdict")


def _torque_too_small(rows: UnitRows, efficiency: float, low: float, share: float | None) -> Evidence | None:
    """Too little torque by a factor: the plate's power at its current and speed is missed in the same ratio."""
    if share is None or efficiency >= 0.75 * low or not _slip_as_on_plate(rows):
        return None
    inverse = {
        "kilograms_for_pounds": 1.0 / 0.45359237,
        "kilograms_for_newtons": 9.80665,
        "feet_for_inches": 12.0,
        "inches_for_millimetres": 25.4,
    }
    for name, factor in inverse.items():
        if abs(share * factor - 1.0) < 2.5 * NEAR and efficiency * factor < 1.0 and efficiency * factor > low:
            sizes = {"factor": 1.0 / factor, "efficiency": efficiency, "efficiency_with_factor": efficiency * factor}
            return Evidence("unit_suspected", LOAD_TEST, None, "torque", sizes, Suggestion(name), "no_verdict")
    return None


def _at_plate_current(rows: UnitRows, values: Array) -> float | None:
    """A reading at the plate's current, between rows or within a twentieth of one; None beyond."""
    if rows.current is None or rows.plate_current is None:
        return None
    usable = np.isfinite(rows.current) & np.isfinite(values)
    current, read = rows.current[usable], values[usable]
    if current.size == 0 or not 0.95 * np.min(current) <= rows.plate_current <= 1.05 * np.max(current):
        return None
    order = np.argsort(current)
    return float(np.interp(rows.plate_current, current[order], read[order]))


def _share_of_plate(rows: UnitRows) -> float | None:
    """Shaft power at the plate's current over the plate's power."""
    if rows.plate_power is None or rows.plate_power <= 0.0:
        return None
    power = _at_plate_current(rows, rows.torque * rows.speed)
    return None if power is None or power <= 0.0 else power / rows.plate_power


def _slip_as_on_plate(rows: UnitRows) -> bool:
    """Whether the slip at the plate's current is the plate's, so that the motor gives what the plate says."""
    if rows.synchronous_speed is None or rows.plate_speed is None:
        return False
    speed = _at_plate_current(rows, rows.speed)
    plate = 1.0 - rows.plate_speed / rows.synchronous_speed
    if speed is None or plate <= 0.0:
        return False
    return abs((1.0 - speed / rows.synchronous_speed) / plate - 1.0) < 0.3


def _voltage_unit(rows: UnitRows) -> Evidence | None:
    """Volts of a phase where the line's are wanted, or the reverse."""
    volts = _median(rows.voltage)
    if volts is None or volts <= 0.0 or not rows.plate_voltages or not rows.three_phase:
        return None
    if min(abs(math.log(max(volts, 1e-9) / plate)) for plate in rows.plate_voltages) < 0.2:
        return None
    root = math.sqrt(3.0)
    apparent = _apparent(rows)
    for plate in rows.plate_voltages:
        if abs(volts * root / plate - 1.0) < NEAR and apparent is not None and rows.input_power is not None:
            factor = float(np.nanmax(rows.input_power / np.where(apparent > 0.0, apparent, np.nan), initial=-np.inf))
            if 1.0 + 3.0 * rows.relative_uncertainty < factor < root:
                sizes = {"factor": 1.0 / root, "voltage": volts, "plate_voltage": plate, "power_factor": factor}
                return Evidence(
                    "unit_suspected", LOAD_TEST, None, "voltage", sizes, Suggestion("phase_for_line"), "no_verdict"
                )
        if abs(volts / root / plate - 1.0) < NEAR:
            sizes = {"factor": root, "voltage": volts, "plate_voltage": plate}
            return Evidence(
                "unit_suspected", LOAD_TEST, None, "voltage", sizes, Suggestion("line_for_phase"), "no_verdict"
            )
    return None


def _volts_and_amperes_exchanged(rows: UnitRows) -> Evidence | None:
    volts, amperes = _median(rows.voltage), _median(rows.current)
    if volts is None or amperes is None or not rows.plate_voltages or rows.plate_current is None:
        return None
    plate_volts = min(rows.plate_voltages, key=lambda plate: abs(math.log(max(amperes, 1e-9) / plate)))
    apart = plate_volts / rows.plate_current
    like_volts = 0.8 < amperes / plate_volts < 1.25
    like_amperes = 0.1 < volts / rows.plate_current < 2.0
    if not (apart > 4.0 and like_volts and like_amperes):
        return None
    sizes = {"voltage": volts, "current": amperes, "plate_voltage": plate_volts, "plate_current": rows.plate_current}
    return Evidence(
        "columns_exchanged", LOAD_TEST, None, "voltage", sizes, Suggestion("volts_and_amperes_exchanged"), "no_verdict"
    )


def _plate_power_unit(rows: UnitRows) -> Evidence | None:
    """Horsepower on the plate taken for kilowatts: no motor has the plate's power at the plate's volts and amperes."""
    share = _share_of_plate(rows)
    if share is None or rows.plate_power is None or rows.plate_current is None or not rows.plate_voltages:
        return None
    if abs(share / HORSEPOWER - 1.0) > NEAR or not _slip_as_on_plate(rows):
        return None
    phases = math.sqrt(3.0) if rows.three_phase else 1.0
    factor = rows.plate_power / (phases * max(rows.plate_voltages) * rows.plate_current)
    if factor <= GREATEST_PLATE_FACTOR.get(rows.kind, 0.97):
        return None
    sizes = {"factor": 1.0 / HORSEPOWER, "share_of_plate": share, "power_over_volt_amperes": factor}
    return Evidence(
        "unit_suspected", LOAD_TEST, None, "plate_power", sizes, Suggestion("horsepower_for_kilowatts"), "no_verdict"
    )
