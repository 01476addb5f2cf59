"""Whether the parts of a job fit each other: rig to readings, readings to motor, plate to itself."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.document.build import Dimensioned, Reader
from certgen.document.source import Place
from certgen.job.model import DC, INDUCTION, THREE_PHASE, Job
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Rig
from certgen.job.table import TableSource

_LINES_OF = {
    "voltage": ("voltage_ab", "voltage_bc", "voltage_ca"),
    "current": ("current_a", "current_b", "current_c"),
}
_TORQUE_COLUMNS = {ARM: ("scale",), ROPE: ("scale", "scale_2"), TORQUE_SENSOR: ("torque",)}
_ABSORBERS = {ARM: "an arm on one scale", ROPE: "a rope brake with two balances", TORQUE_SENSOR: "a torque sensor"}


@dataclass(frozen=True)
class _Notes:
    """Where mistakes of one file are kept."""

    reader: Reader

    def at(self, path: str, what: str, instead: str, place: Place | None = None) -> None:
        """Keep a mistake at a key, or at the nearest key above it that was written."""
        where = path
        while where and where not in self.reader.places:
            where = where.rpartition(".")[0]
        found = place or self.reader.places.get(where, (1, 1))
        self.reader.problems.add(self.reader.shown, found, f"{path}: {what}", instead)


def check_fit(job: Job, rig: Rig, reader: Reader, rig_reader: Reader) -> None:
    """Keep every mismatch between job and rig in the readers' problems."""
    notes, rig_notes = _Notes(reader), _Notes(rig_reader)
    _check_absorber(rig, rig_notes)
    _check_drive(rig, rig_notes)
    _check_calibration(rig, rig_notes)
    _check_plate(job, notes)
    source = getattr(job.readings, "load_test", None)
    if source is not None and job.motor is not None and rig.absorber is not None:
        _check_torque_columns(source, rig, notes)
        _check_electrical_columns(source, job, notes)
        _check_dimensions(job, rig, source, notes)


def _check_absorber(rig: Rig, notes: _Notes) -> None:
    kind = rig.absorber.kind if rig.absorber else None
    needed = {ARM: ("arm_length", "scale"), ROPE: ("drum_radius", "scale")}.get(kind or "", ())
    for name in needed:
        if getattr(rig, name) is None and name not in notes.reader.places:
            notes.at(name, f"this key is missing for absorber kind '{kind}'", f"write '{name}:' with its value")
    for name, only in (("arm_length", ARM), ("drum_radius", ROPE), ("rope_diameter", ROPE)):
        if kind is not None and kind != only and getattr(rig, name) is not None:
            notes.at(name, f"this has no use with absorber kind '{kind}'", f"remove it, or set the kind to '{only}'")


def _check_drive(rig: Rig, notes: _Notes) -> None:
    drive = rig.drive
    if drive is None:
        return
    for name in ("ratio", "efficiency"):
        if drive.kind == "belt" and getattr(drive, name) is None and f"drive.{name}" not in notes.reader.places:
            notes.at(f"drive.{name}", "this key is missing for a belt", f"write 'drive: {{kind: belt, {name}: ..}}'")
        if drive.kind == "direct" and getattr(drive, name) is not None:
            notes.at(f"drive.{name}", "a direct drive has none", "remove it, or set 'kind: belt'")


def _check_calibration(rig: Rig, notes: _Notes) -> None:
    scale = rig.scale
    if scale is None or scale.reads is None:
        return
    listed = [("scale.resolution", scale.resolution), ("limits.scale", rig.limits.scale if rig.limits else None)]
    calibration = scale.calibration
    if calibration is not None and None not in (calibration.applied, calibration.indicated):
        applied, indicated = calibration.applied, calibration.indicated
        listed += [(f"scale.calibration.applied[{i}]", one) for i, one in enumerate(applied)]
        listed += [(f"scale.calibration.indicated[{i}]", one) for i, one in enumerate(indicated)]
        if len(applied) != len(indicated):
            what = f"{len(applied)} applied loads stand against {len(indicated)} indications"
            notes.at("scale.calibration", what, "give one indication for each applied load")
        elif len({one.value for one in applied if one}) < 2:
            notes.at(
                "scale.calibration",
                "a calibration needs two different loads at least",
                "add applied loads, or leave it out",
            )
        elif not _rises([one.value for one in applied if one], [one.value for one in indicated if one]):
            what = "the indications do not rise with the applied loads"
            notes.at("scale.calibration", what, "write what the scale showed for each load, in the same order")
    for path, one in listed:
        if isinstance(one, Dimensioned) and one.dimension != scale.reads:
            notes.at(
                path, f"this is a {one.dimension}, but the scale reads {scale.reads}", f"write it as a {scale.reads}"
            )


def _rises(applied: list[float], indicated: list[float]) -> bool:
    """Whether the indication grows from the least to the greatest applied load."""
    if len(applied) != len(indicated) or not applied:
        return True  # said elsewhere
    pairs = sorted(zip(applied, indicated, strict=True))
    return pairs[-1][1] > pairs[0][1]


