"""Readings in SI: one array a column, ``nan`` where a cell was left empty."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, overload

import numpy as np
from numpy.typing import NDArray

from certgen.document.build import Toleranced
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array, Mask

if TYPE_CHECKING:
    import pandas


# The load points of a sweep: what their rows rest on besides the readings themselves.


#: Column of a table made from a log: rate of change of the speed as read [rad/s^2].
ACCELERATION = "acceleration"


@dataclass(frozen=True, eq=False)
class Runs:
    """The runs of a sweep in one direction, averaged at the speeds of the load points, n rows.

    ``deviations`` are standard deviations of the columns by their scatter about the low-pass, shape (n,); all are
    ``nan`` at speeds that no run passed.
    """

    columns: Mapping[str, Array]
    deviations: Mapping[str, Array]
    count: int


@dataclass(frozen=True, eq=False)
class SweptRows:
    """What stands behind load points that are a sweep's.

    ``bandwidth`` [Hz] is that of the low-pass; ``rotor_inertia`` [kg*m^2] the motor's own, at the judged shaft;
    ``deviations`` those of the load points' columns, shape (n,). ``reached_span`` says that the load went beyond what
    scale or sensor can show, so that the greatest torque is not known; ``beside_gap``, shape (n,), which points have a speed
    beside them at which every run was left out. ``reasons`` and ``times`` [s] are those of the log's samples: the number of
    the reason to leave each out, 0 for none.
    """

    bandwidth: float
    deviations: Mapping[str, Array]
    falling: Runs | None
    rising: Runs | None
    rotor_inertia: Toleranced | None
    reached_span: bool = False
    beside_gap: Mask | None = None
    reasons: NDArray[np.int8] | None = None
    times: Array | None = None


# Readings in SI: one array a column, ``nan`` where a cell was left empty.


#: Name among the other tables of the winding resistances read after switching off.
COOLING = "winding_after_switching_off"


@dataclass(frozen=True, eq=False)
class OfMeans:
    """Uncertainty of a column of means by the scatter behind each: standard uncertainty and its degrees of freedom,
    each shape (n,). [SI of the column], [1]"""

    standard_uncertainty: Array
    degrees_of_freedom: Array


@dataclass(frozen=True)
class NoRemarks(Sequence[str]):
    """So many empty texts: a million of them would take as much room as a column of numbers."""

    rows: int

    def __len__(self) -> int:
        return self.rows

    @overload
    def __getitem__(self, index: int) -> str: ...
    @overload
    def __getitem__(self, index: slice) -> NoRemarks: ...
    def __getitem__(self, index: int | slice) -> str | NoRemarks:
        if isinstance(index, slice):
            return NoRemarks(len(range(self.rows)[index]))
        range(self.rows)[index]  # raises IndexError as a tuple does
        return ""


@dataclass(frozen=True)
class Table:
    """One tidy table: ``columns`` maps a column name to its SI values, shape (n,); ``remarks`` has n texts.

    ``of_means`` holds the columns whose values are means of many samples.
    """

    columns: Mapping[str, Array]
    remarks: Sequence[str]
    of_means: Mapping[str, OfMeans] = field(default_factory=dict)

    @property
    def rows(self) -> int:
        """How many rows the table has."""
        return len(self.remarks)

    @property
    def remarked(self) -> bool:
        """Whether anything was remarked in any row."""
        return not isinstance(self.remarks, NoRemarks) and any(self.remarks)

    def column(self, name: str) -> Array:
        """The values of a column in SI, shape (n,); all ``nan`` where it was not read."""
        values = self.columns.get(name)
        return np.full(self.rows, np.nan) if values is None else values

    def frame(self) -> pandas.DataFrame:
        """The same table as a pandas frame, remarks last."""
        import pandas

        return pandas.DataFrame({**self.columns, "remark": list(self.remarks)})


@dataclass(frozen=True)
class FileRead:
    """What was found in one readings file and done to it; ``None`` where the file has no such thing."""

    table: str  # the table's key in the job
    file: str
    encoding: str | None = None
    delimiter: str | None = None
    decimal: str | None = None
    thousands: str | None = None
    sheet: str | None = None
    cells: str | None = None  # the range read of a sheet
    header_row: int | None = None
    unit_row: int | None = None
    units: Mapping[str, str] = field(default_factory=dict)  # by column, as read
    rows: int = 0
    skipped: int = 0  # lines passed over: comments, and what stands above the headers
    joined: Message | None = None  # how it was brought to the times of another file
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True)
class Zero:
    """Indication without load before and after the test, in SI of the scale (kg, N or N*m)."""

    before: float | None = None
    after: float | None = None


@dataclass(frozen=True)
class Readings:
    """Everything read in one test."""

    load_test: Table
    zero: Zero
    zero_2: Zero
    others: Mapping[str, Table] = field(default_factory=dict)
    inputs: Mapping[str, str] = field(default_factory=dict)  # file as named -> SHA-256
    sweep: SweptRows | None = None  # where the load test's rows were made from the log of a sweep
    brake_envelope: Table | None = None  # of the rig: speed and torque at the absorber
    files: tuple[FileRead, ...] = ()

    def without_rows(self, rows: Sequence[int]) -> Readings:
        """The same readings without some rows of the load test, counted from 0."""
        table = self.load_test
        kept = [row for row in range(table.rows) if row not in rows]
        load_test = replace(
            table,
            columns={name: values[kept] for name, values in table.columns.items()},
            remarks=[table.remarks[row] for row in kept],
            of_means={
                name: OfMeans(means.standard_uncertainty[kept], means.degrees_of_freedom[kept])
                for name, means in table.of_means.items()
            },
        )
        return replace(self, load_test=load_test)
