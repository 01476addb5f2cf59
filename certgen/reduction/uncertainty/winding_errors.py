"""The winding's resistance and rise with the errors of ohmmeter, thermometers and watch."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.physics.resistance import resistance_at
from certgen.physics.thermal import resistance_of_rise, rise_by_resistance
from certgen.readings.model import COOLING
from certgen.reduction.heat import WindingRise
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import (
    Correlated,
    linear,
    nominal,
    nominals,
    shifted,
    single,
    straight_line,
    weighted,
)
from certgen.reduction.uncertainty.single_readings import COLD, HOT, ROOM
from certgen.reduction.winding import WindingReadings
from certgen.reduction.winding_of_test import WindingOfTest

Array = NDArray[np.float64]
_SCATTER = "scatter of the resistances after switching off"


@dataclass(frozen=True)
class RiseErrors:
    """Rise of the winding [K] and the resistance it was found from [ohm], as read; ``None`` where not known."""

    rise: Correlated = None
    resistance: Correlated = None


def room(errors: Errors) -> Correlated:
    """Temperature of the room as stated for the test. [K]"""
    return _first(errors.read(ROOM), "ambient_temperature")


def cold(errors: Errors) -> tuple[Correlated, Correlated]:
    """Resistance [ohm] of the cold winding, as read, and its temperature [K]."""
    read = errors.read(COLD)
    return _first(read, "winding_resistance"), _first(read, "winding_temperature")


def hot_as_read(errors: Errors) -> Correlated:
    """Resistance of the hot winding where one reading was made [ohm]; ``None`` without."""
    return _first(errors.read(HOT), "winding_resistance")


def rise_errors(errors: Errors, found: WindingRise, *, constant: float) -> RiseErrors:
    """The winding's rise by resistance with its errors.

    Parameters
    ----------
    errors : Errors
        The readings cold and hot. [SI]
    found : WindingRise
        The rise as found, from one reading or carried back from several.
    constant : float
        Temperature below 0 degC at which the linear law gives no resistance, as a positive number. [degC]

    Returns
    -------
    RiseErrors
        One ohmmeter read both resistances: a part of its reading that is wrong leaves their ratio alone. Several
        readings after switching off carry the scatter about their line, n - 2 degrees of freedom.

    References
    ----------
    IEC 60034-1, 8.6.2.3.3, from memory; JCGM 100:2008, 5.2 and H.3.
    """
    air = _first(errors.read(HOT), "ambient_temperature")
    known = (*cold(errors), room(errors) if air is None else air)

    def rise_of(hot: Array, cold_: Array, at: Array, ambient: Array) -> Array:
        return np.asarray(
            rise_by_resistance(hot, cold=cold_, cold_temperature=at, ambient=ambient, constant=constant)  # type: ignore[arg-type]
        )

    series = errors.read(COOLING)
    if not found.carried_back:
        hot = _hot_as_read(errors, found, series)
        return RiseErrors(single(rise_of, hot, *known), hot)
    rows = _usable(series)
    times, resistances = ([series[name][row] for row in rows] for name in ("time", "winding_resistance"))
    rises = shifted(rise_of, [resistances, *([one] * len(rows) for one in known)])
    logarithms = [linear(math.log(nominal(one)), [(1.0 / nominal(one), one)]) for one in rises]
    at_zero = straight_line(times, logarithms)[1]
    rise = linear(found.rise, [(found.rise, at_zero)])
    rise = errors.scattered(rise, _SCATTER, found.u_rise, len(rows) - 2)

    def resistance_of(above: Array, cold_: Array, at: Array, ambient: Array) -> Array:
        return np.asarray(
            resistance_of_rise(above, cold=cold_, cold_temperature=at, ambient=ambient, constant=constant)  # type: ignore[arg-type]
        )

    return RiseErrors(rise, single(resistance_of, rise, *known))


def _hot_as_read(errors: Errors, found: WindingRise, series: Mapping[str, Sequence[Correlated]]) -> Correlated:
    read = hot_as_read(errors)
    if read is not None:
        return read
    return next((one for one in series.get("winding_resistance", ()) if nominal(one) == found.resistance), None)


def _usable(series: Mapping[str, Sequence[Correlated]]) -> list[int]:
    """Rows of a series with time and resistance, in order of time."""
    times, resistances = nominals(series["time"]), nominals(series["winding_resistance"])
    usable = np.flatnonzero(np.isfinite(times) & (resistances > 0.0))
    return [int(row) for row in usable[np.argsort(times[usable], kind="stable")]]


def _first(read: Mapping[str, Sequence[Correlated]], name: str) -> Correlated:
    return read[name][0] if name in read else None


def resistances(
    errors: Errors,
    winding: WindingReadings,
    read: Mapping[str, Sequence[Correlated]],
    *,
    rows: int,
    otherwise: Correlated,
) -> list[Correlated]:
    """Resistance between terminals at every row of a table, with its errors, by the rules of ``winding_state``.

    Parameters
    ----------
    errors : Errors
        The cold reading.
    winding : WindingReadings
        How readings become resistances between terminals.
    read : mapping
        Columns winding_resistance [ohm] and winding_temperature [K] of the table, where it has them.
    rows : int
        Rows n of the table.
    otherwise : Correlated
        Resistance where a row has neither. [ohm]

    Returns
    -------
    list of Correlated
        n resistances. [ohm]
    """
    nothing = [None] * rows
    direct, warmth = (read.get(name, nothing) for name in ("winding_resistance", "winding_temperature"))
    by_warmth = at_temperatures(errors, winding, warmth)
    found = []
    for row in range(rows):
        if nominal(direct[row]) > 0.0:
            found.append(linear(winding.scale * nominal(direct[row]), [(winding.scale, direct[row])]))
        else:
            found.append(otherwise if by_warmth[row] is None else by_warmth[row])
    return found


def at_temperatures(errors: Errors, winding: WindingReadings, warmth: Sequence[Correlated]) -> list[Correlated]:
    """Resistance between terminals [ohm] at temperatures [K], from the cold reading; ``None`` without one."""
    resistance, temperature = cold(errors)
    if winding.cold is None or resistance is None:
        return [None] * len(warmth)

    def at(wanted: Array, of: Array, by: Array) -> Array:
        known = np.where(np.isfinite(wanted), wanted, by)
        found = winding.scale * np.asarray(resistance_at(of, by, known, constant=winding.constant))
        return np.where(np.isfinite(wanted), found, np.nan)

    return shifted(at, [warmth, *([one] * len(warmth) for one in (resistance, temperature))])


def of_load_test(errors: Errors, winding: WindingOfTest, hot: Correlated) -> list[Correlated]:
    """Resistance between terminals at each load point, by the hot reading [ohm] where a row has none. [ohm]"""
    readings, count = winding.readings, winding.torque.size
    read = {**errors.read("load_test"), "winding_temperature": errors.points["temperature"]}
    otherwise = None if hot is None else linear(readings.scale * nominal(hot), [(readings.scale, hot)])
    return resistances(errors, readings, read, rows=count, otherwise=otherwise)


def along(winding: WindingOfTest, of_rows: Sequence[Correlated], torque: Array) -> list[Correlated]:
    """Resistance between terminals [ohm] at torques of shape (m,) [N*m], straight between load points."""
    known = np.flatnonzero(np.isfinite(winding.torque) & np.isfinite(nominals(of_rows)))
    order = known[np.argsort(winding.torque[known], kind="stable")]
    if not order.size:
        return [None] * torque.size
    weights = np.array([np.interp(torque, winding.torque[order], row) for row in np.eye(order.size)])
    return [weighted([of_rows[row] for row in order], of) for of in weights.T]
