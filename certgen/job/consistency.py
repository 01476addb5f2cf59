"""Whether the parts of a job fit each other: rig to readings, readings to motor, plate to itself."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from certgen.document.build import Dimensioned, Reader
from certgen.document.vocabulary import Measure
from certgen.document.wording import says
from certgen.job.as_found import check_capacitors, check_enclosure, check_inspection, check_safety_tests
from certgen.job.model import (
    AT_MOTOR,
    DC,
    FIELD_WINDING,
    INDUCTION,
    MOTOR,
    MOTOR_SHAFT,
    OTHER,
    SINGLE_PHASE,
    THREE_PHASE,
    UNIVERSAL,
    WHOLE_MOTOR,
    Job,
    Motor,
    Nameplate,
    ReadingsSource,
)
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Rig
from certgen.job.rig_consistency import check_instruments, check_limits, check_logger, check_papers, scale_quantities
from certgen.job.table import TableSource
from certgen.physics.induction import is_synchronous
from certgen.standards.criteria import EXCITATIONS, SERIES
from certgen.units import conversion

# Whether the tables of a heat run and of a cooling winding hold what can be judged.


Note = Callable[[str, str, str], None]

_TEMPERATURES = ("winding_temperature", "frame_temperature")


def check_heat(readings: ReadingsSource, note: Note) -> None:
    """Keep what is missing from the heat run and the cooling series; ``note(path, what, instead)`` keeps it."""
    heat_run = readings.heat_run
    if heat_run is not None:
        _need(heat_run, "time", "time: min", note)
        if not heat_run.names & set(_TEMPERATURES):
            what = "a heat run needs a column 'frame_temperature' or 'winding_temperature'"
            note(f"{heat_run.path}.columns", what, "name one with its unit, for example 'frame_temperature: degC'")
    hot = readings.winding.hot if readings.winding is not None else None
    if hot is not None and hot.series is not None:
        _need(hot.series, "time", "time: s", note)
        _need(hot.series, "winding_resistance", "winding_resistance: ohm", note)


def _need(source: TableSource, name: str, example: str, note: Note) -> None:
    if name not in source.names:
        what = f"the column '{name}' is missing"
        note(f"{source.path}.columns", what, f"name it with its unit, for example '{example}'")


# Whether a log that is to be read as steady stretches can be.


def check_log(source: TableSource | None, note: Note) -> None:
    """Keep what is wrong with a load test that is a log; ``note(path, what, instead)`` keeps it."""
    if source is None or source.steady is None:
        return
    if "time" not in source.names:
        what = "a log needs a column 'time'"
        note(f"{source.path}.columns", what, "name it with its unit, for example 'time: s', or leave 'steady' out")
    good: list[tuple[float, float, str]] = []
    for index, pair in enumerate(source.steady.at or (), start=1):
        path = f"{source.path}.steady.at[{index}]"
        if pair is None or None in pair:
            continue  # what could not be read is reported already
        if len(pair) != 2 or not pair[0] < pair[1]:
            note(path, "a stretch has a beginning and a later end", "write it as [12 s, 20 s]")
        else:
            good.append((*pair, path))
    for first, second in itertools.pairwise(sorted(good)):
        if second[0] < first[1]:
            note(second[2], "this stretch overlaps another", "let each begin after the one before has ended")


# Whether the log of a sweep and the tables of a run-down test hold what can be judged.


def check_sweep_and_run_down(job: Job, rig: Rig, note: Note) -> None:
    """Keep what is missing from a sweep or a run-down test; ``note(path, what, instead)`` keeps it."""
    readings = job.readings
    load_test = readings.load_test
    if load_test is not None and load_test.sweep is not None:
        _need(load_test, "time", "time: s", note)
        if load_test.steady is not None:
            what = "a log is read in one way, and this one is a sweep too"
            note(f"{load_test.path}.steady", what, "keep 'sweep' or 'steady'")
    for table in (readings.run_down, readings.run_down_braked):
        if table is not None:
            _need(table, "time", "time: s", note)
            _need(table, "speed", "speed: rpm", note)
    if readings.run_down_braked is not None:
        _check_braking(readings.run_down_braked, note)
        if readings.run_down is None:
            what = "a braked run-down stands alone"
            note(readings.run_down_braked.path, what, "give the run-down without the brake too, as 'run_down:'")
    elif readings.run_down is not None:
        _check_inertia(readings.run_down, rig, note)


def _check_braking(table: TableSource, note: Note) -> None:
    given = [name for name in ("added_torque", "added_power") if getattr(table.also, name, None) is not None]
    if len(given) != 1:
        what = "both an added torque and an added power are given" if given else "what braked the run is missing"
        note(table.path, what, "write one of them, for example 'added_torque: 0.5 N*m'")


def _check_inertia(table: TableSource, rig: Rig, note: Note) -> None:
    """A torque sensor's rig inertia is not all that coasts."""
    beside = table.also
    if beside is None or beside.coasting in (None, MOTOR) or beside.inertia is not None:
        return
    if rig.absorber is not None and rig.absorber.kind == TORQUE_SENSOR:
        what = "behind a torque sensor more turns than the inertia of the rig file holds"
        note(f"{table.path}.inertia", what, "write the inertia of all that turned, for example 'inertia: 0.007 kg*m^2'")


