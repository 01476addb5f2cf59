"""One factor that explains a whole table: a unit mistaken, a phase read for a line, two columns exchanged.

A suspicion needs a contradiction that no motor of the kind can have (more out than in, or a plate that disagrees with
the readings on every count in the same ratio) and one factor of the trade that removes it. A poor motor is none: it
gives little, but its slip at the plate's current shows that it is asked for little.
"""

from __future__ import annotations

import math

import numpy as np

from certgen.assessment.plausibility.evidence import LOAD_TEST, Effect, Evidence, Suggestion
from certgen.assessment.plausibility.volts_and_amperes import (
    UnitRows,
    at_rated_voltage,
    current_unit,
    voltage_unit,
    volts_and_amperes_exchanged,
)
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
#: The same for two ratios that a repair, a warm winding or a worn plate may move.
_NEARLY = 0.15
#: How far the voltage may be off for the power factor to stay the plate's. [1] Common practice, no source.
_SAME_FACTOR_WITHIN = 0.04
#: How near, as a logarithm, torque over slip must come to a factor: plates tell the slip to a fifth. [1]
_NEAR_BY_SLIP = 0.2
#: Reactive power of a cage motor under load over that at its lightest load: the leakage adds more to it than the drop of
#: the winding takes from the magnetizing. [1] Common practice, no source.
_LEAST_REACTIVE = 0.7
_LOADED = 0.5
#: By how much, as a logarithm, a middle moves that hangs on a single row. [1]
_HANGS_ON_A_ROW = 0.3
#: How far the supply may be off the plate where nobody read its voltage. [1] Common practice, no source.
_VOLTAGE_NOT_READ = 0.1
#: Further watts in for a further watt at the shaft. Where losses do not fall with the load it is at least 1, by the
#: conservation of energy. They fall where a capacitor motor comes into balance as it is loaded, and where a series motor
#: slows and its windage with it. Least, and what is usual. [1] Common practice, no source, for all that is below 1.
_LEAST_FURTHER_WATTS = {"three_phase": 0.95, "single_phase": 0.72, "dc": 0.65, "universal": 0.5, "other": 0.5}
_USUAL_FURTHER_WATTS = {"three_phase": 1.17, "single_phase": 1.2, "dc": 1.2, "universal": 0.85, "other": 1.1}
#: So many further watts in for one at the shaft are a torque too small by a factor; even a motor of a tenth of usual
#: efficiency takes fewer. [1] Common practice, no source.
_MOST_FURTHER_WATTS = 5.0
#: Slip beyond which an induction motor is too near breakdown for its input to go in a line with its output. [1]
_STEEP_SLIP = 0.12


def suspected_units(rows: UnitRows) -> tuple[Evidence, ...]:
    """Units or columns mistaken throughout a load test.

    Parameters
    ----------
    rows : UnitRows

    Returns
    -------
    tuple of Evidence
        Check ``unit_suspected``, ``columns_exchanged`` or ``power_out_of_nothing``; at most one of supply, of power and of
        the plate. Sizes: factor, and what it removes.
    """
    with np.errstate(all="ignore"):
        exchanged = volts_and_amperes_exchanged(rows)
        if exchanged is not None:
            return (exchanged,)
        supply = voltage_unit(rows) or current_unit(rows)
        power = None if supply is not None else _power_unit(rows)
        return tuple(each for each in (supply, power, _plate_power_unit(rows)) if each is not None)


def _power_unit(rows: UnitRows) -> Evidence | None:
    """What is wrong with the torque or the watts throughout, the surest first."""
    return (
        _torque_unit(rows)
        or _further_watts(rows)
        or _watts_unit(rows)
        or _too_little_reactive(rows)
        or _torque_by_slip(rows)
    )


