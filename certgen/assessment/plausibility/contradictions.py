"""Readings that contradict each other or physics, each check a function of its own.

Each takes SI arrays of shape (n,), NaN where a cell is empty, with their standard uncertainties, and returns entries of
evidence. A contradiction counts beyond ``BEYOND`` standard uncertainties; where a motor may honestly differ (heating,
unbalance, wave form) an allowance of its own is added and named. The allowances are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import ParamSpec

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.plausibility.evidence import LOAD_TEST, NO_LOAD, Effect, Evidence, Suggestion

Array = NDArray[np.float64]
Parameters = ParamSpec("Parameters")

#: Standard uncertainties beyond which a contradiction counts.
BEYOND = 3.0
#: Torque above this part of the greatest is a load. [1]
LOADED = 0.1
#: Slip may differ by this part between two rows by the winding's heating. [1]
HEATING_OF_SLIP = 0.25
#: Difference between a power factor and watts over volt-amperes that wave form and unbalance may make. [1]
WAVE_FORM = 0.03
#: Part of the volt-amperes by which two wattmeters may differ from the ammeters by unbalance. [1]
UNBALANCE = 0.08
#: A fall of the winding's temperature that is no scatter of its reading. [K]
FALL = 5.0
#: No winding insulation stands this. [K] A class R or S winding ends near 240 degC (IEC 60085), varnish chars above.
NOT_BELIEVABLE = 573.15
#: Share of a no-load speed by which it may lie below the synchronous speed. [1]
NO_LOAD_SLIP = 0.015


def _quiet(check: Callable[Parameters, tuple[Evidence, ...]]) -> Callable[Parameters, tuple[Evidence, ...]]:
    """Empty cells and zeros are ordinary here and give no warning."""

    def quiet(*args: Parameters.args, **kwargs: Parameters.kwargs) -> tuple[Evidence, ...]:
        with np.errstate(all="ignore"):
            return check(*args, **kwargs)

    quiet.__doc__, quiet.__name__ = check.__doc__, check.__name__
    return quiet


def _rows(
    check: str,
    table: str,
    rows: Sequence[int] | NDArray[np.intp],
    sizes: dict[str, Array],
    suggestion: Suggestion | None,
    effect: Effect,
    cell: str | None = None,
    whole: int | None = None,
) -> tuple[Evidence, ...]:
    """An entry a row; one for the table, of the worst row's sizes, where more than half of ``whole`` rows are meant."""
    rows = [int(row) for row in rows]
    if whole is not None and len(rows) > 2 and 2 * len(rows) > whole:
        middle = {name: float(np.median(values[rows])) for name, values in sizes.items()}
        return (Evidence(check, table, None, cell, middle | {"rows": float(len(rows))}, suggestion, effect),)
    return tuple(
        Evidence(check, table, row, cell, {name: float(values[row]) for name, values in sizes.items()}, suggestion, effect)
        for row in rows
    )


@_quiet
def faster_than_synchronous(
    speed: Array,
    speed_uncertainty: Array,
    synchronous_speed: float,
    synchronous_uncertainty: float,
    torque: Array,
    torque_uncertainty: Array,
) -> tuple[Evidence, ...]:
    """Rows of an induction motor that run faster than synchronous while they give torque.

    Parameters
    ----------
    speed, speed_uncertainty : array, shape (n,)
        Of the motor's shaft. [rad/s]
    synchronous_speed, synchronous_uncertainty : float
        [rad/s]
    torque, torque_uncertainty : array, shape (n,)
        Net. [N*m]

    Returns
    -------
    tuple of Evidence
        Sizes: speed, synchronous_speed, excess. [rad/s] Suggests a supply of 60 Hz where all fit one.
    """
    excess = speed - synchronous_speed
    limit = BEYOND * np.hypot(speed_uncertainty, synchronous_uncertainty)
    loaded = (torque > BEYOND * torque_uncertainty) & (torque > LOADED * np.nanmax(torque, initial=-np.inf))
    rows = np.flatnonzero(loaded & (excess > limit))
    if len(rows) == 0:
        return ()
    on_60 = 1.0 - speed[loaded] / (1.2 * synchronous_speed)
    suggestion = Suggestion("supply_of_60_hz") if len(on_60) and np.all((on_60 > 0.0) & (on_60 < 0.12)) else None
    sizes = {"speed": speed, "synchronous_speed": np.full(len(speed), synchronous_speed), "excess": excess}
    return _rows("faster_than_synchronous", LOAD_TEST, rows, sizes, suggestion, "no_verdict", "speed", int(loaded.sum()))


