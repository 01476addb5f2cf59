"""What a check of the readings found: facts and message keys, no sentence.

A check never drops a reading. It says which table and row, what contradicts what, by how much, and which slip would
explain it; whoever forms the verdict decides by ``effect`` what follows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal, SupportsInt

import numpy as np

from certgen.physics.domain import Array

#: ``note``: named, changes nothing. ``caps``: at most a conditional pass. ``no_verdict``: nothing can be judged on it.
Effect = Literal["note", "caps", "no_verdict"]

LOAD_TEST = "load_test"
NO_LOAD = "no_load"
LOCKED_ROTOR = "locked_rotor"
HEAT_RUN = "heat_run"

#: Standard uncertainties beyond which two readings contradict each other.
BEYOND = 3.0


@dataclass(frozen=True)
class Suggestion:
    """A slip that would explain the contradiction.

    ``key`` is snake_case (``times_ten``, ``pounds_for_kilograms``, ``plate_of_60_hz``); ``values`` fills the named
    places of its sentence: SI floats, or names of cells.
    """

    key: str
    values: Mapping[str, float | str] = field(default_factory=dict)


@dataclass(frozen=True)
class Evidence:
    """One entry of what contradicts what."""

    check: str  #: key of the check, snake_case; also the key of its sentence
    table: str  #: ``load_test``, ``no_load``, ``locked_rotor``, ``heat_run``
    row: int | None  #: row of the table as the job gives it, 0 first; None where the whole table is meant
    cell: str | None  #: column or quantity, where one is meant
    sizes: Mapping[str, float]  #: by how much, SI; each key names its quantity
    suggestion: Suggestion | None
    effect: Effect
    cell_is_clear: bool = True  #: of a row off its curve, whether no other cell of it may be the wrong one


def entries(
    check: str,
    table: str,
    rows: Iterable[SupportsInt],
    sizes: Mapping[str, Array],
    *,
    suggestion: Suggestion | None,
    effect: Effect,
    cell: str | None = None,
    whole: int | None = None,
) -> tuple[Evidence, ...]:
    """An entry a row; one for the table, of the worst row's sizes, where more than half of ``whole`` rows are meant."""
    meant = [int(row) for row in rows]
    if whole is not None and len(meant) > 2 and 2 * len(meant) > whole:
        middle = {name: float(np.median(values[meant])) for name, values in sizes.items()}
        return (Evidence(check, table, None, cell, middle | {"rows": float(len(meant))}, suggestion, effect),)
    return tuple(
        Evidence(
            check, table, row, cell, {name: float(values[row]) for name, values in sizes.items()}, suggestion, effect
        )
        for row in meant
    )


@dataclass(frozen=True)
class RowOffCurve:
    """A row that the others contradict.

    ``row`` is None where it is not known which (three rows); ``candidate_rows`` then lists those it may be.
    ``cell`` is the typed column, or the quantity where several columns make it and it is not known which; it is the cell
    that, left out, brings the row back best, and ``cell_is_clear`` says that no other does nearly as well.
    ``implied`` is what the curve wants the cell to read [SI of the column], ``implied_typed`` the same as typed.
    ``slip`` is a key, ``exchanged_with`` the other cell of ``cells_exchanged``. ``off_by`` has, for each quantity that
    may be the wrong one, the part of itself by which it is off the curve; empty where that was not asked.
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
    off_by: Mapping[str, float] = field(default_factory=dict)

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
        clear = self.cell_is_clear or self.slip not in (None, "one_digit", "digits_exchanged")
        return Evidence(check, self.table, self.row, self.cell, sizes, suggestion, "no_verdict", clear)
