"""Locked-rotor current and torque with the errors of their readings and of the supply they are brought from."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.physics.breakdown import summit_by_circuit
from certgen.physics.domain import Array
from certgen.physics.induction import locked_rotor_current_at, locked_rotor_torque_at
from certgen.reduction.locked_rotor import TABLE, held_rows
from certgen.reduction.model import BreakdownFit, HeldRotor, LoadPoints, LockedRotor
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, linear, nominal, single

_NAMES = ("voltage", "frequency", "current", "torque")
_BETWEEN_POINTS = Message("input.between_points")
#: More readings than this are thinned out before their errors are carried through the fit.
_MOST_CARRIED = 24


def locked_rotor_errors(errors: Errors, job: Job, held: LockedRotor, points: LoadPoints) -> dict[str, Correlated]:
    """Current [A] and torque [N*m] with the rotor locked, as reported: at rated supply, or as read where not scaled.

    Parameters
    ----------
    errors : Errors
        The tables. [SI]
    job : Job
        Its rated voltage and frequency are exact. [SI]
    held : LockedRotor
        The figures as found.
    points : LoadPoints
        The load points, some at standstill. [SI]

    Returns
    -------
    dict
        'current' and 'torque', ``None`` where not read. Voltmeter, arm and scale err as in the load test.

    References
    ----------
    JCGM 100:2008, 5.1.6: the square of the voltage counts twice.
    """
    at_rest = np.flatnonzero(points.speed == 0.0).tolist()
    rows = {name: [errors.points[name][row] for row in at_rest] for name in _NAMES}
    if TABLE in errors.tables:
        read = errors.of_table(errors.tables[TABLE], lambda measured: held_rows(measured, job), rig=True)
        rows = {name: read[name] + rows[name] for name in _NAMES}
    return {
        "current": _at_rated(held.current, rows["current"], rows, locked_rotor_current_at, job),
        "torque": _at_rated(held.torque, rows["torque"], rows, locked_rotor_torque_at, job),
    }


def _at_rated(
    found: HeldRotor | None,
    values: list[Correlated],
    rows: dict[str, list[Correlated]],
    scale: Callable[..., float | Array],
    job: Job,
) -> Correlated:
    if found is None:
        return None
    value, voltage, frequency = values[found.row], rows["voltage"][found.row], rows["frequency"][found.row]
    if not math.isfinite(found.at_rated) or found.at_rated == found.read:
        return value
    rated = job.nameplate.voltage
    assert rated is not None  # figures are scaled to a voltage on the plate only
    if not found.other_frequency or job.nameplate.frequency is None:
        return single(lambda read, volts: np.asarray(scale(read, rated / volts)), value, voltage)
    flux = rated / job.nameplate.frequency
    return single(lambda read, volts, hertz: np.asarray(scale(read, flux * hertz / volts)), value, voltage, frequency)


def breakdown_errors(errors: Errors, points: LoadPoints, fit: BreakdownFit) -> tuple[Correlated, Correlated]:
    """Breakdown torque [N*m] and its speed [rad/s] with the errors of the points fitted, and what lies between them.

    Parameters
    ----------
    errors : Errors
        The load points with their errors. [SI]
    points : LoadPoints
        The same as read. [SI]
    fit : BreakdownFit
        The summit found.

    Returns
    -------
    tuple of (Correlated, Correlated)
        ``None`` where an error of a point is not known.

    References
    ----------
    JCGM 100:2008, 5.1.3, the fit differentiated by every reading.
    """
    nearest = fit.rows[int(np.argmin(np.abs(points.speed[fit.rows] - fit.speed)))]
    torque, speed = _of_circuit(errors, fit) if fit.by_circuit else (
        errors.points["torque"][nearest], errors.points["speed"][nearest]
    )  # fmt: skip
    if torque is None or speed is None:
        return None, None
    at_fit = linear(fit.torque, [(fit.torque / nominal(torque), torque)]), linear(fit.speed, [(1.0, speed)])
    return (
        errors.between(at_fit[0], _BETWEEN_POINTS, fit.torque_spread),
        errors.between(at_fit[1], _BETWEEN_POINTS, fit.speed_spread),
    )


def _of_circuit(errors: Errors, fit: BreakdownFit) -> tuple[Correlated, Correlated]:
    rows = fit.rows
    if rows.size > _MOST_CARRIED:
        rows = rows[np.unique(np.linspace(0, rows.size - 1, _MOST_CARRIED).round().astype(int))]
    count = rows.size
    readings = [errors.points[name][row] for name in ("slip", "torque", "speed") for row in rows]

    def split(at: tuple[Array, ...]) -> tuple[Array, Array, Array]:
        slip, torque, speed = (np.stack(at_of, axis=-1) for at_of in (at[:count], at[count:-count], at[-count:]))
        return slip, torque, speed

    def torque_of(*at: Array) -> Array:
        slip, torque, _ = split(tuple(np.broadcast_arrays(*at)))
        return summit_by_circuit(slip, torque)[0]

    def speed_of(*at: Array) -> Array:
        slip, torque, speed = split(tuple(np.broadcast_arrays(*at)))
        return np.asarray((1.0 - summit_by_circuit(slip, torque)[1]) * np.mean(speed / (1.0 - slip), axis=-1))

    return single(torque_of, *readings), single(speed_of, *readings)


def at_rated_voltage(torque: Correlated, voltage: Correlated, rated: float) -> Correlated:
    """A torque [N*m] read at a line voltage [V], brought to rated voltage [V] by its square."""
    return single(lambda read, volts: np.asarray(locked_rotor_torque_at(read, rated / volts)), torque, voltage)