@_quiet
def slip_grows_as_load_falls(
    slip: Array, slip_uncertainty: Array, torque: Array, torque_uncertainty: Array, current: Array, voltage: Array | None = None
) -> tuple[Evidence, ...]:
    """Rows whose slip is greater than that of a row with clearly more torque and current.

    Parameters
    ----------
    slip, slip_uncertainty : array, shape (n,)
        [1]; the uncertainty between rows.
    torque, torque_uncertainty : array, shape (n,)
        [N*m]
    current : array, shape (n,)
        [A]; past breakdown torque falls as current rises, and such rows are not compared. Input power does as well.
    voltage : array, shape (n,), optional
        Slip at a torque goes with the inverse square of it. [V]

    Returns
    -------
    tuple of Evidence
        The row that contradicts the most others; none where no row does. Sizes: slip, slip_at_more_load.
    """
    volts = np.ones_like(slip) if voltage is None else voltage
    volts = np.where(np.isfinite(volts) & (volts > 0.0), volts, np.nan)
    more = torque[None, :] > 1.15 * torque[:, None] + BEYOND * np.hypot(torque_uncertainty[None, :], torque_uncertainty[:, None])
    more &= current[None, :] > 1.02 * current[:, None]
    at_voltage = slip[None, :] * (volts[None, :] / volts[:, None]) ** 2
    allowed = at_voltage * (1.0 + HEATING_OF_SLIP) + BEYOND * np.hypot(slip_uncertainty[:, None], slip_uncertainty[None, :])
    against = more & (slip[:, None] > allowed) & (at_voltage > 0.0)
    if not against.any():
        return ()
    below, above = against.sum(axis=1), against.sum(axis=0)
    row = int(np.argmax(np.maximum(below, above)))
    other = int(np.argmax(against[row] if below[row] >= above[row] else against[:, row]))
    less, greater = (row, other) if below[row] >= above[row] else (other, row)
    sizes = {"slip": float(slip[less]), "slip_at_more_load": float(slip[greater]), "other_row": float(other)}
    return (Evidence("slip_grows_as_load_falls", LOAD_TEST, row, "speed", sizes, None, "no_verdict"),)


