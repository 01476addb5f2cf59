"""A long table gathered piece by piece without ever standing in memory twice."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from certgen.job.table_columns import Column
from certgen.readings.model import Array, Table

_SPARE = 1.02
_GROWTH = 1.5
_LEAST = 1000


class Gathered:
    """Grows by tables of the same columns; ``size`` is that of the whole file, by which room is made once. [bytes]"""

    def __init__(self, columns: Sequence[Column], size: int) -> None:
        self.size = size
        self.rows = 0
        self.remarks: list[str] = []
        self.written = any(column.name == "remark" for column in columns)
        self.values: dict[str, Array] = {column.name: np.empty(0) for column in columns if column.name != "remark"}

    def add(self, table: Table, data: int) -> None:
        """Add the table read from some of the file's bytes, given by their number."""
        end = self.rows + table.rows
        for name, values in table.columns.items():
            room = self.values[name]
            if len(room) < end:
                room = self._wider(room, end, table.rows * self.size / max(data, 1))
                self.values[name] = room
            room[self.rows : end] = values
        self.rows = end
        if self.written:
            self.remarks.extend(table.remarks)

    def _wider(self, room: Array, end: int, expected: float) -> Array:
        """More room: for the whole file as the piece before it lets expect, or half as much again."""
        wanted = max(end, int(expected * _SPARE)) if not len(room) else int(end * _GROWTH)
        wider = np.empty(wanted + _LEAST)
        wider[: self.rows] = room[: self.rows]
        return wider

    def table(self) -> Table:
        """Everything added."""
        remarks = tuple(self.remarks) if self.written else ("",) * self.rows
        return Table({name: values[: self.rows] for name, values in self.values.items()}, remarks)
