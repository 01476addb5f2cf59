"""Is a row of the no-load, the locked-rotor or the heat-run table off what its other rows say.

Each table has one freedom of its own: the voltage at no load and with locked rotor, the time of a heat run. A short
law is fitted to the other rows, and the row is off it where it lies further than its own uncertainty, that of the law
and the others' scatter allow. Laws: current at no load is magnetising current, straight in the voltage with saturation
above; power at no load goes with the square of the voltage over constant friction (IEEE Std 112, 5.5); with locked
rotor current goes with the voltage, power and torque with its square (IEEE Std 112, 7.2); a temperature approaches its
end exponentially (IEC 60034-1, 8.3).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from certgen.assessment.plausibility.evidence import HEAT_RUN, LOCKED_ROTOR, NO_LOAD, RowOffCurve
from certgen.assessment.plausibility.row_relations import TypedColumn
from certgen.assessment.plausibility.scatter_between_rows import Spread
from certgen.assessment.plausibility.slips import ORDER, decimals_of, proposals
from certgen.physics.domain import Array

#: Chi-square of one reading over the others' scatter beyond which it is off the law. Learned on simulated tests.
OFF = 36.0
#: A corrected reading nearer than this is explained.
EXPLAINED = 9.0
#: Fewest rows for which a row is named; parameters of a law and one more to tell.
FEWEST = 4
#: How far the laws themselves hold, as a part of the reading.
LAW_OF_CURRENT, LAW_OF_POWER, LAW_OF_LOCKED = 0.02, 0.02, 0.02
#: Scatter of a temperature between readings where none is stated. [K]
TEMPERATURE_SCATTER = 0.5


@dataclass(frozen=True)
class VoltageRows:
    """A table over voltage: arrays of shape (n,), NaN where empty. [V, A, W, N*m]

    ``spread`` by quantity (voltage, current, input_power, torque), ``columns`` as typed.
    """

    voltage: Array
    current: Array | None = None
    input_power: Array | None = None
    torque: Array | None = None
    spread: Mapping[str, Spread] | None = None
    columns: tuple[TypedColumn, ...] = ()


@dataclass(frozen=True)
class _Law:
    """A quantity over the abscissa as a sum of given functions."""

    quantity: str
    abscissa: Array
    ordinate: Array
    basis: Array  #: (n, p)
    sigma: Array  #: standard uncertainty of each row, the abscissa's part included


def no_load_rows_off(rows: VoltageRows) -> tuple[RowOffCurve, ...]:
    """The row of a no-load table that its neighbours contradict.

    Parameters
    ----------
    rows : VoltageRows

    Returns
    -------
    tuple of RowOffCurve
        At most one; empty with fewer than five rows, or where all fit.
    """
    with np.errstate(all="ignore"):
        laws = []
        volts = np.asarray(rows.voltage, dtype=float)
        ratio = volts / _top(volts)
        if rows.current is not None:
            basis = np.stack([ratio, ratio**3, ratio**7], axis=1)
            laws.append(_law(rows, "current", rows.current, basis, share=LAW_OF_CURRENT, steepness=3.0))
        if rows.input_power is not None:
            basis = np.stack([np.ones_like(ratio), ratio**2, ratio**6], axis=1)
            laws.append(_law(rows, "input_power", rows.input_power, basis, share=LAW_OF_POWER, steepness=3.0))
        return _worst(NO_LOAD, laws, rows.columns, volts)


def locked_rotor_rows_off(rows: VoltageRows) -> tuple[RowOffCurve, ...]:
    """The row of a locked-rotor table that its neighbours contradict.

    Parameters
    ----------
    rows : VoltageRows

    Returns
    -------
    tuple of RowOffCurve
        At most one; empty with fewer than four rows, or where all fit.
    """
    with np.errstate(all="ignore"):
        volts = np.asarray(rows.voltage, dtype=float)
        ratio = volts / _top(volts)
        laws = []
        for quantity, power in (("current", 1), ("input_power", 2), ("torque", 2)):
            values = getattr(rows, quantity)
            if values is not None:
                basis = np.stack([ratio**power, ratio ** (power + 1)], axis=1)
                laws.append(_law(rows, quantity, values, basis, share=LAW_OF_LOCKED, steepness=power + 0.5))
        return _worst(LOCKED_ROTOR, laws, rows.columns, volts)


def heat_run_rows_off(
    time: Array, temperatures: Mapping[str, Array], scatter: float = TEMPERATURE_SCATTER
) -> tuple[RowOffCurve, ...]:
    """The reading of a heat run that its neighbours contradict, for each temperature column.

    A reading is held against the exponential through the others and against the straight line between the readings
    beside it; off it must be of both, so that a change of load or of cooling is no reading gone wrong.

    Parameters
    ----------
    time : array, shape (n,)
        [s], in any order.
    temperatures : mapping of str to array, shape (n,)
        Columns by name. [K] or [degC]
    scatter : float
        Standard uncertainty between readings. [K]

    Returns
    -------
    tuple of RowOffCurve
        At most one a column, the first and the last reading never.
    """
    with np.errstate(all="ignore"):
        found = [_heat_run_row(np.asarray(time, dtype=float), name, np.asarray(values, dtype=float), scatter)
                 for name, values in temperatures.items()]  # fmt: skip
        return tuple(each for each in found if each is not None)


def _top(volts: Array) -> float:
    """A typical high voltage of the table, which one slip does not move far."""
    ordered = np.sort(np.abs(volts[np.isfinite(volts)]))
    return float(ordered[-2]) if len(ordered) > 1 and ordered[-2] > 0.0 else 1.0


def _law(rows: VoltageRows, quantity: str, values: Array, basis: Array, *, share: float, steepness: float) -> _Law:
    spreads = rows.spread or {}
    given = np.asarray(values, dtype=float)
    volts = np.asarray(rows.voltage, dtype=float)
    own = spreads.get(quantity, Spread(0.0, 0.005)).of(given)
    relative = spreads.get("voltage", Spread(0.0, 0.003)).of(volts) / np.where(volts > 0.0, volts, np.nan)
    return _Law(
        quantity, volts, given, basis, np.sqrt(own**2 + (share * given) ** 2 + (steepness * relative * given) ** 2)
    )


def _worst(table: str, laws: Sequence[_Law], columns: tuple[TypedColumn, ...], volts: Array) -> tuple[RowOffCurve, ...]:
    """The row furthest off, over all laws; a row off by several may have its voltage wrong."""
    judged = [(law, *_left_out(law)) for law in laws]
    judged = [each for each in judged if np.isfinite(each[1]).any()]
    if not judged:
        return ()
    left = np.sum([np.where(np.isfinite(each[3]), each[3], 1e300) for each in judged], axis=0)
    row = int(np.argmin(left))  # without the row that is wrong the others agree best
    off = [each for each in judged if each[1][row] > OFF]
    if not off:
        return ()
    law, distance, expected, _ = max(off, key=lambda each: each[1][row])
    if len(off) > 1:
        voltage = _voltage_that_fits([each[0] for each in off], row)
        if voltage is not None:
            columns_of = [each for each in columns if each.quantity == "voltage"] or [
                TypedColumn("voltage", "voltage", volts)
            ]
            return (
                _named(table, row, float(distance[row]), columns_of[0], expected=voltage, tolerance=0.04 * voltage),
            )
    named = [each for each in columns if each.quantity == law.quantity]
    named = named or [TypedColumn(law.quantity, law.quantity, law.ordinate)]
    tolerance = 3.0 * float(np.hypot(law.sigma[row] * abs(expected[row] / law.ordinate[row]), 0.02 * expected[row]))
    found = _named(table, row, float(distance[row]), named[0], expected=float(expected[row]), tolerance=tolerance)
    clear = len(named) == 1 and (len(off) < len(judged) or len(judged) == 1) and len(judged) > 1
    return (replace(found, cell_is_clear=clear),)


def _left_out(law: _Law) -> tuple[Array, Array, Array]:
    """Distance of each row from the law through the others, what the law expects of it, and the others' chi-square."""
    usable = np.isfinite(law.basis).all(axis=1) & np.isfinite(law.ordinate) & np.isfinite(law.sigma) & (law.sigma > 0.0)
    usable &= (np.abs(law.ordinate) < 1e12) & (np.abs(law.basis) < 1e6).all(axis=1)
    distance, expected, left = (np.full(len(law.ordinate), np.nan) for _ in range(3))
    at = np.flatnonzero(usable)
    terms = law.basis.shape[1]
    for row in at:
        others = at[at != row]
        used = min(terms, len(others) - 2)
        if len(at) < FEWEST or used < 1:
            continue
        scaled = law.basis[others, :used] / law.sigma[others, None]
        normal = scaled.T @ scaled
        normal += 1e-10 * np.eye(used) * (np.trace(normal) + 1e-30)
        if not np.isfinite(normal).all():
            continue  # readings without any scatter beside their size
        inverse = np.linalg.pinv(normal, hermitian=True)
        solution = inverse @ (scaled.T @ (law.ordinate[others] / law.sigma[others]))
        misfit = float((((law.ordinate[others] - law.basis[others, :used] @ solution) / law.sigma[others]) ** 2).sum())
        scatter = (2.0 + misfit) / (2.0 + len(others) - used)
        value = float(law.basis[row, :used] @ solution)
        sigma = law.sigma[row] * max(abs(value / law.ordinate[row]), 1.0) if law.ordinate[row] else law.sigma[row]
        carried = float(law.basis[row, :used] @ inverse @ law.basis[row, :used])
        beyond = _beyond(law.abscissa[row], law.abscissa[others])
        distance[row] = (
            (law.ordinate[row] - value) ** 2 / (sigma**2 + carried) / max(scatter, 1.0) / (1.0 + beyond) ** 2
        )
        expected[row], left[row] = value, misfit
    return distance, expected, left