@_quiet
def supply_of_other_frequency(
    speed: Array, torque: Array, frequency: float, poles: int, frequency_measured: bool, plate_speed: float | None = None
) -> tuple[Evidence, ...]:
    """A slip that the other mains frequency explains: a 60 Hz plate on 50 Hz, or the reverse.

    The speed is carried back to no torque along the rows (of the lighter loads), where an induction motor runs within
    a hundredth of synchronous speed; with loads too close for that, the plate's slip stands in.

    Parameters
    ----------
    speed : array, shape (n,)
        Of the motor's shaft. [rad/s]
    torque : array, shape (n,)
        [N*m]
    frequency : float
        Assumed. [Hz]
    poles : int
    frequency_measured : bool
        Nothing is asked of a frequency that somebody read.
    plate_speed : float, optional
        [rad/s]

    Returns
    -------
    tuple of Evidence
        One for the table or none. Sizes: frequency, other_frequency [Hz], slip, slip_at_other_frequency.
    """
    other = {50.0: 60.0, 60.0: 50.0}.get(round(frequency, 1))
    usable = np.isfinite(speed) & np.isfinite(torque) & (speed > 0.0)
    if frequency_measured or other is None or not usable.any():
        return ()
    synchronous, at_other = (4.0 * math.pi * each / poles for each in (frequency, other))
    light = _speed_at_no_torque(speed[usable], torque[usable])
    slip, slip_at_other = 1.0 - light / synchronous, 1.0 - light / at_other
    if plate_speed is not None and np.ptp(torque[usable]) < 0.3 * np.max(np.abs(torque[usable])):
        plate_slip = 1.0 - plate_speed / synchronous
        explained = 0.0 < slip_at_other < 1.8 * plate_slip and (slip < 0.0 or slip > 3.0 * max(plate_slip, 0.01))
    else:
        explained = -0.005 < slip_at_other < NO_LOAD_SLIP and not -0.05 < slip < 0.10
    if not explained:
        return ()
    sizes = {"frequency": frequency, "other_frequency": other, "slip": slip, "slip_at_other_frequency": slip_at_other}
    suggestion = Suggestion("supply_of_60_hz" if other == 60.0 else "supply_of_50_hz")
    return (Evidence("supply_of_other_frequency", LOAD_TEST, None, "speed", sizes, suggestion, "no_verdict"),)


def _speed_at_no_torque(speed: Array, torque: Array) -> float:
    """Speed carried back to no torque along the lighter half of the rows."""
    if len(speed) < 2 or np.ptp(torque) < 0.3 * np.max(np.abs(torque)):
        return float(np.max(speed))
    light = torque <= np.median(torque)
    light = light if light.sum() > 1 and np.ptp(torque[light]) > 0.0 else np.ones(len(torque), dtype=bool)
    slope = np.cov(torque[light], speed[light], bias=True)[0, 1] / np.var(torque[light])
    return float(np.mean(speed[light]) - min(slope, 0.0) * np.mean(torque[light]))


@_quiet
def watts_above_volt_amperes(
    input_power: Array, power_uncertainty: Array, apparent_power: Array, apparent_uncertainty: Array, table: str = LOAD_TEST
) -> tuple[Evidence, ...]:
    """Rows with more watts than volt-amperes.

    Parameters
    ----------
    input_power, power_uncertainty : array, shape (n,)
        [W]
    apparent_power, apparent_uncertainty : array, shape (n,)
        V*I, of three phases sqrt(3)*V*I. [VA]
    table : str

    Returns
    -------
    tuple of Evidence
        Sizes: input_power, apparent_power, power_factor. Suggests phase_for_line (volts or amperes of a phase where a
        line's are wanted) where all rows agree with it, watts_times_ten where they agree with that.
    """
    limit = apparent_power + BEYOND * np.hypot(power_uncertainty, apparent_uncertainty)
    read = np.isfinite(input_power) & np.isfinite(apparent_power) & (apparent_power > 0.0)
    rows = np.flatnonzero(read & (input_power > limit) & (input_power > 1.005 * apparent_power))
    if len(rows) == 0:
        return ()
    factor = input_power / apparent_power
    sizes = {"input_power": input_power, "apparent_power": apparent_power, "power_factor": factor}
    suggestion = None
    if 2 * len(rows) > read.sum():
        highest = float(np.max(factor[read]))
        suggestion = Suggestion("phase_for_line") if 1.0 < highest < 1.03 * math.sqrt(3.0) else None
        suggestion = Suggestion("watts_times_ten") if 3.0 < highest < 10.1 else suggestion
    return _rows("watts_above_volt_amperes", table, rows, sizes, suggestion, "no_verdict", "input_power", int(read.sum()))