def _check_plate(job: Job, notes: _Notes) -> None:
    plate, motor = job.nameplate, job.motor
    if plate is None or motor is None or motor.type not in INDUCTION:
        return
    if None in (plate.poles, plate.frequency, plate.speed):
        return
    assert plate.poles and plate.frequency and plate.speed  # narrowed for the type checker
    ratio = plate.gear.ratio if plate.gear and plate.gear.ratio else 1.0
    turns_per_second = plate.speed * ratio / (2.0 * 3.141592653589793)
    synchronous = 2.0 * plate.frequency / plate.poles
    if turns_per_second >= synchronous:
        what = (
            f"{turns_per_second * 60 / ratio:.0f} rpm is not below the synchronous speed of {plate.poles} poles at "
            f"{plate.frequency:g} Hz, {synchronous * 60 / ratio:.0f} rpm"
        )
        notes.at(
            "nameplate.speed", what, "check speed, poles and frequency on the plate, or leave the doubtful one out"
        )


def _check_torque_columns(source: TableSource, rig: Rig, notes: _Notes) -> None:
    kind = rig.absorber.kind
    if kind is None:
        return
    needed = _TORQUE_COLUMNS[kind]
    path = "readings.load_test.columns"
    for name in ("speed", *needed):
        if name not in source.names:
            what = (
                f"the column '{name}' is missing for {_ABSORBERS[kind]}"
                if name in needed
                else "the column 'speed' is missing"
            )
            notes.at(path, what, f"name it, for example {{{name}: {_unit_of(name, rig)}}}", source.place)
    for name in ("scale", "scale_2", "torque"):
        if name in source.names and name not in needed:
            column = next(column for column in source.columns if column.name == name)
            what = f"the rig's absorber is {_ABSORBERS[kind]}, so there is no column '{name}'"
            notes.at(f"{path}.{name}", what, "remove the column, or name the rig the test was made on", column.place)


def _unit_of(name: str, rig: Rig) -> str:
    if name == "speed":
        return "rpm"
    if name == "torque":
        return "N*m"
    return "N" if rig.scale and rig.scale.reads == "force" else "kg"


def _check_electrical_columns(source: TableSource, job: Job, notes: _Notes) -> None:
    path = "readings.load_test.columns"
    if job.motor.type is None:
        return
    three_phase = job.motor.type == THREE_PHASE
    for mean, lines in _LINES_OF.items():
        given = [name for name in lines if name in source.names]
        if given and len(given) < 3:
            lacking = ", ".join(name for name in lines if name not in source.names)
            notes.at(
                path,
                f"of the three lines {lacking} is missing",
                f"give all three, or one column '{mean}'",
                source.place,
            )
        if given and mean in source.names:
            notes.at(path, f"both '{mean}' and its lines are given", "keep the lines, or the mean alone", source.place)
        if given and not three_phase:
            notes.at(
                path, f"lines {', '.join(given)} need a three-phase motor", f"use one column '{mean}'", source.place
            )
    wattmeters = [name for name in ("wattmeter_1", "wattmeter_2") if name in source.names]
    if len(wattmeters) == 1:
        notes.at(
            path, f"'{wattmeters[0]}' stands alone", "give both wattmeters, or one column 'input_power'", source.place
        )
    if wattmeters and not three_phase:
        notes.at(path, "two wattmeters need a three-phase motor", "use one column 'input_power'", source.place)
    if wattmeters and "input_power" in source.names:
        notes.at(path, "both 'input_power' and wattmeters are given", "keep one of them", source.place)
    if "power_factor" in source.names and job.motor.type == DC:
        notes.at(path, "a direct-current motor has no power factor", "remove the column 'power_factor'", source.place)


def _check_dimensions(job: Job, rig: Rig, source: TableSource, notes: _Notes) -> None:
    kind = rig.absorber.kind
    if kind is None:
        return
    reads = "torque" if kind == TORQUE_SENSOR else (rig.scale.reads if rig.scale else None)
    if reads is None:
        return
    for column in source.columns:
        if column.name in ("scale", "scale_2") and column.dimension != reads:
            what = f"'{column.unit}' is a unit of {column.dimension}, but the rig's scale reads {reads}"
            instead = f"write a unit of {reads}, for example '{'kg' if reads == 'mass' else 'N'}'"
            notes.at(f"{source.path}.columns.{column.name}", what, instead, column.place)
    for name in ("zero_before", "zero_after", "zero_before_2", "zero_after_2"):
        zero = getattr(job.readings, name)
        if zero is not None and zero.dimension != reads:
            notes.at(f"readings.{name}", f"this is a {zero.dimension}, but the rig reads {reads}", f"write a {reads}")
        if zero is not None and name.endswith("_2") and kind != ROPE:
            notes.at(f"readings.{name}", "only a rope brake has a second balance", "remove it")