def _efficiency(rows: UnitRows, taken: Array, usual: float) -> float | None:
    """Middle of shaft power over what goes in, of the heavier half of the loads.

    One row that is wrong makes no unit of a table: where the middle hangs on one row, it is the one without that row.
    """
    power = rows.torque * rows.speed
    usable = np.isfinite(power * taken) & (rows.torque > 0.0) & (power > 0.0) & (taken > 0.0)
    torque, ratio = rows.torque[usable], (power / taken)[usable]
    if torque.size == 0:
        return None
    every, *others = np.vstack([np.ones(torque.size, dtype=bool), ~np.eye(torque.size, dtype=bool)])
    middle = _middle_of_heavier(torque, ratio, every)
    if torque.size < _FEWEST:
        return middle
    without = (_middle_of_heavier(torque, ratio, kept) for kept in others)
    nearest = min(without, key=lambda one: abs(math.log(one / usual)))
    return middle if abs(math.log(middle / nearest)) < _HANGS_ON_A_ROW else nearest


def _middle_of_heavier(torque: Array, ratio: Array, kept: Mask) -> float:
    heavier = kept & (torque > _LOADED * np.max(torque[kept]))
    return float(np.median(ratio[heavier]))


def _apparent(rows: UnitRows) -> Array | None:
    if rows.voltage is None or rows.current is None:
        return None
    return rows.voltage * rows.current * (math.sqrt(3.0) if rows.three_phase else 1.0)


def _taken(rows: UnitRows) -> tuple[Array, float] | None:
    """What goes in, with the most that can come out of it: watts, else volt-amperes, with the plate's volts if need be."""
    if rows.input_power is not None and np.isfinite(rows.input_power).any():
        # No motor of any kind or size gives all it takes.
        most = max(GREATEST_EFFICIENCY.get(rows.kind, 0.98), 0.9 if rows.kind != "universal" else 0.0)
        return rows.input_power, most * (1.0 + 3.0 * rows.relative_uncertainty) + 0.02
    most = GREATEST_PLATE_FACTOR.get(rows.kind, 0.97) * (1.0 + 3.0 * rows.relative_uncertainty) + 0.05
    apparent = _apparent(rows)
    if apparent is not None and np.isfinite(apparent).any():
        return apparent, most
    if rows.current is None or not rows.plate_voltages:
        return None
    phases = math.sqrt(3.0) if rows.three_phase else 1.0
    return phases * max(rows.plate_voltages) * rows.current, most * (1.0 + _VOLTAGE_NOT_READ)


def _torque_unit(rows: UnitRows) -> Evidence | None:
    """A factor of the torque, from shaft power over what goes in."""
    found = _taken(rows)
    if found is None:
        return None
    taken, limit = found
    low, high = USUAL_EFFICIENCY.get(rows.kind, USUAL_EFFICIENCY["other"])
    if taken is not rows.input_power and rows.kind != "dc":
        low, high = 0.6 * low, 0.9 * high
    efficiency, share = _efficiency(rows, taken, math.sqrt(low * high)), _share_of_plate(rows)
    if efficiency is None:
        return None
    if efficiency > limit:
        by_torque = _torque_too_large(efficiency, low, high, share)
        return by_torque or (_watts_too_small(efficiency, low, high, share) if taken is rows.input_power else None)
    return _torque_against_plate(rows, efficiency, low, share)


def _torque_too_large(efficiency: float, low: float, high: float, share: float | None) -> Evidence | None:
    expected = math.sqrt(low * high)
    fitting = {name: factor for name, factor in TORQUE_FACTORS.items() if low <= efficiency / factor <= high}
    if share is not None:
        # A motor that gives less than its plate says must not hide that more comes out than goes in.
        fitting = {name: factor for name, factor in fitting.items() if 0.75 < share / factor < 1.35} or fitting
    if not fitting:
        return None
    ratio = share if share is not None else efficiency / expected
    name = min(fitting, key=lambda each: abs(math.log(ratio / fitting[each])))
    sizes = {"factor": fitting[name], "efficiency": efficiency, "efficiency_with_factor": efficiency / fitting[name]}
    return Evidence("unit_suspected", LOAD_TEST, None, "torque", sizes, Suggestion(name), "no_verdict")