@_quiet
def power_factor_against_watts(
    power_factor: Array, factor_uncertainty: Array, input_power: Array, apparent_power: Array, ratio_uncertainty: Array,
    table: str = LOAD_TEST,
) -> tuple[Evidence, ...]:  # fmt: skip
    """Rows whose power-factor column disagrees with watts over volt-amperes.

    Parameters
    ----------
    power_factor, factor_uncertainty : array, shape (n,)
        As a meter shows it. [1]
    input_power, apparent_power : array, shape (n,)
        [W], [VA]
    ratio_uncertainty : array, shape (n,)
        Standard uncertainty of watts over volt-amperes. [1]
    table : str

    Returns
    -------
    tuple of Evidence
        Sizes: power_factor, watts_over_volt_amperes, difference.
    """
    ratio = input_power / np.where(apparent_power > 0.0, apparent_power, np.nan)
    difference = np.abs(power_factor) - ratio
    rows = np.flatnonzero(np.abs(difference) > BEYOND * np.hypot(factor_uncertainty, ratio_uncertainty) + WAVE_FORM)
    sizes = {"power_factor": power_factor, "watts_over_volt_amperes": ratio, "difference": difference}
    read = int(np.isfinite(difference).sum())
    return _rows("power_factor_against_watts", table, rows, sizes, None, "caps", "power_factor", read)


@_quiet
def lost_sign_of_wattmeter(
    wattmeter_1: Array, wattmeter_2: Array, apparent_power: Array, relative_uncertainty: Array, table: str = LOAD_TEST
) -> tuple[Evidence, ...]:
    """Rows where the two wattmeters agree with the volt-amperes only with the sign of the lighter one turned.

    Two wattmeters on a balanced load give P = W1 + W2 and Q = sqrt(3)*(W1 - W2), so that 2*sqrt(W1^2 + W2^2 - W1*W2)
    is the apparent power; below a power factor of one half the lighter one reads negative.

    Parameters
    ----------
    wattmeter_1, wattmeter_2 : array, shape (n,)
        [W]
    apparent_power : array, shape (n,)
        sqrt(3)*V*I. [VA]
    relative_uncertainty : array, shape (n,)
        Relative standard uncertainty of the comparison. [1]
    table : str

    Returns
    -------
    tuple of Evidence
        Sizes: apparent_power, apparent_of_wattmeters, apparent_with_sign. [VA]
    """
    def apparent(product: Array) -> Array:
        return 2.0 * np.sqrt(np.maximum(wattmeter_1**2 + wattmeter_2**2 - product, 0.0))

    as_read, turned = apparent(wattmeter_1 * wattmeter_2), apparent(-wattmeter_1 * wattmeter_2)
    allowed = (BEYOND * relative_uncertainty + UNBALANCE) * apparent_power
    rows = np.flatnonzero((np.abs(as_read - apparent_power) > allowed) & (np.abs(turned - apparent_power) < 0.5 * allowed))
    sizes = {"apparent_power": apparent_power, "apparent_of_wattmeters": as_read, "apparent_with_sign": turned}
    suggestion = Suggestion("sign_of_lighter_wattmeter")
    read = int(np.isfinite(as_read * apparent_power).sum())
    found: list[Evidence] = []
    for row in rows:
        lighter = "wattmeter_1" if abs(wattmeter_1[row]) < abs(wattmeter_2[row]) else "wattmeter_2"
        found += _rows("lost_sign_of_wattmeter", table, [row], sizes, suggestion, "no_verdict", lighter, read)
    return tuple(found)


