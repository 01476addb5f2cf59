"""Cautions: what whoever handles the motor or trusts the page must know, each with what in this test raised it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from certgen.assessment.findings import IMPOSSIBLE_CAUSES
from certgen.assessment.results import Caution, Finding
from certgen.assessment.rig_limits import passed_limits
from certgen.job.model import DC, INDUCTION, SINGLE_PHASE, UNIVERSAL, Job
from certgen.job.rig import Rig
from certgen.reduction.model import Reduction
from certgen.standards.criteria import CriteriaSet

_RPM = 60.0 / (2.0 * math.pi)
#: Metal this hot burns at a touch of a second. Common practice, no source.
_HOT = 273.15 + 60.0
#: Part by which a power-factor meter and watts over volt-amperes may differ before the page says so.
_METERS_AGREE = 0.02


def cautions_of(
    job: Job, rig: Rig, reduction: Reduction, criteria: CriteriaSet, findings: tuple[Finding, ...]
) -> tuple[Caution, ...]:
    """Every caution of a test, those about people first, then those about the figures."""
    return (
        *_for_people(job, reduction),
        *_supply(job, reduction, criteria),
        *passed_limits(rig, reduction),
        *_figures(job, reduction),
        *_service_factor(findings),
    )


def _for_people(job: Job, reduction: Reduction) -> Iterator[Caution]:
    points = reduction.points
    kind = job.motor.type
    if job.readings.insulation is None:
        yield Caution(
            "insulation",
            "Test the insulation to the frame before this motor is energised.",
            "no insulation reading in the job",
        )
    else:
        text = "The insulation reading is recorded, not judged; have it judged before this motor is energised."
        yield Caution("insulation", text, "readings.insulation is not evaluated")
    if kind == UNIVERSAL:
        text = "Never run this motor without load: a series motor races until it flies apart."
        yield Caution("no_load_speed", text, "motor type universal")
    if kind == DC:
        text = (
            "If series wound, never run without load; if shunt wound, never open the field: either way the motor races."
        )
        yield Caution("no_load_speed", text, "motor type dc")
    if kind in (DC, UNIVERSAL):
        yield _commutation(job, reduction)
    if kind == SINGLE_PHASE:
        yield Caution(
            "start_winding",
            "A start winding burns within seconds if left on: watch that its switch drops out on running up.",
            "motor type single-phase induction",
        )
        text = (
            "Capacitors hold a charge after switching off: discharge them through a resistor before touching terminals."
        )
        yield Caution("capacitor", text, "motor type single-phase induction")
    fastest = float(np.nanmax(points.speed, initial=0.0)) * _RPM
    yield Caution(
        "rotation",
        "Guard shaft, coupling and belt; keep hair and sleeves away.",
        f"the shaft turned at up to {fastest:.0f} rpm",
    )
    hottest = float(np.nanmax(points.temperature, initial=0.0))
    if hottest > _HOT:
        yield Caution(
            "heat",
            "The motor is hot enough to burn after a load run.",
            f"winding at {hottest - 273.15:.0f} °C in this test",
        )
    volts = float(np.nanmax(points.voltage, initial=0.0)) or (job.nameplate.voltage or 0.0)
    because = f"supply of up to {volts:.0f} V" if volts else "electrical supply"
    yield Caution("installation", "Connection and protection by licensed practice under the local code.", because)


def _commutation(job: Job, reduction: Reduction) -> Caution:
    """Sparking is seen, not measured: what the bench wrote on it stands beside the warning."""
    remarks = reduction.points.remarks
    rows = [str(row + 1) for row, remark in enumerate(remarks) if "spark" in remark.casefold()]
    because = f"motor type {job.motor.type}, no remark on sparking"
    if rows:
        because = f"sparking remarked in row {', '.join(rows)}"
    text = "Brushes spark: keep solvents, dust and gas away, and watch the commutator at full load; it is not judged here."
    return Caution("commutation", text, because)


def _supply(job: Job, reduction: Reduction, criteria: CriteriaSet) -> Iterator[Caution]:
    limits, points, plate = criteria.supply, reduction.points, job.nameplate
    if limits is None:
        return
    source = f"{criteria.name} {limits.clause}"
    running = points.speed > 0.0
    checks = (
        ("voltage", points.voltage, plate.voltage, limits.voltage),
        ("frequency", points.frequency, plate.frequency, limits.frequency),
    )
    for name, values, rated, allowed in checks:
        seen = values[running & np.isfinite(values)]
        if rated is None or allowed is None or not seen.size:
            continue
        if name == "frequency" and reduction.frequency_basis == "nameplate":
            continue
        off = seen[np.argmax(np.abs(seen / rated - 1.0))] / rated - 1.0
        if abs(off) > allowed + 1e-9:
            because = f"{off:+.1%} from the plate, {source} allows {allowed:.0%}"
            yield Caution(
                f"supply_{name}", f"The supply {name} was off the plate; figures at rated {name} differ.", because
            )
    unbalance = float(np.nanmax(points.voltage_unbalance, initial=0.0))
    if limits.voltage_unbalance is not None and unbalance > limits.voltage_unbalance:
        because = f"voltage unbalance up to {unbalance:.1%}, {source} allows {limits.voltage_unbalance:.0%}"
        yield Caution(
            "voltage_unbalance",
            "The supply was unbalanced: currents and heating are worse than on a sound supply.",
            because,
        )


def _figures(job: Job, reduction: Reduction) -> Iterator[Caution]:
    points = reduction.points
    if points.impossible.any():
        rows = ", ".join(str(index + 1) for index in np.flatnonzero(points.impossible))
        text = (
            "More shaft power than input power is impossible; those points are left out of the curve. "
            f"{IMPOSSIBLE_CAUSES.capitalize()}."
        )
        yield Caution("impossible", text, f"row {rows}")
    names = {
        "at_rated_current": "rated current",
        "at_rated_power": "rated power",
        "at_service_factor": "the service-factor load",
        "at_rated_speed": "rated speed",
    }
    beyond = [names[name] for name, found in reduction.operating.items() if found is not None and found.extrapolated]
    if beyond:
        yield Caution("extrapolated", "Values at this point lie up to 5 % beyond the tested range.", ", ".join(beyond))
    least = float(np.nanmin(points.torque, initial=0.0))
    if least < -0.02 * float(np.nanmax(np.abs(points.torque), initial=0.0)):
        yield Caution(
            "negative_torque",
            "A loaded motor has no negative torque: check zero, arm side and sign.",
            f"{least:.2f} N·m read",
        )
    fastest = float(np.nanmin(points.slip, initial=1.0))
    if job.motor.type in INDUCTION and fastest < -0.005:
        text = "An induction motor does not pass synchronous speed by itself: check frequency, poles and tachometer."
        yield Caution("above_synchronous", text, f"slip of {fastest:.1%}")
    yield from _meters(reduction)


def _meters(reduction: Reduction) -> Iterator[Caution]:
    points = reduction.points
    watts = points.input_power / points.apparent_power
    over = np.isfinite(watts) & (watts > 1.0 + _METERS_AGREE)
    if over.any():
        rows = ", ".join(str(index + 1) for index in np.flatnonzero(over))
        text = "Watts above volts times amperes cannot be: check the wattmeter's ranges and connections."
        yield Caution("watts_above_volt_amperes", text, f"row {rows}")
    off = np.abs(watts / reduction.meter_power_factor - 1.0)
    apart = np.isfinite(off) & (off > _METERS_AGREE) & ~over
    if apart.any():
        rows = ", ".join(str(index + 1) for index in np.flatnonzero(apart))
        because = f"up to {float(off[apart].max()):.1%} in row {rows}"
        yield Caution(
            "meters_disagree",
            "The power-factor meter disagrees with watts over volt-amperes; the watts are used.",
            because,
        )


def _service_factor(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    for one in findings:
        if one.id == "service_factor" and one.outcome == "pass" and "held for" not in one.note:
            text = "The service-factor load was shown, not held: it does not prove the motor can carry it continuously."
            yield Caution("service_factor_brief", text, one.note)
