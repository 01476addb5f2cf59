"""Locked-rotor current and torque with the errors of their readings and of the supply they are brought from."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from certgen.job.model import Job
from certgen.physics.domain import Array
from certgen.physics.induction import locked_rotor_current_at, locked_rotor_torque_at
from certgen.reduction.locked_rotor import TABLE, held_rows
from certgen.reduction.model import HeldRotor, LoadPoints, LockedRotor
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, single

_NAMES = ("voltage", "frequency", "current", "torque")


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
