"""Is a row of the load test off the curve through the other rows, which cell, and which slip explains it.

A motor under test has one freedom, its load, so that all readings lie on one smooth curve. The curve is fitted to the
other rows (``smooth_curve``); the row is off it where its distance, in units of its own uncertainty between rows, the
curve's, and what the curve may bend, is more than chance gives. The rates of detection and of false alarms are
measured by ``tests/studies/rows_off_curve.py``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.plausibility.evidence import LOAD_TEST, Evidence, Suggestion
from certgen.assessment.plausibility.past_breakdown import rows_past_breakdown
from certgen.assessment.plausibility.row_relations import (
    LoadRows,
    RowSpace,
    TypedColumn,
    quantities_of,
    space_of,
)
from certgen.assessment.plausibility.slips import ORDER, decimals_of, proposals
from certgen.assessment.plausibility.smooth_curve import WIDEST, Curves, fit_without, nearest

Array = NDArray[np.float64]

#: Chi-square distance over the others' scatter beyond which a row is off the curve. Learned on simulated tests.
OFF = 25.0
#: A corrected row nearer than this is explained.
EXPLAINED = 12.0
#: A cell is clear where the next best cell leaves the row this much further off.
CLEAR = 7.0
#: Leaving one cell out must bring the row back to this, else two cells may have been exchanged.
ONE_CELL = 4.0
#: A factor that explains a row this much better than another is believed before it.
FACTOR_BETTER = 3.0
#: With three rows nothing tells which is off, and the least of the three distances counts for more.
OF_THREE = 2.2
#: A row alone beyond the others is judged by a curve carried on: its distance counts for less.
ALONE, ALONE_BEYOND, ALONE_WITHIN = 3.0, 1.5, 4.0
#: Loads that differ by less than this part make no curve.
LEAST_SPREAD = 0.05
#: A voltage is named only where it is off by more than this part, and a lone one beyond the larger is suspected first.
VOLTAGE_NAMED, VOLTAGE_LONE = 0.03, 0.08
#: Natural logarithm of a ratio of voltages that no load test spans.
VOLTAGE_BEYOND = 0.25
#: More rows than this are not all tried as the one left out.
MOST_TRIED = 24
_CURVE_ROWS = 3


@dataclass(frozen=True)
class RowOffCurve:
    """A row that the others contradict.

    ``row`` is None where it cannot be told which (three rows); ``candidate_rows`` then lists those it may be.
    ``cell`` is the typed column, or the quantity where several columns make it and none can be told; it is the cell
    that, left out, brings the row back best, and ``cell_is_clear`` tells that no other does nearly as well.
    ``implied`` is what the curve wants the cell to read [SI of the column], ``implied_typed`` the same as typed.
    ``slip`` is a key, ``exchanged_with`` the other cell of ``cells_exchanged``.
    """

    table: str
    row: int | None
    candidate_rows: tuple[int, ...]
    distance: float
    quantity: str | None
    cell: str | None
    cell_is_clear: bool
    typed: float | None
    implied: float | None
    implied_typed: float | None
    slip: str | None
    exchanged_with: str | None = None

    def evidence(self) -> Evidence:
        """The same as an entry of evidence."""
        sizes = {"distance": self.distance}
        if self.implied is not None and self.typed is not None:
            sizes |= {"read": self.typed, "implied": self.implied}
        suggestion = None
        if self.slip is not None:
            values: dict[str, float | str] = {} if self.implied is None else {"implied": self.implied}
            if self.exchanged_with is not None:
                values["exchanged_with"] = self.exchanged_with
            suggestion = Suggestion(self.slip, values)
        check = "row_off_its_neighbours" if self.row is not None else "a_row_off_its_neighbours"
        return Evidence(check, self.table, self.row, self.cell, sizes, suggestion, "no_verdict")


def rows_off_curve(rows: LoadRows) -> tuple[RowOffCurve, ...]:
    """Rows of a load test that lie off the curve through the others, the worst first; at most two.

    Parameters
    ----------
    rows : LoadRows
        The test, n rows in any order; NaN where a cell is empty.

    Returns
    -------
    tuple of RowOffCurve
        Empty where every row fits, where fewer than three rows are complete, or where the loads hardly differ.
    """
    with np.errstate(all="ignore"):
        first = _worst_row(rows, np.ones(len(np.atleast_1d(rows.speed)), dtype=bool))
        if first is None:
            return ()
        count = len(rows.speed)
        if first.row is None or count < _CURVE_ROWS + 3:
            return (first,)
        others = np.arange(count) != first.row
        second = _worst_row(rows, others)
        return (first,) if second is None or second.row is None else (first, second)


def _worst_row(rows: LoadRows, allowed: NDArray[np.bool_]) -> RowOffCurve | None:
    read = quantities_of(rows)
    space = space_of(rows, read)
    if space is None:
        return None
    read = {name: read[name] for name in space.quantities}
    whole = allowed & np.all([np.isfinite(values) & (np.abs(values) < 1e12) for values in read.values()], axis=0)
    if whole.sum() < _CURVE_ROWS:
        return None
    by_sign = _lone_sign(rows, whole)
    if by_sign is not None:
        return by_sign
    if "voltage" in space.quantities:
        by_voltage = _lone_voltage(rows, space, read, whole)
        if by_voltage is not None:
            return by_voltage
    past = rows_past_breakdown(rows, read, whole)
    steep = whole & ~past
    if steep.sum() < _CURVE_ROWS + past.any():
        return None
    judged = _Judged.of(space, read, np.flatnonzero(steep))
    return None if judged is None else judged.verdict(rows)


@dataclass(frozen=True)
class _Judged:
    """The rows of a test on their curves, each left out in turn."""

    space: RowSpace
    read: Mapping[str, Array]
    at: NDArray[np.intp]  #: rows of the table that are on the curve
    scale: Array
    points: Array
    covariance: Array
    curves: Curves
    tried: NDArray[np.intp]  #: index into ``at`` of the row left out of each set of curves

    @classmethod
    def of(cls, space: RowSpace, read: Mapping[str, Array], at: NDArray[np.intp]) -> _Judged | None:
        chosen = {name: values[at] for name, values in read.items()}
        points = space.place(chosen)
        usable = np.isfinite(points).all(axis=1)
        if usable.sum() < _CURVE_ROWS:
            return None
        at, points = at[usable], points[usable]
        chosen = {name: values[at] for name, values in read.items()}
        covariance = space.covariance(chosen, points, space.directions(chosen, points))
        scale = np.median(np.abs(points), axis=0) + 1e-9 * np.max(np.abs(points), axis=0)
        if not (np.isfinite(scale).all() and (scale > 0.0).all()):
            return None
        points, covariance = points / scale, _scaled(covariance, scale)
        if np.median(points[:, -1]) <= 0.0:
            return None
        tried = _tried(points, covariance, space)
        kept = np.ones((len(tried), len(at)), dtype=bool)
        kept[np.arange(len(tried)), tried] = False
        spread = _spread_of_loads(points[:, -1], kept) >= LEAST_SPREAD
        tried, kept = tried[spread], kept[spread]
        if len(tried) == 0:
            return None
        curves = fit_without(points, covariance, kept, points[tried, -1], space.bends)
        return cls(space, read, at, scale, points, covariance, curves, tried)

    def verdict(self, rows: LoadRows) -> RowOffCurve | None:
        misfit = np.where(np.isfinite(self.curves.misfit), self.curves.misfit, np.inf)
        if len(self.at) == _CURVE_ROWS:
            return self._of_three(rows)
        which = int(np.argmin(misfit))
        distance = self.distance(which)
        if not distance > OFF:
            return None
        row = int(self.at[self.tried[which]])
        return _Cell(self, which, row, rows).named(distance)

    def _of_three(self, rows: LoadRows) -> RowOffCurve | None:
        distances = [self.distance(which) for which in range(len(self.tried))]
        if len(distances) < _CURVE_ROWS or not OF_THREE * min(distances) > OFF:
            return None
        found = [_Cell(self, which, int(self.at[self.tried[which]]), rows).named(distances[which]) for which in range(3)]
        explained = [each for each in found if each.slip is not None] or found
        candidates = tuple(sorted(each.row for each in explained if each.row is not None))
        least = OF_THREE * min(distances)
        if len(explained) == 1 and explained[0].slip not in (None, "one_digit"):
            return replace(explained[0], row=None, candidate_rows=candidates, distance=least, cell_is_clear=False)
        return RowOffCurve(LOAD_TEST, None, candidates, least, None, None, False, None, None, None, None)

    def readings(self, row: int, count: int = 1) -> dict[str, Array]:
        return {name: np.repeat(values[row], count) for name, values in self.read.items()}

    def placed(self, readings: Mapping[str, Array]) -> tuple[Array, Array, dict[str, Array]]:
        """Points, covariance and directions of readings on the axes of the curves."""
        points = self.space.place(readings)
        moves = self.space.directions(readings, points)
        covariance = _scaled(self.space.covariance(readings, points, moves), self.scale)
        return points / self.scale, covariance, {name: move / self.scale for name, move in moves.items()}

    def distances(self, which: int, readings: Mapping[str, Array]) -> Array:
        """Distance of each of C sets of readings of a row from the others' curve; infinite where there is none."""
        points, covariance, _ = self.placed(readings)
        finite = np.isfinite(points).all(axis=1) & np.isfinite(covariance).all(axis=(1, 2)) & (np.abs(points) < 1e6).all(axis=1)
        distance = np.full(len(points), np.inf)
        if finite.any():
            free = np.zeros_like(points[finite])
            near = nearest(self.curves, which, self.space.bends, points[finite], covariance[finite], free)
            distance[finite] = np.where(np.isfinite(near.distance), near.distance, np.inf)
        return distance

    def distances_at_usual_voltage(self, which: int, readings: Mapping[str, Array]) -> Array:
        """The same for proposed readings; a voltage unlike the others' explains nothing and is infinitely far."""
        distance = self.distances(which, readings)
        if "voltage" in readings:
            usual = np.abs(readings["voltage"] / self.space.voltage - 1.0) < VOLTAGE_LONE
            distance = np.where(usual, distance, np.inf)
        return distance

    def distance(self, which: int) -> float:
        """Distance of the row as typed, less where the curve had to be carried on to it."""
        place = int(self.tried[which])
        load = self.points[place, -1:]
        beyond = float(load[0] / self.curves.highest[which])
        judged, on = self, which
        if WIDEST < beyond < ALONE_WITHIN:
            kept = np.ones((1, len(self.at)), dtype=bool)
            kept[0, place] = False
            wide = fit_without(self.points, self.covariance, kept, load, self.space.bends, widest=np.inf)
            judged, on = replace(self, curves=wide), 0
        whole = float(judged.distances(on, self.readings(int(self.at[place])))[0])
        return whole / ALONE if ALONE_BEYOND < beyond < ALONE_WITHIN else whole