def _beyond(place: float, others: Array) -> float:
    """How far a row lies outside the others, in spans: a law carried on is believed less."""
    low, high = float(np.min(others)), float(np.max(others))
    span = max(high - low, 1e-9 * abs(high), 1e-12)
    return 4.0 * max(0.0, (place - high) / span, (low - place) / span)


def _voltage_that_fits(laws: Sequence[_Law], row: int) -> float | None:
    """The voltage at which all laws give what the row reads, within a twentieth of each other."""
    found = []
    for law in laws:
        others = np.flatnonzero(
            np.isfinite(law.ordinate) & np.isfinite(law.abscissa) & (np.arange(len(law.ordinate)) != row)
        )
        order = others[np.argsort(law.ordinate[others])]
        value = law.ordinate[row]
        if not law.ordinate[order[0]] < value < law.ordinate[order[-1]]:
            return None
        found.append(float(np.interp(value, law.ordinate[order], law.abscissa[order])))
    return float(np.mean(found)) if max(found) < 1.05 * min(found) else None


def _named(
    table: str, row: int, distance: float, column: TypedColumn, *, expected: float, tolerance: float
) -> RowOffCurve:
    """The entry for a cell whose quantity should read ``expected``, with the slip that takes it there."""
    typed = float(column.values[row])
    tries = proposals(typed, column.quantity, decimals_of(np.asarray(column.values, dtype=float)))
    fitting = [each for each in tries if abs(each.value * column.change - expected) <= tolerance]
    fitting.sort(key=lambda each: (ORDER.index(each.slip), abs(each.value * column.change - expected)))
    implied = fitting[0].value if fitting else expected / column.change if column.change else None
    return RowOffCurve(
        table, row, (row,), distance, column.quantity, column.name, True, typed * column.to_si,
        None if implied is None else float(implied * column.to_si), implied, fitting[0].slip if fitting else None,
    )  # fmt: skip