# Whether the parts of a job fit each other: rig to readings, readings to motor, plate to itself.


_LINES_OF = {
    "voltage": ("voltage_ab", "voltage_bc", "voltage_ca"),
    "current": ("current_a", "current_b", "current_c"),
}
_TORQUE_COLUMNS = {ARM: ("scale",), ROPE: ("scale", "scale_2"), TORQUE_SENSOR: ("torque",)}
_NEEDED = {
    "arm_length": "'arm_length: 0.5 m'",
    "drum_radius": "'drum_radius: 0.1 m'",
    "scale": "'scale: {reads: mass}' or 'scale: {reads: force}'",
}
#: How far two figures of one plate may contradict each other by rounding. [1] Common practice, no source.
_PLATE_ROUNDING = 0.02
_LOAD_TEST = "readings.load_test"
_TABLES = ("load_test", "no_load", "locked_rotor", "heat_run")
_ABSORBERS = {ARM: "an arm on one scale", ROPE: "a rope brake with two balances", TORQUE_SENSOR: "a torque sensor"}


@dataclass(frozen=True)
class _Notes:
    """Where mistakes of one file are kept."""

    reader: Reader
    table: str = _LOAD_TEST

    def at(self, path: str, what: str, instead: str) -> None:
        """Keep a mistake at a key, or at the nearest key above it that was written."""
        self.reader.wrong_at(path, what, instead)

    def column(self, name: str, what: str, instead: str) -> None:
        """Keep a mistake at a column of the table."""
        self.at(f"{self.table}.columns.{name}", what, instead)


def check_fit(job: Job, rig: Rig, reader: Reader, rig_reader: Reader) -> None:
    """Keep every mismatch between job and rig in the readers' problems."""
    notes = _Notes(reader)
    check_rig(rig, rig_reader)
    _check_plate(job, notes)
    _check_days(job, notes)
    _check_revision(job, notes)
    check_inspection(job.inspection, job.motor is not None and job.motor.type in INDUCTION, notes.at)
    if job.readings is None:
        return
    if job.motor is not None and job.motor.type is not None:
        check_capacitors(job.readings.capacitors, job.motor.type in (*INDUCTION, OTHER), notes.at)
        if job.readings.start_switch_opens_at is not None and job.motor.type not in (SINGLE_PHASE, OTHER):
            what = f"a motor of type '{job.motor.type}' has no start switch"
            notes.at("readings.start_switch_opens_at", what, "remove it, or correct motor.type")
    check_safety_tests(job.readings.safety, notes.at)
    check_heat(job.readings, notes.at)
    check_sweep_and_run_down(job, rig, notes.at)
    check_log(job.readings.load_test, notes.at)
    for name in _TABLES:
        source = getattr(job.readings, name)
        if source is not None:
            _check_table(source, job, rig, replace(notes, table=f"readings.{name}"))
    if rig.absorber is not None and rig.absorber.kind is not None:
        _check_zeros(job, rig, notes)