def _scaled(covariance: Array, scale: Array) -> Array:
    """Covariance in units of the scale; readings without any uncertainty are given a little."""
    scaled: Array = covariance / np.outer(scale, scale) + 1e-10 * np.eye(len(scale))
    return scaled


def _tried(points: Array, covariance: Array, space: RowSpace) -> NDArray[np.intp]:
    """Rows worth leaving out: all of a test by hand, of a long one those furthest from the curve of all."""
    count = len(points)
    if count <= MOST_TRIED:
        return np.arange(count)
    every = fit_without(points, covariance, np.ones((1, count), dtype=bool), np.array([np.nan]), space.bends)
    far = np.where(np.isfinite(every.row_misfit[0]), every.row_misfit[0], 0.0)
    return np.sort(np.argsort(far)[-MOST_TRIED:])


def _spread_of_loads(load: Array, kept: NDArray[np.bool_]) -> Array:
    highest = np.where(kept, load, -np.inf).max(axis=1)
    lowest = np.where(kept, load, np.inf).min(axis=1)
    return np.where(highest > 0.0, (highest - lowest) / np.where(highest > 0.0, highest, 1.0), 0.0)


@dataclass(frozen=True)
class _Cell:
    """Which cell of a row that is off, and which slip."""

    judged: _Judged
    which: int
    row: int
    rows: LoadRows

    def named(self, distance: float) -> RowOffCurve:
        order, left = self._by_quantity()
        clear = len(order) > 1 and left[order[1]] - left[order[0]] > CLEAR
        quantity = order[0]
        columns = self.columns(quantity)
        found = self.slip(columns)
        exchanged = self.exchanged() if left[quantity] > ONE_CELL else None
        if exchanged is not None:
            first, second, implied = exchanged
            return self.result(distance, first, True, implied, "cells_exchanged", second.name)
        if found is None and not clear and len(order) > 1:
            columns_of_next = self.columns(order[1])
            other = self.slip(columns_of_next) if left[order[1]] < ONE_CELL else None
            if other is not None and other[1] not in ("one_digit",):
                found, columns = other, columns_of_next
        if found is not None:
            column, slip, value = found
            return self.result(distance, column, clear, value, slip, None)
        if len(columns) == 1:
            return self.result(distance, columns[0], clear, self.implied(columns[0]), None, None)
        unnamed = self.result(distance, columns[0], False, None, None, None)
        return replace(unnamed, cell=quantity, typed=float(self.judged.read[quantity][self.row]))

    def _by_quantity(self) -> tuple[list[str], dict[str, float]]:
        """Quantities by the distance that is left when each is taken out of account, least first."""
        points, covariance, moves = self.judged.placed(self.judged.readings(self.row))
        names = list(moves)
        count = len(names)
        near = nearest(
            self.judged.curves,
            self.which,
            self.judged.space.bends,
            np.repeat(points, count, axis=0),
            np.repeat(covariance, count, axis=0),
            np.concatenate([moves[name] for name in names]),
        )
        left = {name: float(value) for name, value in zip(names, near.distance, strict=True)}
        if "voltage" in left and not self._voltage_is_off(float(near.offset[names.index("voltage")])):
            del left["voltage"]
        return sorted(left, key=lambda name: left[name]), left

    def _voltage_is_off(self, offset: float) -> bool:
        volts = float(self.judged.read["voltage"][self.row])
        return abs(offset) > VOLTAGE_NAMED * abs(volts)

    def columns(self, quantity: str) -> list[TypedColumn]:
        typed = [column for column in self.rows.columns if column.quantity == quantity]
        if typed:
            return typed
        values = np.asarray(getattr(self.rows, quantity), dtype=float)
        return [TypedColumn(quantity, quantity, values)]

    def slip(self, columns: list[TypedColumn]) -> tuple[TypedColumn, str, float] | None:
        """The slip believed first among those that bring the row back, with its column and the value meant."""
        tries = [
            (column, proposal)
            for column in columns
            for proposal in proposals(
                float(column.values[self.row]), column.quantity, decimals_of(column.values)
            )
        ]
        if not tries:
            return None
        quantity = columns[0].quantity
        readings = self.judged.readings(self.row, len(tries))
        steps = np.array([self._step(column, proposal.value) for column, proposal in tries])
        readings[quantity] = readings[quantity] + steps
        distance = self.judged.distances_at_usual_voltage(self.which, readings)
        least = {
            slip: min(
                (k for k, (_, proposal) in enumerate(tries) if proposal.slip == slip),
                key=lambda k: distance[k],
                default=None,
            )
            for slip in ORDER
        }
        explaining = [k for k in least.values() if k is not None and distance[k] < EXPLAINED]
        if not explaining:
            return None
        plain = [k for k in explaining if tries[k][1].slip not in ("digits_exchanged", "one_digit")]
        near = min((distance[k] for k in plain), default=np.inf) + FACTOR_BETTER
        believed = [k for k in explaining if k not in plain or distance[k] <= near]
        return tries[believed[0]][0], tries[believed[0]][1].slip, tries[believed[0]][1].value

    def _step(self, column: TypedColumn, value: float) -> float:
        """Change of the quantity (of the motor's shaft) when the cell reads ``value`` instead."""
        gear = self.rows.gear_ratio if column.quantity == "speed" else 1.0
        return float((value - column.values[self.row]) * column.change * gear)

    def exchanged(self) -> tuple[TypedColumn, TypedColumn, float] | None:
        """Two cells of the row that bring it back when exchanged."""
        columns = [column for name in self.judged.space.quantities for column in self.columns(name)]
        best: tuple[float, TypedColumn, TypedColumn] | None = None
        pairs = [(one, two) for k, one in enumerate(columns) for two in columns[k + 1 :] if one.quantity != two.quantity]
        if not pairs:
            return None
        readings = self.judged.readings(self.row, len(pairs))
        for k, (one, two) in enumerate(pairs):
            readings[one.quantity][k] += self._step(one, float(two.values[self.row]))
            readings[two.quantity][k] += self._step(two, float(one.values[self.row]))
        distance = self.judged.distances_at_usual_voltage(self.which, readings)
        for k, (one, two) in enumerate(pairs):
            if distance[k] < EXPLAINED and (best is None or distance[k] < best[0]):
                best = (float(distance[k]), one, two)
        return None if best is None else (best[1], best[2], float(best[2].values[self.row]))

    def implied(self, column: TypedColumn) -> float | None:
        """What the curve wants the cell to read, as typed: Newton's steps along the free direction."""
        quantity, readings = column.quantity, self.judged.readings(self.row)
        for _ in range(12):
            points, covariance, moves = self.judged.placed(readings)
            if quantity not in moves or not np.isfinite(points).all():
                return None
            near = nearest(self.judged.curves, self.which, self.judged.space.bends, points, covariance, moves[quantity])
            step = float(near.offset[0])
            if not np.isfinite(step):
                return None
            readings[quantity] = readings[quantity] - step
            if abs(step) <= 1e-4 * abs(float(readings[quantity][0])):
                break
        gear = self.rows.gear_ratio if quantity == "speed" else 1.0
        change = float(readings[quantity][0] - self.judged.read[quantity][self.row])
        return float(column.values[self.row] + change / (column.change * gear)) if column.change else None

    def result(
        self, distance: float, column: TypedColumn, clear: bool, value: float | None, slip: str | None, other: str | None
    ) -> RowOffCurve:
        return RowOffCurve(
            table=LOAD_TEST,
            row=self.row,
            candidate_rows=(self.row,),
            distance=distance,
            quantity=column.quantity,
            cell=column.name,
            cell_is_clear=clear,
            typed=float(column.values[self.row] * column.to_si),
            implied=None if value is None else float(value * column.to_si),
            implied_typed=value,
            slip=slip,
            exchanged_with=other,
        )


