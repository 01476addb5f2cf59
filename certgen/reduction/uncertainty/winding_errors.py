"""The winding's resistance and rise with the errors of ohmmeter, thermometers and watch."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.electrics import mean_of_lines
from certgen.physics.thermal import Exponential, exponential_by_readings, resistance_of_rise, rise_by_resistance
from certgen.physics.winding import resistance_at
from certgen.readings.model import COOLING, Readings, Table
from certgen.reduction.heat import WindingRise, rises_of
from certgen.reduction.held_run import HeldRun
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import (
    Correlated,
    linear,
    nominal,
    nominals,
    propagated,
    single,
    straight_line,
    weighted,
)
from certgen.reduction.uncertainty.model import Measured
from certgen.reduction.winding import WindingOfTest, WindingReadings, winding_with_cold

# Readings that stand alone in the job (cold winding, room, insulation), each as a table, so that meters err in them.


COLD, HOT, ROOM, INSULATION = "winding cold", "winding hot", "room", "insulation"
PAIRS = "winding pairs"


def single_readings(job: Job) -> dict[str, Table]:
    """Tables of one row, of two for an insulation after one and ten minutes; those not read are absent. [SI]

    The thermometer of the winding is taken to have read the winding cold and the winding in the insulation test, that
    of the room every temperature of the room.
    """
    found: dict[str, Table | None] = {ROOM: _table(ambient_temperature=[job.conditions.ambient])}
    winding, insulation = winding_with_cold(job), job.readings.insulation
    if winding is not None and winding.cold is not None:
        cold = winding.cold
        found[COLD] = _table(winding_resistance=[cold.resistance], winding_temperature=[cold.temperature])
    if winding is not None and winding.u_v is not None:
        found[PAIRS] = _table(winding_resistance=[winding.u_v, winding.v_w, winding.w_u])
    if winding is not None and winding.hot is not None:
        hot = winding.hot
        found[HOT] = _table(winding_resistance=[hot.resistance], ambient_temperature=[hot.ambient])
    if insulation is not None:
        found[INSULATION] = _table(
            insulation_resistance=[insulation.at_1_min, insulation.at_10_min],
            winding_temperature=[insulation.temperature, None],
        )
    return {name: table for name, table in found.items() if table is not None}


def every_table(job: Job, readings: Readings) -> dict[str, Table]:
    """The load test, every other table, and the readings that stand alone, by name. [SI]"""
    return {"load_test": readings.load_test, **readings.others, **single_readings(job)}


def _table(**columns: list[float | None]) -> Table | None:
    read = {name: np.array(values, dtype=np.float64) for name, values in columns.items()}
    known: Mapping[str, np.ndarray[tuple[int, ...], np.dtype[np.float64]]] = {
        name: values for name, values in read.items() if np.isfinite(values).any()
    }
    rows = next(iter(read.values())).size
    return Table(known, ("",) * rows) if known else None


# The winding's resistance and rise with the errors of ohmmeter, thermometers and watch.


_RESISTANCE_SCATTER = Message("input.resistance_scatter")


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
    rises = propagated(rise_of, [resistances, *([one] * len(rows) for one in known)])
    logarithms = [linear(math.log(nominal(one)), [(1.0 / nominal(one), one)]) for one in rises]
    at_zero = straight_line(times, logarithms)[1]
    rise = linear(found.rise, [(found.rise, at_zero)])
    rise = errors.scattered(rise, _RESISTANCE_SCATTER, found.u_rise, len(rows) - 2)

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

    return propagated(at, [warmth, *([one] * len(warmth) for one in (resistance, temperature))])


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


# Final rise and time constant of a run at one load, with the errors of its thermometers and the scatter of its fit.


_HEATING_SCATTER = Message("input.heating_scatter")


def run_errors(errors: Errors, job: Job, run: HeldRun, fit: Exponential) -> dict[str, Correlated]:
    """The exponential of a run with its errors.

    Parameters
    ----------
    errors : Errors
        The tables. [SI]
    job : Job
        Its room temperature stands in where the cooling air was not read. [SI]
    run : HeldRun
        The run.
    fit : Exponential
        Its exponential.

    Returns
    -------
    dict
        'final_rise' [K], 'time_constant' [s] and 'remaining_rise' after the last reading [K]. An error
        all readings share moves them together; the scatter about the curve has n - 3 degrees of freedom.
        Times are taken as exact.

    References
    ----------
    JCGM 100:2008, 5.2, 4.2; the fit is differentiated where it stands (Gauss and Newton).
    """
    table = _rows_of(errors, run)

    def rises(measured: Measured) -> Mapping[str, Array]:
        return {"rise": rises_of(measured.readings.load_test, job.conditions.ambient).rise}

    read = errors.of_table(table, rises, at_once=False)["rise"]
    if not np.isfinite(table.column("ambient_temperature")).any() and run.ambient_known:
        read = [linear(value, [(1.0, one), (-1.0, room(errors))]) for value, one in zip(run.rise, read, strict=True)]
    _, by_final, by_constant = exponential_by_readings(run.time, fit)
    freedom = run.time.size - 3
    final = linear(fit.final, zip(by_final, read, strict=True))
    final = errors.scattered(final, _HEATING_SCATTER, fit.u_final, freedom)
    constant = linear(fit.time_constant, zip(by_constant, read, strict=True))
    left = linear(fit.final - float(run.rise[-1]), [(1.0, final), (-1.0, read[-1])])
    return {
        "final_rise": final,
        "time_constant": errors.scattered(constant, _HEATING_SCATTER, fit.u_time_constant, freedom),
        "remaining_rise": left,
    }


def _rows_of(errors: Errors, run: HeldRun) -> Table:
    """The rows of a table that a run is made of."""
    table = errors.tables[run.table]
    rows = np.flatnonzero(np.isin(table.column("time"), run.time))
    columns = {name: values[rows] for name, values in table.columns.items()}
    return Table(columns, tuple(table.remarks[row] for row in rows.tolist()))


# Resistances between each pair of terminals with the errors of the ohmmeter.


@dataclass(frozen=True)
class PairErrors:
    """The three resistances [ohm] and the deviation of the furthest from their mean [1]; ``None`` where not known."""

    resistances: tuple[Correlated, ...] = (None, None, None)
    unbalance: Correlated = None


def pair_errors(errors: Errors) -> PairErrors:
    """The three pairs with their errors: a part of the reading that is wrong leaves their unbalance alone."""
    read = errors.read(PAIRS)
    if not read:
        return PairErrors()
    pairs = read["winding_resistance"]
    values = [nominal(one) for one in pairs]
    mean = sum(values) / len(values)
    furthest = max(range(len(values)), key=lambda place: abs(values[place] - mean))

    def deviation(*ohms: Array) -> Array:
        """Of the pair that lies furthest: its slope is there even where all three are alike."""
        middle = mean_of_lines(*ohms)
        return np.asarray((ohms[furthest] - middle) / middle)

    return PairErrors(tuple(pairs), propagated(deviation, [[one] for one in pairs])[0])


# Insulation resistance with the errors of its tester and of the winding's thermometer.


@dataclass(frozen=True)
class InsulationErrors:
    """Resistance after one minute, the same at 40 degC [ohm], and polarization index [1]; ``None`` where not known."""

    at_1_min: Correlated = None
    corrected: Correlated = None
    polarization_index: Correlated = None


def insulation_errors(errors: Errors, factor: Callable[[Array], Array]) -> InsulationErrors:
    """The insulation reading with its errors.

    Parameters
    ----------
    errors : Errors
        The readings. [SI]
    factor : callable
        Takes temperatures [K], gives the factors to 40 degC [1].

    Returns
    -------
    InsulationErrors
        One tester read both resistances: a part of its reading that is wrong leaves the index alone.
    """
    read = errors.read(INSULATION)
    if not read:
        return InsulationErrors()
    first, second = read["insulation_resistance"]
    temperature = read["winding_temperature"][0] if "winding_temperature" in read else None
    return InsulationErrors(
        at_1_min=first,
        corrected=single(lambda ohms, kelvin: ohms * factor(kelvin), first, temperature),
        polarization_index=single(lambda one, ten: ten / one, first, second),
    )
