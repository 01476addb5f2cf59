"""Cautions: what whoever handles the motor or trusts the page must know, each with what in this test raised it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from certgen.assessment.decision import ACCEPTED
from certgen.assessment.insulation import OF_INSULATION, RESISTANCE, UNSOUND
from certgen.assessment.log_cautions import log_cautions, run_down_cautions, sweep_cautions
from certgen.assessment.rig_cautions import full_span, passed_limits, rig_health
from certgen.assessment.supply import CURRENT_UNBALANCE, FREQUENCY, VOLTAGE, VOLTAGE_UNBALANCE
from certgen.job.model import DC, INDUCTION, SINGLE_PHASE, UNIVERSAL, Job
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.reduction.model import METERS_AGREE, Reduction
from certgen.results.compute import Figures
from certgen.results.model import BETTER, PASS, Caution, Characteristic, Finding
from certgen.results.points import IMPOSSIBLE_CAUSES

_RPM = 60.0 / (2.0 * math.pi)
#: Metal this hot burns at a touch of a second. Common practice, no source.
_HOT = 273.15 + 60.0

#: Ratios further apart than this are not told by the slip of a motor without load. [1] Common practice, no source.
_RATIOS_AGREE = 0.02

#: Plate power over the greatest power tested that no light test explains; the same where rated current was drawn, and
#: the part of it that counts as drawn. Common practice, no source.
_FAR_OFF, _WEAK, _NEARLY = 50.0, 4.0, 0.9


def cautions_of(
    job: Job, rig: Rig, reduction: Reduction, figures: Figures, findings: tuple[Finding, ...]
) -> tuple[Caution, ...]:
    """Every caution of a test, those about people first, then those about the figures."""
    return (
        *_insulation(job, findings),
        *_for_people(job, reduction),
        *run_down_cautions(rig, reduction),
        *_heat(findings),
        *_supply(findings),
        *log_cautions(reduction),
        *passed_limits(figures.rig_use),
        *full_span(rig, reduction, figures.rig_use),
        *rig_health(job, rig, figures.rig_use),
        *sweep_cautions(reduction),
        *_figures(job, reduction, figures.meter_difference),
        *gear_cautions(job, figures.characteristic),
        *_service_factor(findings),
        *_better(findings),
    )


def _for_people(job: Job, reduction: Reduction) -> Iterator[Caution]:
    points = reduction.points
    kind = job.motor.type
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
    logged = () if reduction.log is None else reduction.log.trace.speed
    fastest = float(np.nanmax([*points.speed, *logged], initial=0.0)) * _RPM
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
    text = "Brushes spark: keep solvents, dust and gas away; watch the commutator at full load, it is not judged here."
    return Caution("commutation", text, because)


#: What a supply off its limits means for the figures, by the finding that states the numbers.
_SUPPLY_TEXTS = {
    VOLTAGE: "The supply voltage was off the plate; figures at rated voltage differ.",
    FREQUENCY: "The supply frequency was off the plate; figures at rated frequency differ.",
    VOLTAGE_UNBALANCE: "The supply was unbalanced: currents and heating are worse than on a sound supply.",
}


def _supply(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    for finding in findings:
        if finding.id == CURRENT_UNBALANCE and finding.decides:
            text = "One line carried far less than the others: check fuses, terminals and clamps before running again."
            yield Caution(finding.id, text, f"current unbalance {finding.measured:.0%} near the rating")
        if finding.id in _SUPPLY_TEXTS and finding.outcome == "fail" and finding.measured is not None:
            off = finding.measured if finding.declared is None else finding.measured / finding.declared - 1.0
            because = (
                f"{100.0 * off:.1f} % at most" if finding.declared is None else f"{100.0 * off:+.1f} % from the plate"
            )
            yield Caution(finding.id, _SUPPLY_TEXTS[finding.id], because)


def _insulation(job: Job, findings: tuple[Finding, ...]) -> Iterator[Caution]:
    """What stands first among the cautions: that a motor must not, or not yet, be energised."""
    judged = [finding for finding in findings if finding.id in OF_INSULATION]
    failed = [str(finding.title).lower() for finding in judged if finding.outcome in UNSOUND and finding.decides]
    low_index = [finding for finding in judged if finding.outcome in UNSOUND and not finding.decides]
    unsure = [str(finding.note) for finding in judged if finding.outcome == "not tested"]
    if failed:
        text = "Do not energise this motor: its insulation to the frame failed. Dry, clean or repair it and test again."
        yield Caution(RESISTANCE, text, f"{' and '.join(failed)} below the least allowed")
    elif job.readings.insulation is None:
        text = "Test the insulation to the frame before this motor is energised."
        yield Caution(RESISTANCE, text, "no insulation reading in the job")
    elif unsure:
        text = "The insulation reading could not be judged; test it again before this motor is energised."
        yield Caution(RESISTANCE, text, unsure[0])
    if low_index and not failed:
        text = "The insulation may be damp or dirty: dry and clean the winding, and test it again."
        yield Caution(RESISTANCE, text, f"polarization index {low_index[0].measured:.2g}")


def _heat(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    for finding in findings:
        above = (
            finding.measured is not None
            and finding.required is not None
            and finding.measured > (finding.required.high or np.inf)
        )
        if finding.id == "winding_rise" and above and finding.outcome == "not tested":
            text = "The winding became warmer than its class allows: find out why before loading the motor again."
            yield Caution("winding_rise", text, f"rise of {finding.measured:.0f} K, {finding.note}")


def _figures(job: Job, reduction: Reduction, meter_difference: Array) -> Iterator[Caution]:
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
    beyond = [names[name] for name, point in reduction.operating.items() if point is not None and point.extrapolated]
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
    yield from _plate(job, reduction)
    yield from _meters(reduction, meter_difference)


def _plate(job: Job, reduction: Reduction) -> Iterator[Caution]:
    """A rated power that the test contradicts by so much that a unit or a decimal point is wrong somewhere."""
    rated, current = job.nameplate.power, job.nameplate.current
    heaviest = float(np.nanmax(reduction.points.shaft_power, initial=0.0))
    drawn = float(np.nanmax(reduction.points.current, initial=0.0))
    if rated is None or not heaviest > 0.0:
        return
    loaded = current is not None and drawn >= _NEARLY * current
    if rated > _FAR_OFF * heaviest or (loaded and rated > _WEAK * heaviest) or heaviest > _WEAK * rated:
        text = "The plate's power and the test do not belong together: check the unit of the power, arm and scale."
        yield Caution("plate_power", text, f"{rated:.4g} W on the plate, {heaviest:.4g} W at the heaviest load")


def _meters(reduction: Reduction, difference: Array) -> Iterator[Caution]:
    over = reduction.points.above_volt_amperes
    if over.any():
        rows = ", ".join(str(index + 1) for index in np.flatnonzero(over))
        text = "Watts above volts times amperes cannot be: check the wattmeter's ranges and connections."
        yield Caution("watts_above_volt_amperes", text, f"row {rows}")
    apart = np.isfinite(difference) & (difference > METERS_AGREE) & ~over
    if apart.any():
        rows = ", ".join(str(index + 1) for index in np.flatnonzero(apart))
        because = f"up to {float(difference[apart].max()):.1%} in row {rows}"
        yield Caution(
            "meters_disagree",
            "The power-factor meter disagrees with watts over volt-amperes; the watts are used.",
            because,
        )


def gear_cautions(job: Job, characteristic: Characteristic) -> Iterator[Caution]:
    """A caution where the speeds imply another gear ratio than the plate's."""
    by_speed, gear = characteristic.gear_ratio, job.nameplate.gear
    if by_speed is None or gear is None or abs(by_speed.value / gear.ratio - 1.0) <= _RATIOS_AGREE:
        return
    text = "The no-load speed implies another gear ratio than the plate's: doubt slip, poles and the gear itself."
    yield Caution("gear_ratio", text, f"{by_speed.value:.4g} by speed, {gear.ratio:.4g} on the plate")


def _service_factor(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    held = next((finding for finding in findings if finding.id == "service_factor_held"), None)
    reached = next((finding for finding in findings if finding.id == "service_factor"), None)
    if held is None or reached is None or reached.outcome not in ACCEPTED or held.outcome == PASS:
        return
    text = (
        "The service-factor load was shown, not held to a steady temperature: it does not prove the motor can "
        "carry it continuously."
    )
    yield Caution("service_factor_brief", text, str(held.note))


def _better(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    """A motor clearly better than its plate may not be the motor of that plate."""
    titles = tuple(finding.title for finding in findings if finding.outcome == BETTER)
    if titles:
        yield Caution(
            "better_than_plate", Message("caution.better"), Message("caution.better_because", titles=titles), danger=1
        )