def _lone_sign(rows: LoadRows, whole: NDArray[np.bool_]) -> RowOffCurve | None:
    """A typed figure whose sign is unlike all others; not a net torque, which may lie below zero by the tare.

    The lighter of two wattmeters turns negative below a power factor of one half and is left to the curve.
    """
    for column in rows.columns:
        wattmeters = [each for each in rows.columns if each.quantity == "input_power"]
        values = np.asarray(column.values, dtype=float)
        chosen = np.flatnonzero(whole & np.isfinite(values) & (values != 0.0))
        if len(chosen) < _CURVE_ROWS or (column.quantity == "input_power" and len(wattmeters) > 1):
            continue
        signs = np.sign(values[chosen])
        odd = chosen[signs != np.sign(signs.sum())]
        if len(odd) != 1 or abs(values[odd[0]]) < 0.08 * np.max(np.abs(values[chosen])):
            continue
        row, typed = int(odd[0]), float(values[odd[0]])
        return RowOffCurve(
            LOAD_TEST, row, (row,), np.inf, column.quantity, column.name, True,
            typed * column.to_si, -typed * column.to_si, -typed, "sign",
        )  # fmt: skip
    return None


def _lone_voltage(
    rows: LoadRows, space: RowSpace, read: Mapping[str, Array], whole: NDArray[np.bool_]
) -> RowOffCurve | None:
    """One voltage far from all others, which agree, where the rest of its row belongs to the others' voltage."""
    volts = read["voltage"]
    at = np.flatnonzero(whole)
    off = np.array([abs(volts[k] / np.median(volts[at[at != k]]) - 1.0) for k in at])
    others = float(np.sort(off)[-2])
    if not (off.max() > VOLTAGE_LONE and others < 2.0 * VOLTAGE_LONE and others < 0.4 * off.max()):
        return None
    row = int(at[np.argmax(off)])
    usual = float(np.median(volts[at[at != row]]))
    steep = whole & ~rows_past_breakdown(rows, read, whole)
    steep[row] = True
    judged = _Judged.of(space, read, np.flatnonzero(steep))
    if judged is None or row not in judged.at[judged.tried]:
        return None
    which = int(np.flatnonzero(judged.at[judged.tried] == row)[0])
    distance = _distance_at_typed_voltage(judged, which, row, usual)
    cell = _Cell(judged, which, row, rows)
    if distance > OFF:
        return _named_voltage(cell, usual, distance)
    as_usual = judged.readings(row)
    as_usual["voltage"] = np.array([usual])
    better = float(judged.distances(which, as_usual)[0])
    if others < 0.25 * off.max() and better < EXPLAINED and better + ONE_CELL < distance:
        return _named_voltage(cell, usual, max(distance, OFF))
    return None