def _watts_too_small(efficiency: float, low: float, high: float, share: float | None) -> Evidence | None:
    """Input in kilowatts written as horsepower: the shaft gives what the plate says."""
    if not low <= efficiency * HORSEPOWER <= high or (share is not None and abs(share - 1.0) > 2.0 * _NEARLY):
        return None
    sizes = {"factor": HORSEPOWER, "efficiency": efficiency, "efficiency_with_factor": efficiency * HORSEPOWER}
    suggestion = Suggestion("kilowatts_for_horsepower")
    return Evidence("unit_suspected", LOAD_TEST, None, "input_power", sizes, suggestion, "no_verdict")


def _torque_against_plate(rows: UnitRows, efficiency: float, low: float, share: float | None) -> Evidence | None:
    """A torque that misses the plate's power by a factor, at the plate's current and speed."""
    if share is None or _plate_may_be_input(rows) or not _speed_as_on_plate(rows):
        return None
    too_small = {_INVERSE[name]: 1.0 / factor for name, factor in TORQUE_FACTORS.items()}
    for name, factor in (TORQUE_FACTORS | too_small).items():
        if abs(share / factor - 1.0) < _NEARLY and low < efficiency / factor < 1.0:
            sizes = {"factor": factor, "efficiency": efficiency, "efficiency_with_factor": efficiency / factor}
            return Evidence("unit_suspected", LOAD_TEST, None, "torque", sizes, Suggestion(name), "no_verdict")
    return None


def _torque_by_slip(rows: UnitRows) -> Evidence | None:
    """A torque too large for its slip by a factor: the slip of an induction motor goes with its torque, and the plate gives
    both. A bad motor slips more, never less; one whose slip is less than its plate's by no factor is left to the verdict.
    """
    if rows.synchronous_speed is None or rows.plate_speed is None or rows.plate_power is None:
        return None
    plate_slip = 1.0 - rows.plate_speed / rows.synchronous_speed
    if not 0.0 < plate_slip < _STEEP_SLIP or not at_rated_voltage(rows):
        return None
    slip = 1.0 - rows.speed / rows.synchronous_speed
    steep = rows.torque / slip / (rows.plate_power / rows.plate_speed / plate_slip)
    if rows.voltage is not None and rows.plate_voltages and np.isfinite(rows.voltage).any():
        steep = steep * (rows.plate_voltages[0] / rows.voltage) ** 2
    usable = np.isfinite(steep) & (rows.torque > 0.0) & (slip > 0.2 * plate_slip) & (slip < 1.5 * plate_slip)
    if usable.sum() < 3:
        return None
    ratio = float(np.median(steep[usable]))
    name = min(TORQUE_FACTORS, key=lambda each: abs(math.log(ratio / TORQUE_FACTORS[each])))
    factor = TORQUE_FACTORS[name]
    if abs(math.log(ratio / factor)) > _NEAR_BY_SLIP or not _efficiency_bears(rows, factor):
        return None
    sizes = {"factor": factor, "steepness": ratio}
    return Evidence("unit_suspected", LOAD_TEST, None, "torque", sizes, Suggestion(name), "caps")


def _efficiency_bears(rows: UnitRows, factor: float) -> bool:
    """Whether a torque that much smaller leaves an efficiency that a motor may have; true where no meter shows it."""
    found = _taken(rows)
    low, high = USUAL_EFFICIENCY.get(rows.kind, USUAL_EFFICIENCY["other"])
    efficiency = None if found is None else _efficiency(rows, found[0], math.sqrt(low * high))
    part = 0.7 if found is not None and found[0] is rows.input_power else 0.4  # volt-amperes are more than watts
    return efficiency is None or efficiency / factor > part * low


#: Suggestions for a torque that is too small by the factor by which the other would be too large.
_INVERSE = {
    "pounds_for_kilograms": "kilograms_for_pounds",
    "newtons_for_kilograms": "kilograms_for_newtons",
    "inches_for_feet": "feet_for_inches",
    "millimetres_for_inches": "inches_for_millimetres",
}


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


