"""What a check of the readings found: facts and message keys, no sentence.

A check never drops a reading. It says which table and row, what contradicts what, by how much, and which slip would
explain it; whoever forms the verdict decides by ``effect`` what follows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

#: ``note``: told, changes nothing. ``caps``: at most a conditional pass. ``no_verdict``: nothing can be judged on it.
Effect = Literal["note", "caps", "no_verdict"]

LOAD_TEST = "load_test"
NO_LOAD = "no_load"
LOCKED_ROTOR = "locked_rotor"
HEAT_RUN = "heat_run"


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