def check_rig(rig: Rig, rig_reader: Reader) -> None:
    """Keep every mismatch within the rig in the reader's problems."""
    notes = _Notes(rig_reader)
    _check_absorber(rig, notes)
    _check_drive(rig, notes)
    _check_efficiency(rig, notes)
    _check_calibration(rig, notes)
    check_instruments(rig, rig_reader.places, notes.at)
    check_papers(rig, notes.at)
    check_limits(rig, notes.at)
    check_logger(rig, notes.at)


def _check_table(source: TableSource, job: Job, rig: Rig, notes: _Notes) -> None:
    if job.motor is not None and job.motor.type is not None:
        _check_lines(source.names, job.motor.type == THREE_PHASE, notes)
        _check_wattmeters(source.names, job.motor.type == THREE_PHASE, notes)
        if "power_factor" in source.names and job.motor.type == DC:
            notes.column("power_factor", "a direct-current motor has no power factor", "remove the column")
    if rig.absorber is not None and rig.absorber.kind is not None:
        _check_torque_columns(source, rig, notes)
        _check_scale_columns(source, rig, notes)


def _check_absorber(rig: Rig, notes: _Notes) -> None:
    kind = rig.absorber.kind if rig.absorber else None
    if kind is None:
        return
    for name in {ARM: ("arm_length", "scale"), ROPE: ("drum_radius", "scale"), TORQUE_SENSOR: ()}[kind]:
        if getattr(rig, name) is None and name not in notes.reader.places:
            notes.at(name, f"this key is missing for absorber kind '{kind}'", f"write it, for example {_NEEDED[name]}")
    parts = (("arm_length", ARM), ("out_of_square", ARM), ("drum_radius", ROPE), ("rope_diameter", ROPE))
    for name, only in parts:
        if kind != only and getattr(rig, name) is not None:
            notes.at(name, f"this has no use with absorber kind '{kind}'", f"remove it, or set the kind to '{only}'")


def _check_drive(rig: Rig, notes: _Notes) -> None:
    drive = rig.drive
    if drive is None:
        return
    for name, example in (("ratio", "2.0"), ("efficiency", "0.97"), ("tolerance", None), ("ratio_tolerance", None)):
        path = f"drive.{name}"
        if drive.kind == "direct" and getattr(drive, name) is not None:
            notes.at(path, f"a direct drive has no {name}", "remove it, or set 'kind: belt'")
        if drive.kind == "belt" and example is not None and path not in notes.reader.places:
            notes.at(path, "this key is missing for a belt", f"write it, for example '{name}: {example}'")


def _check_efficiency(rig: Rig, notes: _Notes) -> None:
    drive = rig.drive
    if drive is None or drive.efficiency is None or drive.tolerance is None:
        return
    if not drive.tolerance < drive.efficiency <= 1.0 - drive.tolerance:
        what = f"an efficiency of {drive.efficiency:g} with this limit of error passes 0 or 1"
        notes.at("drive.tolerance", what, "write efficiency and tolerance so that both limits are possible")


def _check_calibration(rig: Rig, notes: _Notes) -> None:
    scale = rig.scale
    if scale is None or scale.reads is None:
        return
    listed = scale_quantities(rig)
    calibration = scale.calibration
    if calibration is not None and None not in (calibration.applied, calibration.indicated):
        for name in ("applied", "indicated"):
            loads = getattr(calibration, name)
            listed += [(f"scale.calibration.{name}[{number}]", load) for number, load in enumerate(loads, start=1)]
        _check_loads(calibration.applied, calibration.indicated, notes)
    for path, load in listed:
        if load is not None and load.dimension != scale.reads:
            what = f"this is a {load.dimension}, but the scale reads {scale.reads}"
            notes.at(path, what, f"write {says(Measure(scale.reads))}")


def _check_loads(applied: Sequence[Dimensioned], indicated: Sequence[Dimensioned], notes: _Notes) -> None:
    path = "scale.calibration.indicated"
    if len(applied) != len(indicated):
        what = f"{len(applied)} applied loads stand against {len(indicated)} indications"
        notes.at(path, what, "give one indication for each applied load")
    elif None in applied or None in indicated:
        return  # the entry that could not be read is reported already
    elif len({load.value for load in applied}) < 2:
        what = "a calibration needs two different loads at least"
        notes.at("scale.calibration.applied", what, "add applied loads, or leave the calibration out")
    elif not _rises([load.value for load in applied], [load.value for load in indicated]):
        what = "the indications do not rise with the applied loads"
        notes.at(path, what, "write what the scale showed for each load, in the same order")