def _speed_as_on_plate(rows: UnitRows) -> bool:
    """Whether the motor runs at the plate's current as its plate says: by its slip, else by its speed."""
    if rows.synchronous_speed is not None:
        return _slip_as_on_plate(rows)
    speed = _at_plate_current(rows, rows.speed)
    return speed is not None and rows.plate_speed is not None and abs(speed / rows.plate_speed - 1.0) < 0.25


def _plate_may_be_input(rows: UnitRows) -> bool:
    """Whether the plate of a universal motor may give watts that go in, so that its shaft gives half of them."""
    if rows.kind != "universal" or rows.plate_power is None or rows.plate_current is None or not rows.plate_voltages:
        return False
    return rows.plate_power > 0.8 * max(rows.plate_voltages) * rows.plate_current


# Further watts at the shaft against further watts in.


def _further_watts(rows: UnitRows) -> Evidence | None:
    """More at the shaft from one load to the next than more goes in, or far less."""
    kind = rows.kind if rows.kind in _USUAL_FURTHER_WATTS else "other"
    usual, share = _USUAL_FURTHER_WATTS[kind], _share_of_plate(rows)
    slope = _slope_of_input(rows, usual)
    least = _LEAST_FURTHER_WATTS[kind] * (1.0 - 2.0 * rows.relative_uncertainty)
    if slope is None or least <= slope <= _MOST_FURTHER_WATTS:
        return None
    factors = (
        TORQUE_FACTORS if slope < 1.0 else {_INVERSE[name]: 1.0 / factor for name, factor in TORQUE_FACTORS.items()}
    )
    off = {name: abs(math.log(slope * factor / usual)) for name, factor in factors.items()}
    if share is not None and share > 0.0 and _speed_as_on_plate(rows):
        off = {name: one + abs(math.log(share / factors[name])) for name, one in off.items()}
    if slope < 1.0:
        # Watts too small for their unit leave the shaft power as it is.
        off["kilowatts_for_horsepower"] = abs(math.log(slope / HORSEPOWER / usual)) + (
            abs(math.log(share)) if share is not None and share > 0.0 and _speed_as_on_plate(rows) else 0.0
        )
    name = min(off, key=lambda each: off[each])
    suggestion = Suggestion(name) if off[name] < 2.0 * _NEARLY else None
    return Evidence(
        "power_out_of_nothing" if slope < 1.0 else "power_lost_without_cause",
        LOAD_TEST, None, None, {"further": slope}, suggestion, "no_verdict",
    )  # fmt: skip


def _slope_of_input(rows: UnitRows, usual: float) -> float | None:
    """Further watts in for a further watt at the shaft, over loads far enough apart, none near breakdown.

    One row that is wrong makes no unit of a table: without each row in turn, it is the slope nearest the usual one.
    """
    if rows.input_power is None:
        return None
    power = rows.torque * rows.speed
    usable = np.isfinite(power) & np.isfinite(rows.input_power) & (rows.input_power > 0.0)
    if rows.synchronous_speed is not None:
        usable &= rows.speed > (1.0 - _STEEP_SLIP) * rows.synchronous_speed
    out, taken = power[usable], rows.input_power[usable]
    if out.size < _FEWEST:
        return None
    slopes = [_slope(np.delete(out, row), np.delete(taken, row)) for row in range(out.size)]
    if any(slope is None or not slope > 0.0 for slope in slopes):
        return None
    return min((slope for slope in slopes if slope is not None), key=lambda slope: abs(math.log(slope / usual)))


_FEWEST, _SPREAD = 4, 0.35


def _slope(out: Array, taken: Array) -> float | None:
    """Middle of the slopes between rows far apart (Theil 1950); ``None`` where the loads are too near each other."""
    if np.ptp(out) < _SPREAD * np.max(np.abs(out)) or not np.max(np.abs(out)) > 0.0:
        return None
    first, second = np.triu_indices(out.size, 1)
    apart = np.abs(out[first] - out[second]) > 0.5 * np.ptp(out)
    slopes = ((taken[second] - taken[first]) / (out[second] - out[first]))[apart]
    slopes = slopes[np.isfinite(slopes)]
    return float(np.median(slopes)) if slopes.size else None


