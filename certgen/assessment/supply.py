"""The supply of the test against the plate and the standard: findings, none of them the motor's own doing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from certgen.assessment.decision import joined
from certgen.job.model import DC, Job
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.reduction.model import Reduction
from certgen.reduction.speed import MEASURED, NAMEPLATE
from certgen.results.model import Finding, Limits
from certgen.standards import supply_limits as limits
from certgen.standards.criteria import IEC, CriteriaSet, Supply, cited, companions_of
from certgen.standards.supply_limits import Band

VOLTAGE, FREQUENCY, COMBINED = "supply_voltage", "supply_frequency", "supply_combined"
VOLTAGE_UNBALANCE, CURRENT_UNBALANCE = "voltage_unbalance", "current_unbalance"
#: Findings that take the statement of conformity away where they matter.
OF_SUPPLY = (VOLTAGE, FREQUENCY, COMBINED, VOLTAGE_UNBALANCE, CURRENT_UNBALANCE)

#: The findings that are of a quantity of a point.
_UNBALANCES = {VOLTAGE_UNBALANCE: "voltage_unbalance", CURRENT_UNBALANCE: "current_unbalance"}

#: Currents more unbalanced than this are of an open line or a dead meter. One line above the mean by more would carry
#: more than the other two bring back (Kirchhoff); below by more, less than half the mean: common practice, no source.
_DEAD_LINE = 0.5

#: A frequency stated for the test that is the plate's own is not stated again.
_SAME = 1e-4


@dataclass(frozen=True)
class _Test:
    """One test and what its supply is held against; deviations from the plate are parts, one a load point."""

    job: Job
    reduction: Reduction
    allowed: Supply
    source: Message | str
    standard: str

    @property
    def voltage_off(self) -> Array:
        """Voltage over the plate's, less 1."""
        return self._off(self.reduction.points.voltage, self.job.nameplate.voltage)

    @property
    def frequency_off(self) -> Array:
        """Frequency over the plate's, less 1; not where it is the plate's own or the motor has none."""
        known = self.job.motor.type != DC and self.reduction.frequency_basis != NAMEPLATE
        return self._off(self.reduction.points.frequency, self.job.nameplate.frequency if known else None)

    def _off(self, values: Array, rated: float | None) -> Array:
        points = self.reduction.points
        if rated is None:
            return np.full(points.count, np.nan)
        return np.where(points.speed > 0.0, values / rated - 1.0, np.nan)

    def at_rating(self, values: Array) -> float:
        """A value at the tested point nearest the rating, by power, else by current, else at the heaviest load."""
        points, plate = self.reduction.points, self.job.nameplate
        known = np.isfinite(values) & ~points.impossible
        off = -points.torque
        for quantity, rated in ((points.current, plate.current), (points.shaft_power, plate.power)):
            if rated is not None and np.isfinite(quantity[known]).any():
                off = np.abs(quantity - rated)
        off = np.where(known & np.isfinite(off), off, np.inf)
        return float(values[np.argmin(off)]) if np.isfinite(off).any() else float("nan")

    def runs(self, quantity: str, values: Array) -> Band | None:
        """The band of the standard for running, where the supply at the rating was beyond it."""
        band = limits.running_band(self.standard, quantity, self.job.motor.type)
        at_rating = self.at_rating(values)
        return band if band is not None and np.isfinite(at_rating) and not band.holds(at_rating) else None


def supply_findings(job: Job, reduction: Reduction, criteria: CriteriaSet) -> tuple[Finding, ...]:
    """How far the supply was off the plate, and how far unbalanced; none for a set without limits of the supply.

    None of them is the motor's doing, so none counts for the verdict. The exception: where the supply at the rating
    was beyond what the standard lets a motor run on, the finding decides, and the verdict makes no statement.
    """
    allowed = criteria.supply
    if allowed is None:
        return ()
    source = cited(criteria.cited_as(), allowed.clause, allowed.status)
    test = _Test(job, reduction, allowed, source, companions_of(criteria).supply)
    return tuple(_findings(test))


def _findings(test: _Test) -> Iterator[Finding]:
    plate, allowed = test.job.nameplate, test.allowed
    voltage, frequency = test.voltage_off, test.frequency_off
    band = allowed.voltage_for(test.job.motor.type)
    if plate.voltage is not None and band is not None and np.isfinite(voltage).any():
        beyond = test.runs("voltage", voltage)
        yield _against_plate(test, VOLTAGE, voltage, (plate.voltage, band), beyond=beyond)
    read = test.reduction.frequency_basis == MEASURED or bool(np.nanmax(np.abs(frequency), initial=0.0) > _SAME)
    if plate.frequency is not None and allowed.frequency is not None and read and np.isfinite(frequency).any():
        beyond = test.runs("frequency", frequency)
        off_plate = _against_plate(test, FREQUENCY, frequency, (plate.frequency, allowed.frequency), beyond=beyond)
        yield off_plate
    yield from _combined(test, np.abs(voltage) + np.abs(frequency))
    yield from _in_zones(test, voltage, frequency)
    yield from _voltage_unbalance(test, test.reduction.points.voltage_unbalance)
    yield from _current_unbalance(test)


