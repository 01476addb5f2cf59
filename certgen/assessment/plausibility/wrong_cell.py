"""Which cell of a row off its curve is wrong, which slip of the pen it suffered, and what it should read."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from certgen.assessment.plausibility.evidence import LOAD_TEST, RowOffCurve
from certgen.assessment.plausibility.row_relations import LoadRows, TypedColumn
from certgen.assessment.plausibility.rows_on_curve import RowsOnCurve
from certgen.assessment.plausibility.slips import ORDER, decimals_of, proposals
from certgen.assessment.plausibility.smooth_curve import nearest

#: A corrected row nearer than this is explained.
EXPLAINED = 12.0
#: A cell is clear where the next best cell leaves the row this much further off.
CLEAR = 7.0
#: Leaving one cell out must bring the row back to this, else two cells may have been exchanged.
ONE_CELL = 4.0
#: A factor that explains a row this much better than another is believed before it.
FACTOR_BETTER = 3.0
#: A voltage is named only where it is off by more than this part.
VOLTAGE_NAMED = 0.03


@dataclass(frozen=True)
class WrongCell:
    """Which cell of a row that is off, and which slip."""

    judged: RowsOnCurve
    which: int
    row: int
    rows: LoadRows

    def named(self, distance: float) -> RowOffCurve:
        """The entry for the row: its cell, slip and implied value as far as they are known."""
        order, left = self._by_quantity()
        likely = [quantity for quantity in order if left[quantity] - left[order[0]] <= CLEAR]
        return replace(self._named(distance, order, left), off_by=self._off_by(likely))

    def _off_by(self, quantities: list[str]) -> dict[str, float]:
        """By which part of itself each quantity is off, were it the wrong one; all columns that make it together.

        Of a light load's small reading: of half the middle one of all rows, so that its last digit is no large part.
        """
        parts = {}
        for quantity in quantities:
            column, read = self.columns(quantity)[0], self.judged.read[quantity]
            implied = self.implied(column)
            size = max(abs(float(read[self.row])), 0.5 * float(np.median(np.abs(read[self.judged.at]))))
            if implied is not None and size > 0.0:
                parts[quantity] = abs(self._step(column, implied)) / size
        return parts

    def _named(self, distance: float, order: list[str], left: dict[str, float]) -> RowOffCurve:
        clear = len(order) > 1 and left[order[1]] - left[order[0]] > CLEAR
        quantity = order[0]
        columns = self.columns(quantity)
        found = self.slip(columns)
        exchanged = self.exchanged() if left[quantity] > ONE_CELL else None
        if exchanged is not None:
            first, second, implied = exchanged
            return self.result(distance, first, clear=True, value=implied, slip="cells_exchanged", other=second.name)
        if found is None and not clear and len(order) > 1:
            columns_of_next = self.columns(order[1])
            other = self.slip(columns_of_next) if left[order[1]] < ONE_CELL else None
            if other is not None and other[1] not in ("one_digit",):
                found, columns = other, columns_of_next
        if found is not None:
            column, slip, value = found
            return self.result(distance, column, clear=clear, value=value, slip=slip)
        if len(columns) == 1:
            return self.result(distance, columns[0], clear=clear, value=self.implied(columns[0]))
        unnamed = self.result(distance, columns[0], clear=False, value=None)
        return replace(unnamed, cell=quantity, typed=float(self.judged.read[quantity][self.row]))

    def _by_quantity(self) -> tuple[list[str], dict[str, float]]:
        """Quantities by the distance that is left when each is taken out of account, least first."""
        points, covariance, moves = self.judged.placed(self.judged.readings(self.row))
        names = list(moves)
        count = len(names)
        near = nearest(
            self.judged.curves,
            self.which,
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
        """The typed columns that make a quantity; the quantity itself where none was given."""
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
            for proposal in proposals(float(column.values[self.row]), column.quantity, decimals_of(column.values))
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
        pairs = [
            (one, two) for k, one in enumerate(columns) for two in columns[k + 1 :] if one.quantity != two.quantity
        ]
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
            near = nearest(self.judged.curves, self.which, points, covariance, moves[quantity])
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
        self,
        distance: float,
        column: TypedColumn,
        *,
        clear: bool,
        value: float | None,
        slip: str | None = None,
        other: str | None = None,
    ) -> RowOffCurve:
        """The entry for the row with what was found out about it; ``value`` as typed."""
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