# Watts against the plate's power factor and efficiency.


def _watts_unit(rows: UnitRows) -> Evidence | None:
    """Kilowatts typed as horsepower or the reverse: power factor and efficiency miss the plate's by the same ratio."""
    share = _share_of_plate(rows)
    if rows.input_power is None or share is None:
        return None
    watts, apparent = _at_plate_current(rows, rows.input_power), _apparent(rows)
    volt_amperes = None if apparent is None else _at_plate_current(rows, apparent)
    if watts is None or watts <= 0.0 or rows.plate_power is None:
        return None
    ratios = []
    if rows.plate_power_factor and volt_amperes:
        ratios.append(watts / volt_amperes / rows.plate_power_factor)
    if rows.plate_efficiency:
        ratios.append(rows.plate_efficiency / (share * rows.plate_power / watts))
    if len(ratios) == 2 and not _both_miss(ratios) and _as_on_plate(rows):
        ratios = ratios[:1]  # meters alone make the power factor: a motor worse than its plate must not hide their unit
    # One ratio alone says less: it must be nearer, and read off a curve.
    near = 1.5 * NEAR if len(ratios) == 2 else 0.8 * NEAR
    enough = len(ratios) == 2 or (len(ratios) == 1 and rows.speed.size >= _FEWEST)
    for name, factor in (("horsepower_for_kilowatts_in", 1.0 / HORSEPOWER), ("kilowatts_for_horsepower", HORSEPOWER)):
        if enough and all(abs(ratio / factor - 1.0) < near for ratio in ratios) and abs(share - 1.0) < _NEARLY:
            sizes = {"factor": factor}
            effect: Effect = "no_verdict" if len(ratios) == 2 else "caps"
            return Evidence("unit_suspected", LOAD_TEST, None, "input_power", sizes, Suggestion(name), effect)
    return None


def _both_miss(ratios: list[float]) -> bool:
    """Whether power factor and efficiency may miss the plate's by one factor of a horsepower."""
    return any(
        all(abs(ratio / factor - 1.0) < 1.5 * NEAR for ratio in ratios) for factor in (HORSEPOWER, 1.0 / HORSEPOWER)
    )


def _as_on_plate(rows: UnitRows) -> bool:
    """Whether the supply's voltage is the plate's, so that the power factor may be."""
    if rows.voltage is None or len(rows.plate_voltages) != 1 or not np.isfinite(rows.voltage).any():
        return False
    return abs(float(np.nanmedian(rows.voltage)) / rows.plate_voltages[0] - 1.0) < _SAME_FACTOR_WITHIN


def _too_little_reactive(rows: UnitRows) -> Evidence | None:
    """Input in horsepower written as kilowatts: the reactive power of a three-phase motor falls away as it is loaded."""
    apparent = _apparent(rows)
    if not rows.three_phase or rows.input_power is None or apparent is None or rows.synchronous_speed is None:
        return None
    usable = np.isfinite(apparent * rows.input_power) & (rows.speed > (1.0 - _STEEP_SLIP) * rows.synchronous_speed)
    if usable.sum() < 3:
        return None
    squared, watts = apparent[usable] ** 2, rows.input_power[usable]
    order = np.argsort(watts)
    light, heavy = order[0], order[-2:]  # two rows, that one wrong cell makes no unit of a table
    if watts[light] > 0.6 * watts[heavy].min():
        return None
    least = _LEAST_REACTIVE**2 * (squared[light] - watts[light] ** 2)
    unsure = 3.0 * 2.0 * rows.relative_uncertainty * watts[heavy] ** 2
    as_read = squared[heavy] - watts[heavy] ** 2
    in_horsepower = squared[heavy] - (HORSEPOWER * watts[heavy]) ** 2
    if not (as_read + unsure < least).all() or not (in_horsepower > least).all():
        return None
    sizes = {"factor": 1.0 / HORSEPOWER}
    suggestion = Suggestion("horsepower_for_kilowatts_in")
    return Evidence("unit_suspected", LOAD_TEST, None, "input_power", sizes, suggestion, "caps")


# The plate.


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
