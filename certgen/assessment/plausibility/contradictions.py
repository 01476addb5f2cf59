"""Readings of a motor that contradict physics: its speed, slip, efficiency and winding temperature.

Each check takes SI arrays of shape (n,), NaN where a cell is empty, with their standard uncertainties, and returns
entries of evidence. A contradiction counts beyond ``BEYOND`` standard uncertainties; where a motor may honestly differ
(heating) an allowance of its own is added and named. The allowances are common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np

from certgen.assessment.plausibility.evidence import BEYOND, LOAD_TEST, Evidence, Suggestion, entries
from certgen.physics.domain import Array

#: Torque above this part of the greatest is a load. [1]
LOADED = 0.1
#: Slip may differ by this part between two rows by the winding's heating. [1]
HEATING_OF_SLIP = 0.25
#: A dip of the efficiency by less than this part is left to the curve through the rows. [1]
DIP = 0.04
#: A fall of the winding's temperature that is no scatter of its reading. [K]
FALL = 5.0
#: No winding insulation stands this. [K] A class R or S winding ends near 240 degC (IEC 60085), varnish chars above.
NOT_BELIEVABLE = 573.15
#: Share of a no-load speed by which it may lie below the synchronous speed. [1]
NO_LOAD_SLIP = 0.015


@np.errstate(all="ignore")
def faster_than_synchronous(
    speed: Array,
    speed_uncertainty: Array,
    *,
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
    return entries(
        "faster_than_synchronous",
        LOAD_TEST,
        rows,
        sizes,
        suggestion=suggestion,
        effect="no_verdict",
        cell="speed",
        whole=int(loaded.sum()),
    )


@np.errstate(all="ignore")
def slip_grows_as_load_falls(
    slip: Array,
    slip_uncertainty: Array,
    torque: Array,
    torque_uncertainty: Array,
    current: Array,
    *,
    voltage: Array | None = None,
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
    more = torque[None, :] > 1.15 * torque[:, None] + BEYOND * np.hypot(
        torque_uncertainty[None, :], torque_uncertainty[:, None]
    )
    more &= current[None, :] > 1.02 * current[:, None]
    at_voltage = slip[None, :] * (volts[None, :] / volts[:, None]) ** 2
    allowed = at_voltage * (1.0 + HEATING_OF_SLIP) + BEYOND * np.hypot(
        slip_uncertainty[:, None], slip_uncertainty[None, :]
    )
    against = more & (slip[:, None] > allowed) & (at_voltage > 0.0)
    if not against.any():
        return ()
    below, above = against.sum(axis=1), against.sum(axis=0)
    row = int(np.argmax(np.maximum(below, above)))
    other = int(np.argmax(against[row] if below[row] >= above[row] else against[:, row]))
    less, greater = (row, other) if below[row] >= above[row] else (other, row)
    sizes = {"slip": float(slip[less]), "slip_at_more_load": float(slip[greater]), "other_row": float(other)}
    return (Evidence("slip_grows_as_load_falls", LOAD_TEST, row, "speed", sizes, None, "no_verdict"),)


@np.errstate(all="ignore")
def supply_of_other_frequency(
    speed: Array,
    torque: Array,
    *,
    frequency: float,
    poles: int,
    frequency_measured: bool,
    plate_speed: float | None = None,
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


@np.errstate(all="ignore")
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
        sigma = least * math.sqrt(
            float(
                relative_uncertainty[row] ** 2 + max(relative_uncertainty[lighter], relative_uncertainty[heavier]) ** 2
            )
        )
        if least - efficiency[row] > (BEYOND + 2.0) * sigma + DIP * least:
            sizes = {
                "efficiency": float(efficiency[row]),
                "efficiency_lighter": float(efficiency[lighter]),
                "efficiency_heavier": float(efficiency[heavier]),
            }
            found.append(Evidence("efficiency_dips", LOAD_TEST, int(row), None, sizes, None, "caps"))
    return tuple(found)


@np.errstate(all="ignore")
def winding_cools_under_load(
    temperature: Array, uncertainty: Array, current: Array, time: Array | None = None
) -> tuple[Evidence, ...]:
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
    order = (
        np.arange(len(temperature))
        if time is None
        else np.argsort(np.where(np.isfinite(time), time, np.inf), kind="stable")
    )
    order = order[np.isfinite(temperature[order]) & np.isfinite(current[order])]
    found = []
    for k in range(1, len(order)):
        before, row = order[k - 1], order[k]
        fall = temperature[before] - temperature[row]
        hotter_load_before = bool(np.any(current[order[:k]] > 1.05 * current[row]))
        if fall > BEYOND * math.hypot(uncertainty[row], uncertainty[before]) + FALL and not hotter_load_before:
            sizes = {
                "temperature": float(temperature[row]),
                "temperature_before": float(temperature[before]),
                "fall": float(fall),
            }
            found.append(
                Evidence("winding_cools_under_load", LOAD_TEST, int(row), "winding_temperature", sizes, None, "note")
            )
    return tuple(found)


@np.errstate(all="ignore")
def winding_not_believable(
    temperature: Array, uncertainty: Array, ambient: float | None, table: str = LOAD_TEST
) -> tuple[Evidence, ...]:
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
    found = entries(
        "winding_hotter_than_any",
        table,
        hot,
        sizes,
        suggestion=None,
        effect="no_verdict",
        cell="winding_temperature",
        whole=len(temperature),
    )
    if ambient is None:
        return found
    sizes = {"temperature": temperature, "ambient": np.full(len(temperature), ambient)}
    cold = np.flatnonzero(temperature + BEYOND * uncertainty < ambient - FALL)
    return found + entries(
        "winding_colder_than_room",
        table,
        cold,
        sizes,
        suggestion=None,
        effect="caps",
        cell="winding_temperature",
        whole=len(temperature),
    )
