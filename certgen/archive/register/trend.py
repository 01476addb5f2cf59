"""Repeated tests of one motor at one load: whether the rig that tests it still gives the same.

At rated power both torque and, nearly, efficiency are fixed by definition, and a scale that reads wrong moves only the load.
What can drift is followed at a load that does not depend on the scale: the rated current, or another load that is
named. Every test is computed again from its own readings by the same rules, so that a change of rules is no drift.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from pathlib import Path

import numpy as np

from certgen.archive.register.entry import HEADLINES, Registered
from certgen.archive.register.search import Wanted, find
from certgen.document.source import digest
from certgen.errors import CertgenError
from certgen.messages.catalogue import Message
from certgen.physics.control_chart import LEAST_VALUES, ControlLimits, Signal, control_limits, signals
from certgen.physics.domain import Array

#: Values that can be followed, each with its SI unit.
FOLLOWED = {name: unit for name, unit in HEADLINES.items() if name != "voltage"}

#: Quantities a load may be set by.
LOADS = ("current", "torque", "power")

#: How far the load of a tested point may lie off the load followed, as a part of it, where no curve of the test reaches
#: it. Common practice, no source.
NEAR_LOAD = 0.05
#: The same where no test of the motor has a curve along which the point could be brought there. Common practice, no source.
SAME_LOAD = 0.005


@dataclass(frozen=True)
class Load:
    """The load at which tests are compared: one of ``LOADS`` with its value in SI, and how it is called."""

    name: str
    value: float
    words: Message


@dataclass(frozen=True, eq=False)
class LoadTest:
    """One test of a reference motor, computed again from its own files.

    Attributes
    ----------
    rated_current : float or None
        As the plate states it. [A]
    points : mapping
        Each followed quantity at the tested points, shape (n,), SI, ``nan`` where not measured.
    curve : mapping or None
        The same along the load curve from the lightest load, shape (m,); ``None`` where too little was tested.
    """

    rated_current: float | None
    points: Mapping[str, Array]
    curve: Mapping[str, Array] | None


#: Computes a test again from the certificate that carries it; raises CertgenError where it cannot.
Compute = Callable[[bytes], LoadTest]


@dataclass(frozen=True)
class Trend:
    """Values of one quantity at one load over the tests of one motor, oldest first."""

    motor: str
    quantity: str
    unit: str
    load: Message
    tests: tuple[Registered, ...]
    values: tuple[float, ...]
    limits: ControlLimits | None  # None where the tests are too few
    signals: tuple[Signal, ...]
    without_value: tuple[tuple[str, Message], ...]  # certificates that give no value at this load, and why

    def broken(self) -> dict[int, tuple[Message, ...]]:
        """The rules that each test completed, by the place of the test."""
        rules: dict[int, tuple[Message, ...]] = {}
        for signal in self.signals:
            rules[signal.at] = (*rules.get(signal.at, ()), Message(f"trend.rule.{signal.rule}"))
        return rules


def trend(
    connection: sqlite3.Connection,
    folder: Path,
    serial: str,
    quantity: str,
    *,
    compute: Compute,
    load: Load | None = None,
) -> Trend:
    """Every test of a motor that still stands, on a chart of single values.

    Parameters
    ----------
    connection : sqlite3.Connection
        The register.
    folder : Path
        Its folder, with the certificates.
    serial : str
        Serial number of the reference motor, as its certificates have it.
    quantity : str
        Name of a followed value.
    compute : callable
        Computes a test again from its certificate.
    load : Load, optional
        The load at which tests are compared; the plate's current where it is left out.

    Returns
    -------
    Trend
        Values in SI with limits from their moving range, and the rules they break.

    Raises
    ------
    CertgenError
        No certificate of this motor gives the value, the load sets it, or no plate states a current.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 and 6.3.2.2.
    """
    tests = find(connection, Wanted(serial=serial, current_only=True))[::-1]
    if not tests:
        raise CertgenError(
            f"{serial}: no certificate in {folder} has this serial number; "
            "'certgen register list' shows serial numbers as they were entered."
        )
    read = [_read(folder, test, compute) for test in tests]
    chosen = load or _rated_current([one for one in read if isinstance(one, LoadTest)], serial)
    if quantity == chosen.name:
        raise CertgenError(
            f"--of {quantity}: the tests are compared at {chosen.words}, so it is the same in all; follow another value, "
            "or name another load with --at."
        )
    found = values_at(read, chosen, quantity)
    known = [(test, value) for test, value in zip(tests, found, strict=True) if isinstance(value, float)]
    missing = tuple(
        (test.shown_number, value) for test, value in zip(tests, found, strict=True) if isinstance(value, Message)
    )
    if not known:
        reason = f" ({missing[0][0]}: {missing[0][1]})"
        raise CertgenError(
            f"{serial}: no certificate in {folder} of this motor gives its {quantity} at {chosen.words}{reason}; follow "
            "another value, or name a load it was tested at with --at."
        )
    values = tuple(value for _, value in known)
    limits = control_limits(values) if len(values) >= LEAST_VALUES else None
    broken = () if limits is None else signals(values, limits)
    return Trend(
        motor=serial,
        quantity=quantity,
        unit=FOLLOWED[quantity],
        load=chosen.words,
        tests=tuple(test for test, _ in known),
        values=values,
        limits=limits,
        signals=tuple(broken),
        without_value=missing,
    )


def _read(folder: Path, test: Registered, compute: Compute) -> LoadTest | Message:
    """A test computed again, or why it cannot be."""
    try:
        document = (folder / test.file).read_bytes()
    except OSError as cause:
        return Message("trend.no_file", reason=cause.strerror or str(cause))
    if digest(document) != test.pdf_sha256:
        return Message("trend.changed")
    try:
        return compute(document)
    except CertgenError as cause:
        return Message("trend.not_computed", cause=str(cause).partition("\n")[0])


def _rated_current(read: Sequence[LoadTest], serial: str) -> Load:
    for test in reversed(read):
        if test.rated_current is not None:
            return Load("current", test.rated_current, Message("trend.load.rated_current", value=test.rated_current))
    raise CertgenError(
        f"{serial}: no plate of this motor states its current; name the load at which its tests are compared, for "
        "example --at '3 A'."
    )


def values_at(tests: Sequence[LoadTest | Message], load: Load, quantity: str) -> list[float | Message]:
    """A quantity of every test at one load, in SI, or why a test does not give it.

    A test whose curve reaches the load is read off there. A tested point near the load is brought there along the curve
    of the test next to it in time, in proportion: what a scale or meter reads wrong stays in the value as it was read.
    """
    curves = [test.curve if isinstance(test, LoadTest) else None for test in tests]
    return [
        test if isinstance(test, Message) else _value(test, load, quantity, _nearest_first(curves, place))
        for place, test in enumerate(tests)
    ]


def _nearest_first(curves: Sequence[Mapping[str, Array] | None], place: int) -> list[Mapping[str, Array]]:
    order = sorted(range(len(curves)), key=lambda other: abs(other - place))
    return [curve for other in order if (curve := curves[other]) is not None]


def _value(test: LoadTest, load: Load, quantity: str, curves: Sequence[Mapping[str, Array]]) -> float | Message:
    read_off = None if test.curve is None else along(test.curve, load.name, load.value, quantity)
    if read_off is not None:
        return read_off
    loads, values = test.points[load.name], test.points[quantity]
    measured = np.isfinite(loads) & np.isfinite(values)
    if not measured.any():
        return Message("trend.not_measured")
    off = np.where(measured, np.abs(loads / load.value - 1.0), np.inf)
    row = int(np.argmin(off))
    if off[row] > NEAR_LOAD:
        return Message("trend.other_load", off=float(loads[row] / load.value - 1.0))
    for curve in curves:
        there, here = (along(curve, load.name, at, quantity) for at in (load.value, float(loads[row])))
        if there is not None and here:
            return float(values[row]) * there / here
    return float(values[row]) if off[row] <= SAME_LOAD else Message("trend.no_curve", off=float(off[row]))


def along(curve: Mapping[str, Array], name: str, at: float, quantity: str) -> float | None:
    """A quantity where another has a value on a curve, the heaviest such load; ``None`` beyond the curve's ends."""
    loads, values = curve[name], curve[quantity]
    for low in range(len(loads) - 2, -1, -1):
        first, second = loads[low], loads[low + 1]
        if min(first, second) <= at <= max(first, second):
            part = 0.0 if first == second else (at - first) / (second - first)
            value = float(values[low] + part * (values[low + 1] - values[low]))
            return value if isfinite(value) else None
    return None