def _rises(applied: Sequence[float], indicated: Sequence[float]) -> bool:
    """Whether the mean indication grows from each applied load to the next greater one."""
    at_load: dict[float, list[float]] = {}
    for load, shown in sorted(zip(applied, indicated, strict=True)):
        at_load.setdefault(load, []).append(shown)
    means = [math.fsum(shown) / len(shown) for shown in at_load.values()]
    return all(low < high for low, high in itertools.pairwise(means))


def _check_plate(job: Job, notes: _Notes) -> None:
    plate, motor = job.nameplate, job.motor
    if plate is None or motor is None or motor.type is None:
        return
    _check_excitation(motor, notes)
    check_enclosure(motor.enclosure, notes.at)
    if job.conditions is not None and job.conditions.ripple is not None and motor.type not in (DC, UNIVERSAL, OTHER):
        what = f"a motor of type '{motor.type}' runs on alternating current"
        notes.at("conditions.ripple", what, "remove it, or write 'harmonics: 3 %' for its voltage")
    _check_insulation(job, notes)
    _check_windings(job, notes)
    _check_declared_input(plate, motor, notes)
    _check_declared_starting(plate, motor, notes)
    _check_gear(plate, notes)
    _check_plate_speed(plate, motor, notes)


def _check_excitation(motor: Motor, notes: _Notes) -> None:
    allowed = {DC: EXCITATIONS, UNIVERSAL: (SERIES,)}.get(motor.type, ())
    if motor.excitation is None or motor.excitation in allowed:
        return
    if motor.type == UNIVERSAL:
        what, instead = "a universal motor is a series motor", "write 'series', or leave it out"
    else:
        what, instead = f"a motor of type '{motor.type}' has none", "remove it, or write 'type: dc'"
    notes.at("motor.excitation", what, instead)


def _check_insulation(job: Job, notes: _Notes) -> None:
    """Only a motor with commutator has a field winding apart from the rest."""
    read = None if job.readings is None else job.readings.insulation
    if read is None or read.winding != FIELD_WINDING or job.motor.type in (DC, UNIVERSAL):
        return
    what = f"a motor of type '{job.motor.type}' has no field winding to be read alone"
    notes.at("readings.insulation.winding", what, f"remove it, or write '{WHOLE_MOTOR}'")


#: Windings by the kinds of motor that have them.
_WINDINGS_OF = {
    (THREE_PHASE,): ("u_v", "v_w", "w_u"),
    (SINGLE_PHASE,): ("main", "start"),
    (DC, UNIVERSAL): ("armature", "field"),
}


def _check_windings(job: Job, notes: _Notes) -> None:
    """Every kind of motor has its own windings; of three pairs all are read, or none."""
    winding, kind = None if job.readings is None else job.readings.winding, job.motor.type
    if winding is None or kind == OTHER:
        return
    for kinds, names in _WINDINGS_OF.items():
        given = [name for name in names if getattr(winding, name) is not None]
        if kind not in kinds and given:
            what = f"a motor of type '{kind}' has no such winding"
            notes.at(f"readings.winding.{given[0]}", what, "remove it, or correct motor.type")
        elif kind == THREE_PHASE and given and len(given) < len(names):
            missing = " and ".join(name for name in names if name not in given)
            notes.at(f"readings.winding.{given[0]}", f"of the three pairs {missing} is missing", "give all three pairs")


def _check_declared_input(plate: Nameplate, motor: Motor, notes: _Notes) -> None:
    """Input is more than output, and volt-amperes are not fewer than watts."""
    power, taken, apparent = plate.power, plate.input_power, plate.apparent_power
    if apparent is not None and motor.type == DC:
        what = "a direct-current motor has no apparent power"
        notes.at("nameplate.apparent_power", what, "write its watts as 'input_power'")
        return
    if power is not None and taken is not None and taken <= power:
        what = f"{taken:.4g} W is not above the {power:.4g} W that the shaft gives"
        instead = "leave 'power' out where the plate gives the input alone"
        notes.at("nameplate.input_power", what, instead)
    least = max(power or 0.0, taken or 0.0)
    if apparent is not None and apparent < least * (1.0 - _PLATE_ROUNDING):
        what = f"{apparent:.4g} VA is less than the {least:.4g} W beside it"
        notes.at("nameplate.apparent_power", what, "check both, or leave the doubtful one out")