@_quiet
def efficiency_dips(efficiency: Array, relative_uncertainty: Array, shaft_power: Array) -> tuple[Evidence, ...]:
    """Rows whose efficiency lies below that of the next lighter and the next heavier load.

    Efficiency over load rises to one greatest value and falls; it cannot fall and rise again.

    Parameters
    ----------
    efficiency : array, shape (n,)
        [1]
    relative_uncertainty : array, shape (n,)
        Relative standard uncertainty between rows. [1]
    shaft_power : array, shape (n,)
        [W]

    Returns
    -------
    tuple of Evidence
        Sizes: efficiency, efficiency_lighter, efficiency_heavier.
    """
    usable = np.flatnonzero(np.isfinite(efficiency) & np.isfinite(shaft_power) & (efficiency > 0.0))
    order = usable[np.argsort(shaft_power[usable])]
    found = []
    for lighter, row, heavier in zip(order, order[1:], order[2:], strict=False):
        least = min(efficiency[lighter], efficiency[heavier])
        sigma = least * math.sqrt(float(relative_uncertainty[row] ** 2 + max(relative_uncertainty[lighter], relative_uncertainty[heavier]) ** 2))
        if least - efficiency[row] > (BEYOND + 2.0) * sigma + 0.02 * least:
            sizes = {
                "efficiency": float(efficiency[row]),
                "efficiency_lighter": float(efficiency[lighter]),
                "efficiency_heavier": float(efficiency[heavier]),
            }
            found.append(Evidence("efficiency_dips", LOAD_TEST, int(row), None, sizes, None, "caps"))
    return tuple(found)


@_quiet
def no_load_watts_above_loaded(
    no_load_power: Array, no_load_voltage: Array, input_power: Array, voltage: Array, torque: Array, relative_uncertainty: float
) -> tuple[Evidence, ...]:
    """Rows of the no-load table that take more watts than a loaded row at about the same voltage.

    Parameters
    ----------
    no_load_power, no_load_voltage : array, shape (k,)
        [W], [V]
    input_power, voltage, torque : array, shape (n,)
        Of the load test. [W], [V], [N*m]
    relative_uncertainty : float
        Relative standard uncertainty of comparing two powers. [1]

    Returns
    -------
    tuple of Evidence
        Sizes: no_load_power, loaded_power [W], load_row.
    """
    found = []
    top = np.nanmax(torque, initial=-np.inf)
    for row, (power, volts) in enumerate(zip(no_load_power, no_load_voltage, strict=True)):
        beside = (np.abs(voltage / volts - 1.0) < 0.03) & (torque > 0.25 * top) & np.isfinite(input_power)
        if not beside.any():
            continue
        least = int(np.flatnonzero(beside)[np.argmin(input_power[beside])])
        if power > input_power[least] * (1.0 + BEYOND * relative_uncertainty + 0.05):
            sizes = {"no_load_power": float(power), "loaded_power": float(input_power[least]), "load_row": float(least)}
            found.append(Evidence("no_load_watts_above_loaded", NO_LOAD, row, "input_power", sizes, None, "caps"))
    return tuple(found)


@_quiet
def currents_cannot_sum(
    current_a: Array, current_b: Array, current_c: Array, uncertainty: Array, table: str = LOAD_TEST
) -> tuple[Evidence, ...]:
    """Rows whose three line currents cannot sum to zero: one is greater than the two others together.

    Parameters
    ----------
    current_a, current_b, current_c : array, shape (n,)
        Of a motor on three wires. [A]
    uncertainty : array, shape (n,)
        Standard uncertainty of one current. [A]
    table : str

    Returns
    -------
    tuple of Evidence
        The cell is the greatest current. Sizes: current, sum_of_others. [A]
    """
    currents = np.stack([current_a, current_b, current_c], axis=1)
    greatest = np.max(currents, axis=1)
    others = currents.sum(axis=1) - greatest
    found = []
    for row in np.flatnonzero(greatest - others > BEYOND * math.sqrt(3.0) * uncertainty + 0.01 * others):
        cell = ("current_a", "current_b", "current_c")[int(np.argmax(currents[row]))]
        sizes = {"current": float(greatest[row]), "sum_of_others": float(others[row])}
        found.append(Evidence("currents_cannot_sum", table, int(row), cell, sizes, None, "caps"))
    return tuple(found)


