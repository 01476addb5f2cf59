"""A long table gathered piece by piece without ever standing in memory twice."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from certgen.job.table_columns import Column
from certgen.readings.model import Array, NoRemarks, Table

_SPARE = 1.02
_GROWTH = 1.5
_LEAST = 1000
_LARGEST_KEPT = 32_000_000  # bytes


def keep_freed_blocks() -> None:
    """Have the C library keep blocks of some megabytes for the next of their size, where it adapts to what is freed.

    glibc returns larger blocks than any freed before to the system at once; to get them back, page by page, takes longer
    than to fill them with numbers. This is the largest that it heeds (M_MMAP_THRESHOLD in its manual page mallopt(3)).
    """
    np.empty(_LARGEST_KEPT, np.uint8)


class Gathered:
    """Grows by rows of the same k columns; ``size`` is that of the whole file, by which room is made once. [bytes]

    All columns stand in one array: a system that hands out memory in large pages does so for large arrays only.
    """

    def __init__(self, columns: Sequence[Column], size: int) -> None:
        self.size = size
        self.rows = 0
        self.remarks: list[str] = []
        self.written = any(column.name == "remark" for column in columns)
        self.names = tuple(column.name for column in columns if column.name != "remark")
        self.room: Array = np.empty((len(self.names), 0))

    def add(self, values: Array, remarks: Sequence[str], data: int) -> None:
        """Add the rows read from some of the file's bytes, given by their number; ``values`` has shape (k, rows)."""
        rows = values.shape[1]
        end = self.rows + rows
        if self.room.shape[1] < end:
            self.room = self._wider(end, rows * self.size / max(data, 1))
        self.room[:, self.rows : end] = values
        self.rows = end
        if self.written:
            self.remarks.extend(remarks)

    def add_table(self, table: Table, data: int) -> None:
        """The same for rows that are a table already."""
        values = np.array([table.columns[name] for name in self.names]).reshape(len(self.names), table.rows)
        self.add(values, table.remarks, data)

    def _wider(self, end: int, expected: float) -> Array:
        """More room: for the whole file as the first piece lets expect, or half as much again."""
        wanted = int(end * _GROWTH) if self.rows else max(end, int(expected * _SPARE))
        wider = np.empty((len(self.names), wanted + _LEAST))
        wider[:, : self.rows] = self.room[:, : self.rows]
        return wider

    def table(self) -> Table:
        """Everything added."""
        remarks = tuple(self.remarks) if self.written else NoRemarks(self.rows)
        return Table({name: values[: self.rows] for name, values in zip(self.names, self.room, strict=True)}, remarks)
