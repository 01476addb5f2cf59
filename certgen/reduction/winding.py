"""Resistance and temperature of a winding at every row of a test, from whatever was read."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from certgen.job.model import THREE_PHASE, ColdWinding, Job, Winding
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.electrics import mean_of_lines
from certgen.physics.losses import three_phase_winding_loss
from certgen.physics.winding import no_resistance, resistance_at, resistance_between_lines, temperature_by_resistance
from certgen.readings.model import Readings, Table
from certgen.reduction.model import LoadPoints, TooFewReadings


@dataclass(frozen=True)
class WindingReadings:
    """Resistance between terminals, cold at a known temperature and hot after running; SI, ``None`` where not read.

    ``scale`` turns a resistance as read into one between terminals.
    """

    constant: float  # degC below zero without resistance
    scale: float
    cold: tuple[float, float] | None  # ohm, K
    hot: float | None  # ohm

    def at(self, temperature: Array) -> Array:
        """Resistance between terminals at temperatures [K], shape (n,), in ohm; NaN without a cold reading."""
        if self.cold is None:
            return np.full(temperature.shape, np.nan)
        possible = np.where(temperature > no_resistance(self.constant), temperature, np.nan)
        return np.asarray(resistance_at(*self.cold, possible, constant=self.constant))

    def temperature(self, resistance: Array) -> Array:
        """Temperature at resistances between terminals [ohm], shape (n,), in K; NaN without a cold reading."""
        if self.cold is None:
            return np.full(resistance.shape, np.nan)
        return np.asarray(temperature_by_resistance(resistance, *self.cold, constant=self.constant))


@dataclass(frozen=True, eq=False)
class WindingState:
    """The winding at each row, shape (n,): resistance between terminals [ohm], temperature [K], NaN where not known."""

    resistance: Array
    temperature: Array


def winding_with_cold(job: Job) -> Winding | None:
    """The winding's readings of a job, the cold resistance filled in where three pairs of terminals were read instead.

    Parameters
    ----------
    job : Job
        Kind of motor and resistances. [SI]

    Returns
    -------
    Winding or None
        ``cold`` is the mean of the three pairs of a three-phase motor, at the temperature stated for them; a cold reading
        of its own goes first. Pairs of which no temperature is stated stand for none.

    References
    ----------
    IEC 60034-2-1:2014, 5.7.1, from memory: the resistance between lines is the mean of the three.
    """
    winding = job.readings.winding
    if winding is None or winding.cold is not None or winding.temperature is None or job.motor.type != THREE_PHASE:
        return winding
    if winding.between == "phases" or winding.u_v is None or winding.v_w is None or winding.w_u is None:
        return winding
    mean = float(mean_of_lines(winding.u_v, winding.v_w, winding.w_u))
    return replace(winding, cold=ColdWinding(mean, winding.temperature), between="lines")


def winding_readings(
    winding: Winding | None, hot: float | None, *, constant: float, three_phase: bool
) -> WindingReadings:
    """Cold and hot resistance between terminals.

    Parameters
    ----------
    winding : Winding or None
        The job's readings. [SI]
    hot : float or None
        Resistance of the warm winding at the instant of switching off, measured as the job says. [ohm]
    constant : float
        Temperature below 0 degC at which the linear law gives no resistance, as a positive number. [degC]
    three_phase : bool
        Whether a resistance may be that of one phase of three.

    Returns
    -------
    WindingReadings
        Between terminals; where the job does not say between what was read, between terminals is taken.

    Raises
    ------
    TooFewReadings
        The resistance is that of one phase and the connection of the winding is not given, or the cold temperature
        cannot be.
    """
    if winding is None:
        return WindingReadings(constant, 1.0, None, None)
    scale = 1.0
    if three_phase and winding.between == "phases":
        if winding.connection is None:
            raise TooFewReadings(Message("winding.no_connection"))
        scale = resistance_between_lines(1.0, winding.connection)
    cold = winding.cold
    if cold is not None and cold.temperature <= no_resistance(constant):
        raise TooFewReadings(Message("winding.impossible_cold", temperature=cold.temperature))
    return WindingReadings(
        constant,
        scale,
        None if cold is None else (scale * cold.resistance, cold.temperature),
        None if hot is None else scale * hot,
    )


def winding_state(table: Table, winding: WindingReadings, otherwise: tuple[float, float]) -> WindingState:
    """Resistance and temperature of the winding at every row.

    Parameters
    ----------
    table : Table
        A table with the columns winding_resistance or winding_temperature, n rows. [SI]
    winding : WindingReadings
        Resistance cold and hot.
    otherwise : tuple of float
        Resistance [ohm] and temperature [K] where a row has neither column; NaN where not known.

    Returns
    -------
    WindingState
        Arrays of shape (n,). A resistance read in the row goes first, then its temperature with the cold
        resistance, then ``otherwise``.
    """
    read = table.column("winding_resistance") * winding.scale
    resistance = np.where(read > 0.0, read, winding.at(table.column("winding_temperature")))
    fallback = ~np.isfinite(resistance)
    resistance = np.where(fallback, otherwise[0], resistance)
    temperature = np.where(fallback, otherwise[1], winding.temperature(resistance))
    return WindingState(resistance, temperature)


def hot_state(winding: WindingReadings) -> tuple[float, float]:
    """Resistance [ohm] and temperature [K] of the hot reading; NaN where not known."""
    if winding.hot is None:
        return np.nan, np.nan
    return winding.hot, float(winding.temperature(np.array([winding.hot]))[0])


def state_over_torque(torque: Array, state: WindingState, wanted: Array) -> WindingState:
    """The winding along the load curve.

    Parameters
    ----------
    torque : array, shape (n,)
        Torque of the rows the state was read at. [N*m]
    state : WindingState
        The winding at those rows.
    wanted : array, shape (m,)
        Torques along the curve. [N*m]

    Returns
    -------
    WindingState
        Arrays of shape (m,): straight between rows, the nearest row's beyond them.
    """
    return WindingState(*(_between(torque, values, wanted) for values in (state.resistance, state.temperature)))


def _between(torque: Array, values: Array, wanted: Array) -> Array:
    known = np.isfinite(torque) & np.isfinite(values)
    if not known.any():
        return np.full(wanted.shape, np.nan)
    order = np.argsort(torque[known], kind="stable")
    return np.interp(wanted, torque[known][order], values[known][order])


# The winding over a load test: resistance and temperature of each load point, and what they rest on.


@dataclass(frozen=True, eq=False)
class WindingOfTest:
    """The stator winding, or the armature of a direct-current motor, over the load test."""

    torque: Array  # of each load point, N*m
    readings: WindingReadings
    state: WindingState  # at each load point
    basis: Message  # what it rests on

    @property
    def lightest(self) -> int:
        """Row of the lightest load at which the winding is known."""
        known = np.flatnonzero(np.isfinite(self.state.resistance) & np.isfinite(self.torque))
        return int(known[np.argmin(np.abs(self.torque[known]))])

    def along(self, torque: Array) -> WindingState:
        """The winding at other torques of the same test [N*m]."""
        return state_over_torque(self.torque, self.state, torque)

    def stator_loss(self, point: LoadPoints) -> Array:
        """Loss of a three-phase winding at a point read off the load curve [W]."""
        return np.asarray(three_phase_winding_loss(point.current, self.along(point.torque).resistance))


def winding_of_test(
    job: Job, readings: Readings, torque: Array, *, hot: float | None, constant: float
) -> WindingOfTest:
    """Resistance and temperature of the winding at each load point.

    Parameters
    ----------
    job : Job
        Kind of motor and resistance cold and hot. [SI]
    readings : Readings
        The load test, of n rows. [SI]
    torque : array, shape (n,)
        Torque of its rows. [N*m]
    hot : float or None
        Resistance of the warm winding at the instant of switching off. [ohm]
    constant : float
        Temperature below 0 degC at which the linear law gives no resistance, as a positive number. [degC]

    Returns
    -------
    WindingOfTest
        The winding, with what its resistance rests on. [SI]

    Raises
    ------
    TooFewReadings
        Nothing gives the resistance under load.
    """
    table = readings.load_test
    three_phase = job.motor.type == THREE_PHASE
    winding = winding_readings(winding_with_cold(job), hot, constant=constant, three_phase=three_phase)
    state = winding_state(table, winding, hot_state(winding))
    if not (np.isfinite(state.resistance) & np.isfinite(torque)).any():
        raise TooFewReadings(Message("winding.no_cold" if winding.cold is None else "winding.not_under_load"))
    if "winding_resistance" in table.columns:
        basis = Message("winding.read_at_each_load")
    elif "winding_temperature" in table.columns and winding.cold is not None:
        basis = Message("winding.by_temperature")
    else:
        basis = Message("winding.hot_for_every_load")
    return WindingOfTest(torque, winding, state, basis)
