"""What NEMA letters promise: locked-rotor code letters, and the torques and currents of a design letter at 60 Hz."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from certgen.messages.catalogue import Message
from certgen.standards.criteria import recalled, shipped_table

#: Torques a letter may promise, in the order they are listed.
TORQUES = ("locked_rotor_torque", "pull_up_torque", "breakdown_torque")
#: Slip at rated load that parts design D from A, B and C. [1] NEMA MG 1, 1.19, from memory.
DESIGN_D_SLIP = 0.05


@dataclass(frozen=True)
class Published:
    """A limit with the clause it stands in; ``status`` as in the criteria sets."""

    value: float
    clause: str
    status: str

    @property
    def source(self) -> Message | str:
        """Standard and clause, as printed."""
        table = shipped_table("nema_design_torques")
        return recalled(f"{table['standard']} {table['edition']}, {self.clause}", self.status)


@lru_cache(maxsize=1)
def _torques() -> dict[tuple[str, str, str, int], Published]:
    """Every cell of the torque tables by letter, quantity, horsepower and poles; value in parts of rated torque."""
    cells = {}
    for table in shipped_table("nema_design_torques")["torques"]:
        for horsepower, row in table["rows"].items():
            for poles, percent in zip(table["poles"], row, strict=True):
                if percent is None:
                    continue
                status = "thin" if _thin(table, horsepower, poles) else table["status"]
                for letter in table["letters"]:
                    found = Published(percent / 100.0, table["clause"], status)
                    cells[letter, table["quantity"], horsepower, poles] = found
    return cells


def _thin(table: dict[str, Any], horsepower: str, poles: int) -> bool:
    listed = table.get("thin")
    if listed is None or horsepower not in listed["horsepower"] or poles not in listed["poles"]:
        return False
    return {"horsepower": horsepower, "poles": poles} not in listed.get("but", [])


def least_torque(letter: str, quantity: str, horsepower: str, poles: int) -> Published | None:
    """Least torque that a design letter promises at 60 Hz, rated voltage.

    Parameters
    ----------
    letter : str
        Design letter.
    quantity : {'locked_rotor_torque', 'pull_up_torque', 'breakdown_torque'}
        Which torque.
    horsepower : str
        Listed rating, as the tables write it.
    poles : int
        Number of poles.

    Returns
    -------
    Published or None
        Torque over rated torque [1]; ``None`` where the tables have no value.

    References
    ----------
    NEMA MG 1, 12.38, 12.39, 12.40.
    """
    return _torques().get((letter, quantity, horsepower, poles))


def greatest_locked_rotor_current(letter: str, horsepower: str, voltage: float) -> Published | None:
    """Greatest locked-rotor current of a design letter at 60 Hz.

    Parameters
    ----------
    letter : str
        Design letter.
    horsepower : str
        Listed rating, as the tables write it.
    voltage : float
        Rated voltage, > 0. [V]

    Returns
    -------
    Published or None
        Line current [A], that of 230 V times 230 over the voltage; ``None`` where there is no limit (design A) or no
        value.

    References
    ----------
    NEMA MG 1, 12.35.1, Table 12-1.
    """
    table = shipped_table("nema_design_torques")["locked_rotor_current"]
    amperes = table["amperes"].get(horsepower)
    if letter not in table["letters"] or amperes is None:
        return None
    return Published(amperes * table["at_voltage"] / voltage, table["clause"], table["status"])


# Locked-rotor code letters.


@lru_cache(maxsize=1)
def _bounds() -> dict[str, tuple[float, float | None]]:
    """Each letter's bounds [kVA/hp]: the lower belongs to it, the upper to the next; the last has no upper."""
    lower: dict[str, float] = shipped_table("code_letters")["lower_bounds"]
    starts = [float(value) for value in lower.values()]
    if starts[0] != 0.0 or any(low >= high for low, high in itertools.pairwise(starts)):
        raise ValueError("code_letters.yaml: the bounds must rise from 0")
    return dict(zip(lower, zip(starts, [*starts[1:], None], strict=True), strict=True))


def code_letter(kva_per_horsepower: float) -> str:
    """Code letter of a locked-rotor apparent power per horsepower.

    Parameters
    ----------
    kva_per_horsepower : float
        At rated voltage and frequency, >= 0. [kVA/hp]

    Returns
    -------
    str
        The letter whose interval holds the value; an interval's lower bound belongs to it.

    Raises
    ------
    ValueError
        The value is negative or no number.

    References
    ----------
    NEMA MG 1, 10.37.2.
    """
    if not kva_per_horsepower >= 0.0:
        raise ValueError(f"locked-rotor kVA per hp must not be below 0, got {kva_per_horsepower:g}")
    return next(letter for letter, (low, _) in reversed(_bounds().items()) if kva_per_horsepower >= low)


def letter_bounds(letter: str) -> tuple[float, float | None]:
    """Lower bound (included) and upper bound (not included; ``None`` for the last letter) of a letter. [kVA/hp]

    Raises ``KeyError`` for a letter the table does not use.
    """
    return _bounds()[letter]


def code_letter_source() -> str:
    """Standard and clause, as printed."""
    table = shipped_table("code_letters")
    return f"{table['standard']} {table['edition']}, {table['clause']}"