def _check_declared_starting(plate: Nameplate, motor: Motor, notes: _Notes) -> None:
    for name in ("pull_up_torque", "breakdown_torque"):
        if getattr(plate, name) is not None and motor.type in (DC, UNIVERSAL):
            what = f"a motor of type '{motor.type}' has none: its torque rises to standstill"
            notes.at(f"nameplate.{name}", what, "remove it")
    if motor.type not in INDUCTION:
        return
    pairs = (("locked_rotor_current", "current"), ("breakdown_torque", "pull_up_torque"))
    for greater, smaller in pairs:
        high, low = getattr(plate, greater), getattr(plate, smaller)
        if high is not None and low is not None and high < low:
            what = f"this is below the plate's {smaller.replace('_', ' ').replace('pull up', 'pull-up')}"
            notes.at(f"nameplate.{greater}", what, "check both, or leave the doubtful one out")


def _check_gear(plate: Nameplate, notes: _Notes) -> None:
    gear = plate.gear
    if gear is None or gear.plate_at is None or "nameplate.gear.speed_of" not in notes.reader.places:
        return
    if (gear.plate_at == AT_MOTOR) != (gear.speed_of == MOTOR_SHAFT):
        what = f"plate_at says {gear.plate_at}, and speed_of says {gear.speed_of}"
        notes.at("nameplate.gear.plate_at", what, "let both name one shaft, or leave one out")


def _check_plate_speed(plate: Nameplate, motor: Motor, notes: _Notes) -> None:
    """A plate may have the synchronous speed on it, and none above."""
    if motor.type not in INDUCTION or plate.poles is None or plate.frequency is None or plate.speed is None:
        return
    ratio = plate.gear.ratio if plate.gear and plate.gear.ratio else 1.0
    turns_per_second = plate.speed * ratio / (2.0 * math.pi)
    synchronous = 2.0 * plate.frequency / plate.poles
    exactly = is_synchronous(plate.speed * ratio, plate.frequency, plate.poles)
    if turns_per_second > synchronous and not exactly:
        what = (
            f"{turns_per_second * 60 / ratio:.0f} rpm is above the synchronous speed of {plate.poles} poles at "
            f"{plate.frequency:g} Hz, {synchronous * 60 / ratio:.0f} rpm"
        )
        notes.at("nameplate.speed", what, "check speed, poles and frequency, or leave the doubtful one out")


def _check_torque_columns(source: TableSource, rig: Rig, notes: _Notes) -> None:
    kind = rig.absorber.kind
    needed = _TORQUE_COLUMNS[kind]
    # Other tables may do without torque, but two balances belong together.
    with_torque = notes.table == _LOAD_TEST or not source.names.isdisjoint(needed)
    wanted = (("speed",) if notes.table == _LOAD_TEST else ()) + (needed if with_torque else ())
    for name in wanted:
        if name not in source.names:
            reason = f" for {_ABSORBERS[kind]}" if name in needed else ""
            what = f"the column '{name}' is missing{reason}"
            instead = f"name it with its unit, for example '{name}: {_unit_of(name, rig)}'"
            notes.at(f"{notes.table}.columns", what, instead)
    for name in ("scale", "scale_2", "torque"):
        if name in source.names and name not in needed:
            what = f"the rig's absorber is {_ABSORBERS[kind]}, which gives no such column"
            notes.column(name, what, "remove the column, or name the rig the test was made on")


def _unit_of(name: str, rig: Rig) -> str:
    scale = "N" if rig.scale and rig.scale.reads == "force" else "kg"
    return {"speed": "rpm", "torque": "N*m"}.get(name, scale)


