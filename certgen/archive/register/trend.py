"""Repeated tests of one motor: whether the rig that tests it still gives the same."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from pathlib import Path

from certgen.archive.register.entry import HEADLINES, Registered
from certgen.archive.register.search import Wanted, find
from certgen.errors import CertgenError
from certgen.messages.catalogue import Message
from certgen.physics.control_chart import LEAST_VALUES, ControlLimits, Signal, control_limits, signals

#: Values that can be followed, each with its SI unit.
FOLLOWED = {name: unit for name, unit in HEADLINES.items() if name != "voltage"}


@dataclass(frozen=True)
class Trend:
    """Values of one quantity over the tests of one motor, oldest first."""

    motor: str
    quantity: str
    unit: str
    tests: tuple[Registered, ...]
    values: tuple[float, ...]
    limits: ControlLimits | None  # None where the tests are too few
    signals: tuple[Signal, ...]
    without_value: tuple[str, ...]  # certificates of the motor on which the quantity was not measured

    def broken(self) -> dict[int, tuple[Message, ...]]:
        """The rules that each test completed, by the place of the test."""
        rules: dict[int, tuple[Message, ...]] = {}
        for signal in self.signals:
            rules[signal.at] = (*rules.get(signal.at, ()), Message(f"trend.rule.{signal.rule}"))
        return rules


def trend(connection: sqlite3.Connection, folder: Path, serial: str, quantity: str) -> Trend:
    """Every test of a motor that still stands, on a chart of single values.

    Parameters
    ----------
    connection : sqlite3.Connection
        The register.
    folder : Path
        Its folder, for messages.
    serial : str
        Serial number of the reference motor, as its certificates have it.
    quantity : str
        Name of a headline value.

    Returns
    -------
    Trend
        Values in SI with limits from their moving range, and the rules they break.

    Raises
    ------
    CertgenError
        No certificate of this motor has the value.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 and 6.3.2.2.
    """
    tests = find(connection, Wanted(serial=serial, current_only=True))[::-1]
    known = [test for test in tests if getattr(test, quantity) is not None]
    if not known:
        held = "has this serial number" if not tests else f"of this motor gives its {quantity}"
        raise CertgenError(
            f"{serial}: no certificate in {folder} {held}; "
            "'certgen register list' shows serial numbers as they were entered."
        )
    values = tuple(float(getattr(test, quantity)) for test in known)
    limits = control_limits(values) if len(values) >= LEAST_VALUES else None
    missing = tuple(test.shown_number for test in tests if getattr(test, quantity) is None)
    broken = () if limits is None else signals(values, limits)
    return Trend(serial, quantity, FOLLOWED[quantity], tuple(known), values, limits, broken, missing)