def _named_voltage(cell: _Cell, usual: float, distance: float) -> RowOffCurve | None:
    """What the voltage of a row may have suffered; None where the row lies elsewhere whatever its voltage."""
    row = cell.row
    columns = cell.columns("voltage")
    as_usual = cell.judged.readings(row)
    as_usual["voltage"] = np.array([usual])
    volts = float(cell.judged.read["voltage"][row])
    if cell.judged.distances(cell.which, as_usual)[0] < EXPLAINED:
        found = cell.slip(columns)
        if found is not None and found[1] != "one_digit":
            return cell.result(distance, found[0], True, found[2], found[1], None)
        exchanged = cell.exchanged()
        if exchanged is not None:
            return cell.result(distance, exchanged[0], True, exchanged[2], "cells_exchanged", exchanged[1].name)
        value = found[2] if found else float(columns[0].values[row] + (usual - volts) / columns[0].change)
        return cell.result(distance, columns[0], len(columns) == 1, value, found[1] if found else None, None)
    exchanged = cell.exchanged()
    if exchanged is not None:
        return cell.result(distance, exchanged[0], True, exchanged[2], "cells_exchanged", exchanged[1].name)
    if abs(math.log(max(volts, 1e-9) / usual)) < VOLTAGE_BEYOND:
        return None
    return cell.result(distance, columns[0], False, None, None, None)


def _distance_at_typed_voltage(judged: _Judged, which: int, row: int, usual: float) -> float:
    """Distance of the row with the voltage as typed.

    A voltage so far off that no load test is made at it is no excuse: the powers of the voltage are then nearly true.
    """
    far = abs(math.log(max(float(judged.read["voltage"][row]), 1e-9) / usual)) > VOLTAGE_BEYOND
    axes = tuple(replace(axis, voltage_error=0.0 if far else 0.5 * axis.voltage_error) for axis in judged.space.axes)
    return replace(judged, space=replace(judged.space, axes=axes)).distance(which)