def _against_plate(test: _Test, name: str, off: Array, plate: tuple[float, float], *, beyond: Band | None) -> Finding:
    rated, part = plate
    worst = float(off[np.nanargmax(np.abs(off))])
    notes = []
    if name == FREQUENCY:
        tested = limits.supply_of_test(test.standard)
        if abs(worst) > tested.frequency + 1e-9:
            notes.append(Message("supply.off_for_a_test", part=tested.frequency, source=tested.source))
    return _finding(
        name,
        unit="V" if name == VOLTAGE else "Hz",
        declared=rated,
        measured=rated * (1.0 + worst),
        required=Limits(rated * (1.0 - part), rated * (1.0 + part)),
        kept=abs(worst) <= part + 1e-9,
        source=test.source,
        notes=notes,
        beyond=beyond,
    )


def _combined(test: _Test, off: Array) -> Iterator[Finding]:
    """Voltage and frequency off together, where the standard has a limit for it and both were measured."""
    band = limits.running_band(test.standard, "combined", test.job.motor.type)
    if band is None or not np.isfinite(off).any():
        return
    yield _finding(
        COMBINED,
        measured=float(np.nanmax(off)),
        required=Limits(high=band.high),
        kept=band.holds(float(np.nanmax(off))),
        source=band.source,
        notes=[Message("supply.both_added")],
        beyond=test.runs("combined", off),
    )


def _in_zones(test: _Test, voltage: Array, frequency: Array) -> Iterator[Finding]:
    """Voltage at a frequency off the rated one, where the standard bounds both by zones with cut corners."""
    both = np.isfinite(voltage) & (np.abs(frequency) > _SAME)
    if test.standard != IEC or not both.any():
        return
    volts, hertz = (test.at_rating(np.where(both, off, np.nan)) for off in (voltage, frequency))
    inner, outer = limits.zone_band("A", hertz), limits.zone_band("B", hertz)
    beyond = None if outer is None or outer.holds(volts) else outer
    band = inner or beyond
    if not np.isfinite(volts) or band is None:
        return  # a frequency beyond the zone is a finding of its own
    yield _finding(
        COMBINED,
        measured=volts,
        required=Limits(band.low, band.high),
        kept=inner is not None and inner.holds(volts),
        source=band.source,
        notes=[Message("supply.voltage_in_zone", off=hertz)],
        beyond=beyond,
    )


def _voltage_unbalance(test: _Test, unbalance: Array) -> Iterator[Finding]:
    allowed = test.allowed.voltage_unbalance
    seen = np.where(test.reduction.points.speed > 0.0, unbalance, np.nan)
    if allowed is None or not np.isfinite(seen).any():
        return
    worst = float(np.nanmax(seen))
    notes = []
    if worst > allowed:
        factor, source = limits.derating_factor(worst), limits.derating_source()
        if factor is None:
            notes.append(Message("supply.not_to_run", source=source))
        else:
            notes.append(Message("supply.derated", factor=factor, source=source))
    tested = limits.supply_of_test(test.standard)
    if worst > tested.unbalance + 1e-9:
        notes.append(Message("supply.unbalance_for_a_test", part=tested.unbalance, source=tested.source))
    yield _finding(
        VOLTAGE_UNBALANCE,
        measured=worst,
        required=Limits(high=allowed),
        kept=worst <= allowed + 1e-9,
        source=test.source,
        notes=notes,
        beyond=test.runs("unbalance", seen),
    )


def _current_unbalance(test: _Test) -> Iterator[Finding]:
    """Unbalance of the currents near the rating; at light load it is greater and says little."""
    points = test.reduction.points
    unbalance = test.at_rating(points.current_unbalance)
    if not np.isfinite(unbalance):
        return
    band = limits.unremarkable_current_unbalance()
    dead = unbalance > _DEAD_LINE
    notes = [*([Message("supply.dead_line")] if dead else []), Message("supply.near_rating")]
    volts = test.at_rating(points.voltage_unbalance)
    if np.isfinite(volts) and not band.holds(unbalance):
        low, high = limits.usual_current_unbalance(volts)
        key = "supply.explained" if unbalance <= high else "supply.unexplained"
        notes.append(Message(key, low=low, high=high, voltages=volts))
    yield _finding(
        CURRENT_UNBALANCE,
        measured=unbalance,
        required=Limits(high=band.high),
        kept=band.holds(unbalance),
        source=band.source,
        notes=notes,
        decides=dead,
    )


def _finding(
    name: str,
    *,
    measured: float,
    required: Limits,
    kept: bool,
    source: Message | str,
    notes: list[Message],
    unit: str = "1",
    declared: float | None = None,
    beyond: Band | None = None,
    decides: bool = False,
) -> Finding:
    if beyond is not None:
        notes = [Message("supply.not_to_run_on", source=beyond.source), *notes]
    return Finding(
        id=name,
        title=Message(f"finding.{name}"),
        outcome="pass" if kept else "fail",
        unit=unit,
        declared=declared,
        measured=measured,
        required=required,
        source=source,
        note=joined(tuple(notes)),
        decides=decides or beyond is not None,
        quantity=_UNBALANCES.get(name, ""),
    )
