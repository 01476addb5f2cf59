"""The safety tests as read: protective bond, insulation between windings, withstand voltage, protector."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.job.as_found import SafetyTests
from certgen.job.rig import Meters, Rig
from certgen.quantity import Quantity, measured
from certgen.results.uncertainty import by_meter


@dataclass(frozen=True)
class WithstandTest:
    """Alternating voltage between windings and frame, rms."""

    voltage: Quantity
    time: Quantity
    held: bool
    leakage: Quantity | None = None


@dataclass(frozen=True)
class SafetyMeasured:
    """What the safety tests gave; ``None`` where one was not made."""

    protective_bond: Quantity | None = None
    between_windings: Quantity | None = None
    between_windings_voltage: Quantity | None = None
    withstand: WithstandTest | None = None
    surge_agrees: bool | None = None
    surge_voltage: Quantity | None = None
    surge_finding: str = ""
    protector_present: bool | None = None
    protector_good: bool | None = None  # None: not tried
    protector_finding: str = ""


def safety_measured(tests: SafetyTests | None, rig: Rig) -> SafetyMeasured | None:
    """The readings of the safety tests with the limits of error of their meters [SI]; ``None`` where none was made.

    A tester of the bond that states nothing is taken as an ordinary ohmmeter, one of insulation as an ordinary tester.
    """
    if tests is None:
        return None
    meters = rig.meters or Meters()
    bond, between, withstand = tests.protective_bond, tests.between_windings, tests.withstand
    surge, protector = tests.surge, tests.thermal_protector
    return SafetyMeasured(
        protective_bond=None if bond is None else by_meter(bond, "ohm", meters.bond_resistance, "ohmmeter"),
        between_windings=None
        if between is None
        else by_meter(between.at_1_min, "ohm", meters.insulation_resistance, "insulation_tester"),
        between_windings_voltage=None if between is None else Quantity(between.voltage, "V"),
        withstand=None
        if withstand is None
        else WithstandTest(
            Quantity(withstand.voltage, "V"),
            Quantity(withstand.time, "s"),
            withstand.held,
            measured(withstand.leakage, "A"),
        ),
        surge_agrees=None if surge is None else surge.ok,
        surge_voltage=None if surge is None else measured(surge.voltage, "V"),
        surge_finding="" if surge is None else surge.finding or "",
        protector_present=None if protector is None else protector.present,
        protector_good=None if protector is None else protector.ok,
        protector_finding="" if protector is None else protector.finding or "",
    )
