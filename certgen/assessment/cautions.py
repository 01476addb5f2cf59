"""Cautions: what whoever handles the motor or trusts the page must know, each with what in this test raised it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from certgen.assessment.decision import ACCEPTED
from certgen.assessment.frame import frame_cautions
from certgen.assessment.insulation import OF_INSULATION, RESISTANCE, UNSOUND
from certgen.assessment.log_cautions import log_cautions, run_down_cautions, sweep_cautions
from certgen.assessment.rig_cautions import full_span, passed_limits, rig_health
from certgen.assessment.safety import forbids_use, of_safety_of_use
from certgen.assessment.supply import CURRENT_UNBALANCE, FREQUENCY, VOLTAGE, VOLTAGE_UNBALANCE
from certgen.job.model import CONVERTER, DC, GENERATOR, INDUCTION, SINGLE_PHASE, UNIVERSAL, Job
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array, Mask
from certgen.reduction.model import METERS_AGREE, Reduction
from certgen.results.compute import Figures
from certgen.results.model import BETTER, PASS, TO_LIFE, TO_THE_MOTOR, Caution, Characteristic, Finding
from certgen.results.points import IMPOSSIBLE_CAUSES

#: Metal this hot burns at a touch of a second. Common practice, no source.
_HOT = 273.15 + 60.0

#: Ratios further apart than this are not explained by the slip of a motor without load. [1] Common practice, no source.
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
        *_safety(findings),
        *_for_people(job, reduction),
        *run_down_cautions(rig, reduction),
        *_heat(findings),
        *_supply(findings),
        *_quality_of_supply(job),
        *frame_cautions(job),
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


#: What makes a motor of each excitation race; one whose excitation nobody stated is warned of both. A motor with permanent
#: magnets races by neither, and makes voltage when it is turned.
PERMANENT_MAGNET = "permanent magnet"
_RACES = {
    "series": "caution.races_universal",
    "shunt": "caution.races_shunt",
    "separate": "caution.races_shunt",
    "compound": "caution.races_shunt",
}


def _for_people(job: Job, reduction: Reduction) -> Iterator[Caution]:
    points = reduction.points
    kind = job.motor.type
    of_this_type = Message("because.motor_type", type=kind)
    if kind == UNIVERSAL:
        yield Caution("no_load_speed", Message("caution.races_universal"), of_this_type, TO_LIFE)
    if kind == DC and job.motor.excitation == PERMANENT_MAGNET:
        yield Caution("generates", Message("caution.generates"), of_this_type, TO_THE_MOTOR)
    elif kind == DC:
        races = Message(_RACES.get(job.motor.excitation or "", "caution.races_dc"))
        yield Caution("no_load_speed", races, of_this_type, TO_LIFE)
    if kind in (DC, UNIVERSAL):
        yield _commutation(job, reduction)
    if kind != SINGLE_PHASE and job.readings.capacitors:
        yield Caution("capacitor", Message("caution.capacitor"), Message("because.capacitors"), TO_LIFE)
    if kind == SINGLE_PHASE:
        yield Caution("start_winding", Message("caution.start_winding"), of_this_type, TO_THE_MOTOR)
        yield Caution("capacitor", Message("caution.capacitor"), of_this_type, TO_LIFE)
    logged = () if reduction.log is None else reduction.log.trace.speed
    fastest = float(np.nanmax([*points.speed, *logged], initial=0.0))
    yield Caution("rotation", Message("caution.rotation"), Message("because.turned", speed=fastest))
    hottest = float(np.nanmax(points.temperature, initial=0.0))
    if hottest > _HOT:
        yield Caution("heat", Message("caution.hot"), Message("because.winding", temperature=hottest))
    volts = float(np.nanmax(points.voltage, initial=0.0)) or (job.nameplate.voltage or 0.0)
    because = Message("because.supply_of", voltage=volts) if volts else Message("because.supply")
    yield Caution("installation", Message("caution.installation"), because)


def _commutation(job: Job, reduction: Reduction) -> Caution:
    """Sparking is seen, not measured: what the bench wrote on it stands beside the warning."""
    remarks = reduction.points.remarks
    degree = next((one.degree for one in job.inspection if one.degree is not None), None)
    if degree is not None:
        because = Message("because.sparking", degree=degree)
        return Caution("commutation", Message("caution.commutation_seen"), because)
    rows = tuple(row + 1 for row, remark in enumerate(remarks) if "spark" in remark.casefold())
    because = Message("because.no_remark", type=job.motor.type)
    if rows:
        because = Message("because.remark", rows=rows)
    return Caution("commutation", Message("caution.commutation"), because)


#: What a supply off its limits means for the figures, by the finding that states the numbers.
_SUPPLY_TEXTS = {
    VOLTAGE: Message("caution.supply_voltage"),
    FREQUENCY: Message("caution.supply_frequency"),
    VOLTAGE_UNBALANCE: Message("caution.voltage_unbalance"),
}


def _supply(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    for finding in findings:
        if finding.id == CURRENT_UNBALANCE and finding.decides:
            because = Message("because.unbalance", part=finding.measured)
            yield Caution(finding.id, Message("caution.dead_line"), because, TO_THE_MOTOR)
        if finding.id in _SUPPLY_TEXTS and finding.outcome == "fail" and finding.measured is not None:
            because = Message("because.at_most", part=finding.measured)
            if finding.declared is not None:
                because = Message("because.off_plate", part=finding.measured / finding.declared - 1.0)
            yield Caution(finding.id, _SUPPLY_TEXTS[finding.id], because)


#: Distortion of the voltage within which its harmonic voltage factor keeps 0.02, as each harmonic counts in that
#: factor less than in the distortion. IEC 60034-1, 7.2.1.1, and IEC 60034-2-1, from memory.
_CLEAN = 0.02


def _quality_of_supply(job: Job) -> Iterator[Caution]:
    """What feeds the bench, as far as it changes what the figures mean."""
    given = job.conditions
    if given.supply == CONVERTER:
        yield Caution("converter", Message("caution.converter"), Message("because.converter"), TO_THE_MOTOR)
    if given.supply == GENERATOR:
        yield Caution("generator", Message("caution.generator"), Message("because.generator"))
    if given.harmonics is not None and given.harmonics > _CLEAN:
        because = Message("because.harmonics", part=given.harmonics, clean=_CLEAN)
        yield Caution("harmonics", Message("caution.harmonics"), because)
    if given.ripple:
        yield Caution("ripple", Message("caution.ripple"), Message("because.ripple", part=given.ripple))


def _insulation(job: Job, findings: tuple[Finding, ...]) -> Iterator[Caution]:
    """What stands first among the cautions: that a motor must not, or not yet, be energised."""
    judged = [finding for finding in findings if finding.id in OF_INSULATION]
    failed = tuple(
        Message(f"name.{finding.id}") for finding in judged if finding.outcome in UNSOUND and finding.decides
    )
    low_index = [finding for finding in judged if finding.outcome in UNSOUND and not finding.decides]
    unsure = [finding.note for finding in judged if finding.outcome == "not tested"]
    if failed:
        text, because = Message("caution.insulation_failed"), Message("because.below_least", titles=failed)
        yield Caution(RESISTANCE, text, because, TO_LIFE, do_not_energise=True)
    elif job.readings.insulation is None:
        text, because = Message("caution.insulation_not_tested"), Message("because.no_insulation_reading")
        yield Caution(RESISTANCE, text, because, TO_LIFE)
    elif unsure:
        yield Caution(RESISTANCE, Message("caution.insulation_not_judged"), unsure[0], TO_LIFE)
    if low_index and not failed:
        because = Message("because.index", index=low_index[0].measured)
        yield Caution(RESISTANCE, Message("caution.insulation_damp"), because, TO_THE_MOTOR)


def _safety(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    """What inspection and safety tests found of earth, leads, guards and windings: such a motor is not energised."""
    titles = tuple(finding.title for finding in findings if of_safety_of_use(finding) and forbids_use(finding))
    if titles:
        because = Message("because.inspection", titles=titles)
        yield Caution("inspection", Message("caution.inspection_failed"), because, TO_LIFE, do_not_energise=True)


def _heat(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    for finding in findings:
        above = (
            finding.measured is not None
            and finding.required is not None
            and finding.measured > (finding.required.high or np.inf)
        )
        if finding.id == "winding_rise" and above and finding.outcome == "not tested":
            because = Message("because.rise", rise=finding.measured, note=finding.note)
            yield Caution("winding_rise", Message("caution.too_warm"), because, TO_THE_MOTOR)


def _figures(job: Job, reduction: Reduction, meter_difference: Array) -> Iterator[Caution]:
    points = reduction.points
    if points.impossible.any():
        text = Message("caution.impossible", causes=IMPOSSIBLE_CAUSES)
        yield Caution("impossible", text, _in_rows(points.impossible))
    beyond = tuple(
        Message(f"place.{name.removeprefix('at_')}")
        for name, point in reduction.operating.items()
        if point is not None and point.extrapolated
    )
    if beyond:
        yield Caution("extrapolated", Message("caution.extrapolated"), Message("because.places", places=beyond))
    least = float(np.nanmin(points.torque, initial=0.0))
    if least < -0.02 * float(np.nanmax(np.abs(points.torque), initial=0.0)):
        because = Message("because.negative_torque", torque=least)
        yield Caution("negative_torque", Message("caution.negative_torque"), because)
    fastest = float(np.nanmin(points.slip, initial=1.0))
    if job.motor.type in INDUCTION and fastest < -0.005:
        yield Caution("above_synchronous", Message("caution.above_synchronous"), Message("because.slip", slip=fastest))
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
        because = Message("because.plate_power", plate=rated, heaviest=heaviest)
        yield Caution("plate_power", Message("caution.plate_power"), because)


def _meters(reduction: Reduction, difference: Array) -> Iterator[Caution]:
    over = reduction.points.above_volt_amperes
    if over.any():
        yield Caution("watts_above_volt_amperes", Message("caution.watts_above_volt_amperes"), _in_rows(over))
    apart = np.isfinite(difference) & (difference > METERS_AGREE) & ~over
    if apart.any():
        because = Message("because.meters", part=float(difference[apart].max()), rows=rows_of(apart))
        yield Caution("meters_disagree", Message("caution.meters_disagree"), because)


def rows_of(chosen: Mask) -> tuple[int, ...]:
    """The rows a mask of shape (n,) chooses, counted from 1."""
    return tuple(int(index) + 1 for index in np.flatnonzero(chosen))


def _in_rows(chosen: Mask) -> Message:
    return Message("because.rows", rows=rows_of(chosen))


def gear_cautions(job: Job, characteristic: Characteristic) -> Iterator[Caution]:
    """A caution where the speeds imply another gear ratio than the plate's."""
    by_speed, gear = characteristic.gear_ratio, job.nameplate.gear
    if by_speed is None or gear is None or abs(by_speed.value / gear.ratio - 1.0) <= _RATIOS_AGREE:
        return
    because = Message("because.gear_ratio", by_speed=by_speed.value, plate=gear.ratio)
    yield Caution("gear_ratio", Message("caution.gear_ratio"), because)


def _service_factor(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    held = next((finding for finding in findings if finding.id == "service_factor_held"), None)
    reached = next((finding for finding in findings if finding.id == "service_factor"), None)
    if held is None or reached is None or reached.outcome not in ACCEPTED or held.outcome == PASS:
        return
    yield Caution("service_factor_brief", Message("caution.service_factor"), held.note, TO_THE_MOTOR)


def _better(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    """A motor clearly better than its plate may not be the motor of that plate."""
    titles = tuple(finding.title for finding in findings if finding.outcome == BETTER)
    if titles:
        yield Caution("better_than_plate", Message("caution.better"), Message("caution.better_because", titles=titles))