def _check_lines(names: frozenset[str], three_phase: bool, notes: _Notes) -> None:
    for mean, lines in _LINES_OF.items():
        given = [name for name in lines if name in names]
        if not given:
            continue
        if not three_phase:
            notes.column(given[0], "columns of single lines need a three-phase motor", f"use one column '{mean}'")
        elif len(given) < 3:
            missing = " and ".join(name for name in lines if name not in names)
            what = f"of the three lines {missing} is missing"
            notes.column(given[0], what, f"give all three lines, or one column '{mean}' for their mean")
        elif mean in names:
            notes.column(mean, "the mean and its three lines are both given", "keep the lines, or the mean")


def _check_wattmeters(names: frozenset[str], three_phase: bool, notes: _Notes) -> None:
    given = [name for name in ("wattmeter_1", "wattmeter_2") if name in names]
    if not given:
        return
    if not three_phase:
        notes.column(given[0], "two wattmeters need a three-phase motor", "use one column 'input_power'")
    elif len(given) == 1:
        notes.column(given[0], "this wattmeter stands alone", "give both wattmeters, or one column 'input_power'")
    elif "input_power" in names:
        notes.column("input_power", "the power and both wattmeters are given", "keep the wattmeters, or the power")


def _check_scale_columns(source: TableSource, rig: Rig, notes: _Notes) -> None:
    reads = rig.scale.reads if rig.scale else None
    for column in source.columns:
        mismatch = scale_mismatch(column.name, column.unit, reads) if column.unit else None
        if mismatch is not None:
            notes.column(column.name, *mismatch)


def scale_mismatch(name: str, unit: str, reads: str | None) -> tuple[str, str] | None:
    """What is wrong with the unit of a scale's column, and what to write instead; ``None`` where nothing is."""
    if reads is None or name not in ("scale", "scale_2"):
        return None
    dimension = conversion(unit)[0]
    if dimension == reads:
        return None
    what = f"'{unit}' is a unit of {dimension}, but the rig's scale reads {reads}"
    units = "'N' or 'lbf'" if reads == "force" else "'kg' or 'lb'"
    return what, f"write a unit of {reads}, for example {units}, or correct scale.reads in the rig file"


def _check_zeros(job: Job, rig: Rig, notes: _Notes) -> None:
    kind = rig.absorber.kind
    reads = "torque" if kind == TORQUE_SENSOR else (rig.scale.reads if rig.scale else None)
    for name in ("zero_before", "zero_after", "zero_before_2", "zero_after_2"):
        zero = getattr(job.readings, name)
        if zero is None:
            continue
        if name.endswith("_2") and kind != ROPE:
            notes.at(f"readings.{name}", "only a rope brake has a second balance", "remove it")
        elif reads is not None and zero.dimension != reads:
            what = f"this is a {zero.dimension}, but the rig reads {reads}"
            notes.at(f"readings.{name}", what, f"write {says(Measure(reads))}")


def _check_days(job: Job, notes: _Notes) -> None:
    """A motor comes in, is tested, and its certificate is issued, in that order."""
    given = job.certificate
    if given is None or given.tested_on is None:
        return
    tested = given.tested_on.isoformat()
    if given.received_on is not None and given.received_on > given.tested_on:
        what = f"the motor came in after its test on {tested}"
        notes.at("certificate.received_on", what, "write the day it came in, or correct tested_on")
    if given.issued_on is not None and given.issued_on < given.tested_on:
        what = f"the certificate is issued before its test on {tested}"
        notes.at("certificate.issued_on", what, "write the day of issue, or leave it out")


def _check_revision(job: Job, notes: _Notes) -> None:
    """A revision names the certificate it corrects, and why."""
    certificate = job.certificate
    if certificate is None or certificate.revision is None:
        return
    if certificate.revision == 1:
        if certificate.revision_reason is not None:
            what = "a first issue replaces nothing"
            notes.at("certificate.revision_reason", what, "write 'revision: 2' beside it, or leave it out")
        return
    for name, value in (("number", certificate.number), ("revision_reason", certificate.revision_reason)):
        if value is None and f"certificate.{name}" not in notes.reader.places:
            instead = (
                "write 'number: ..' of the certificate corrected" if name == "number" else "write 'revision_reason: ..'"
            )
            notes.at("certificate.revision", f"revision {certificate.revision} needs {name}", instead)