def _heat_run_row(time: Array, name: str, values: Array, scatter: float) -> RowOffCurve | None:
    usable = np.flatnonzero(np.isfinite(time) & np.isfinite(values) & (np.abs(values) < 1e6) & (np.abs(time) < 1e9))
    if len(usable) < FEWEST + 1:
        return None
    order = usable[np.argsort(time[usable], kind="stable")]
    hours, kelvin = time[order], values[order]
    best: tuple[float, int, float] | None = None
    for k in range(1, len(order) - 1):
        kept = np.arange(len(order)) != k
        line = float(np.interp(hours[k], hours[kept], kelvin[kept]))
        step = abs(kelvin[k + 1] - kelvin[k - 1])
        law, sigma = _approach(hours[kept], kelvin[kept], hours[k])
        allowed = (scatter**2 + sigma**2) * OFF
        from_law, from_line = (kelvin[k] - law) ** 2, max(0.0, abs(kelvin[k] - line) - 0.5 * step) ** 2
        distance = OFF * min(from_law, from_line) / allowed if allowed > 0.0 else 0.0
        if distance > OFF and (best is None or distance > best[0]):
            best = (distance, k, 0.5 * (law + line))
    if best is None:
        return None
    distance, k, expected = best
    column = TypedColumn(name, "temperature", values)
    return _named(
        HEAT_RUN,
        int(order[k]),
        float(distance),
        column,
        expected=expected,
        tolerance=max(3.0 * scatter, 0.03 * abs(expected)),
    )


def _approach(time: Array, values: Array, at: float) -> tuple[float, float]:
    """Value of the best exponential approach through readings at a time, and the scatter of the readings about it."""
    span = max(float(np.ptp(time)), 1e-9)
    constants = np.geomspace(0.1, 10.0, 25) * span
    decay = np.exp(-(time - time[0]) / constants[:, np.newaxis])  # a row for each time constant
    centre = decay.mean(axis=1, keepdims=True)
    spread = np.sum((decay - centre) ** 2, axis=1)
    covered = np.sum((decay - centre) * (values - values.mean()), axis=1)
    slope = np.divide(covered, spread, out=np.zeros_like(covered), where=spread > 0.0)
    final = values.mean() - slope * centre[:, 0]
    residuals = values - (final[:, np.newaxis] + slope[:, np.newaxis] * decay)
    sigmas = np.sqrt(np.sum(residuals**2, axis=1) / max(len(time) - 3, 1))
    best = int(np.argmin(sigmas))
    if not sigmas[best] < np.std(values):
        return float(np.mean(values)), float(np.std(values))
    return float(final[best] + slope[best] * np.exp(-(at - time[0]) / constants[best])), float(sigmas[best])