@_quiet
def torque_without_power(
    shaft_power: Array, shaft_uncertainty: Array, input_power: Array, input_uncertainty: Array
) -> tuple[Evidence, ...]:
    """Rows that give more at the shaft than they take, or give torque while they take nothing.

    Parameters
    ----------
    shaft_power, shaft_uncertainty : array, shape (n,)
        [W]
    input_power, input_uncertainty : array, shape (n,)
        As read; volt-amperes do where no wattmeter was there. [W]

    Returns
    -------
    tuple of Evidence
        Check ``torque_without_power`` where the input is less than a tenth of the output, else
        ``output_above_input``. Sizes: shaft_power, input_power. [W]
    """
    read = np.isfinite(shaft_power) & np.isfinite(input_power)
    rows = np.flatnonzero(read & (shaft_power - input_power > BEYOND * np.hypot(shaft_uncertainty, input_uncertainty)))
    nothing = [row for row in rows if input_power[row] < 0.1 * shaft_power[row]]
    more = [row for row in rows if row not in nothing]
    sizes = {"shaft_power": shaft_power, "input_power": input_power}
    whole = int(read.sum())
    return (
        *_rows("torque_without_power", LOAD_TEST, nothing, sizes, None, "no_verdict", "input_power", whole),
        *_rows("output_above_input", LOAD_TEST, more, sizes, None, "no_verdict", None, whole),
    )


@_quiet
def winding_cools_under_load(temperature: Array, uncertainty: Array, current: Array, time: Array | None = None) -> tuple[Evidence, ...]:
    """Rows whose winding is cooler than in the row before at no less current.

    A winding above the temperature its current holds it at would cool too; it is compared only with a row before it
    that had less current, or as much, and with that row's own predecessor no hotter.

    Parameters
    ----------
    temperature, uncertainty : array, shape (n,)
        Uncertainty between rows. [K]
    current : array, shape (n,)
        [A], or any measure of the load.
    time : array, shape (n,), optional
        Order of the rows; as the table has them where left out. [s]

    Returns
    -------
    tuple of Evidence
        Sizes: temperature, temperature_before, fall. [K]
    """
    order = np.arange(len(temperature)) if time is None else np.argsort(np.where(np.isfinite(time), time, np.inf), kind="stable")
    order = order[np.isfinite(temperature[order]) & np.isfinite(current[order])]
    found = []
    for k in range(1, len(order)):
        before, row = order[k - 1], order[k]
        fall = temperature[before] - temperature[row]
        hotter_load_before = bool(np.any(current[order[:k]] > 1.05 * current[row]))
        if fall > BEYOND * math.hypot(uncertainty[row], uncertainty[before]) + FALL and not hotter_load_before:
            sizes = {"temperature": float(temperature[row]), "temperature_before": float(temperature[before]), "fall": float(fall)}
            found.append(Evidence("winding_cools_under_load", LOAD_TEST, int(row), "winding_temperature", sizes, None, "note"))
    return tuple(found)


@_quiet
def winding_not_believable(temperature: Array, uncertainty: Array, ambient: float | None, table: str = LOAD_TEST) -> tuple[Evidence, ...]:
    """Winding temperatures that no winding has: above what any insulation stands, or below the room it stands in.

    Whether a believable temperature is within the class of the insulation is judged elsewhere.

    Parameters
    ----------
    temperature, uncertainty : array, shape (n,)
        [K]
    ambient : float or None
        [K]
    table : str

    Returns
    -------
    tuple of Evidence
        Sizes: temperature, and limit or ambient. [K]
    """
    sizes = {"temperature": temperature, "limit": np.full(len(temperature), NOT_BELIEVABLE)}
    hot = np.flatnonzero(temperature - BEYOND * uncertainty > NOT_BELIEVABLE)
    found = _rows("winding_hotter_than_any", table, hot, sizes, None, "no_verdict", "winding_temperature", len(temperature))
    if ambient is None:
        return found
    sizes = {"temperature": temperature, "ambient": np.full(len(temperature), ambient)}
    cold = np.flatnonzero(temperature + BEYOND * uncertainty < ambient - FALL)
    return found + _rows("winding_colder_than_room", table, cold, sizes, None, "caps", "winding_temperature", len(temperature))
