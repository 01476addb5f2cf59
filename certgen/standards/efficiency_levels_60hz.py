"""Nominal efficiencies of motors for 60 Hz: the nominal a measurement supports, and the levels asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from certgen.standards.criteria import nominal_minimum_pairs
from certgen.standards.horsepower_ratings import horsepower_of
from certgen.standards.tables import shipped_table

#: Horsepower of 10 CFR 431.25 and 431.446 for ratings in kW. [W] From memory.
_REGULATION_HORSEPOWER = 746.0
#: How far beyond the listed ratings a rating may stand by rounding alone, in parts of it. [1]
_ROUNDING = 0.01
#: Levels for polyphase motors, the most demanding first.
POLYPHASE_LEVELS = ("premium", "energy_efficient")
ENCLOSURES = ("enclosed", "open")


@dataclass(frozen=True)
class Level:
    """A nominal efficiency asked of a rating [1], how far it is confirmed, and where it stands."""

    efficiency: float
    horsepower: str
    standard: str
    status: str

    @property
    def source(self) -> str:
        """Standard, as printed."""
        return f"{self.standard}{', from memory' if self.status == 'from memory' else ''}"


def supported_nominal(efficiency: float) -> float | None:
    """The highest nominal efficiency whose paired minimum one motor meets.

    Parameters
    ----------
    efficiency : float
        Measured at rated load. [1]

    Returns
    -------
    float or None
        Nominal efficiency of the plate's series [1]; ``None`` below the lowest minimum.

    References
    ----------
    NEMA MG 1, 12.58.2, Table 12-10, from memory.
    """
    met = [nominal for nominal, least in nominal_minimum_pairs().items() if efficiency >= least]
    return max(met) if met else None


def polyphase_level(level: str, power: float, poles: int, enclosure: str) -> Level | None:
    """Nominal efficiency of a level for a polyphase motor from 1 hp.

    Parameters
    ----------
    level : {'premium', 'energy_efficient'}
        Which level.
    power : float
        Rated power. [W]
    poles : int
        Number of poles.
    enclosure : {'enclosed', 'open'}
        Kind of enclosure.

    Returns
    -------
    Level or None
        ``None`` where the table has no value.

    References
    ----------
    10 CFR 431.25, Table 5 (NEMA MG 1, Table 12-12); 42 USC 6313(b)(1) (NEMA MG 1, Table 12-11).
    """
    table = shipped_table("efficiency_levels_60hz")[level]
    found = _looked_up(table, table[enclosure], power, poles)
    if found is None:
        return None
    memory = table.get("from_memory", {})
    recalled = found.horsepower in memory.get("horsepower", []) or (
        poles == 8 and found.horsepower in memory.get("eight_poles", [])
    )
    status = "from memory" if recalled else found.status
    return Level(found.efficiency, found.horsepower, found.standard, status)


def small_motor_level(kind: str, power: float, poles: int) -> Level | None:
    """Average full-load efficiency of small open motors.

    Parameters
    ----------
    kind : {'polyphase', 'capacitor_start'}
        Kind of motor.
    power : float
        Rated power. [W]
    poles : int
        Number of poles.

    Returns
    -------
    Level or None
        ``None`` where the table has no value.

    References
    ----------
    10 CFR 431.446(a).
    """
    table = shipped_table("efficiency_levels_60hz")["small"]
    return _looked_up(table, table[kind], power, poles)


def _looked_up(table: Any, rows: dict[str, list[float | None]], power: float, poles: int) -> Level | None:
    if poles not in table["poles"]:
        return None
    label = _listed(list(rows), power / _REGULATION_HORSEPOWER)
    percent = None if label is None else rows[label][table["poles"].index(poles)]
    if label is None or percent is None:
        return None
    return Level(percent / 100.0, label, table["standard"], table["status"])


def _listed(labels: list[str], horsepower: float) -> str | None:
    """The listed rating that counts for one between: the higher neighbour from the midpoint on."""
    sizes = [horsepower_of(label) for label in labels]
    if not sizes[0] * (1 - _ROUNDING) <= horsepower <= sizes[-1] * (1 + _ROUNDING):
        return None
    for low, high, label in zip(sizes, sizes[1:], labels, strict=False):
        if horsepower < (low + high) / 2.0:
            return label
    return labels[-1]
