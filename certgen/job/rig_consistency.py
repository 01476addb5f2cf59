"""Whether what a rig says of its instruments, its limits and its logger fits together."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Container
from dataclasses import dataclass

from certgen.document.build import Dimensioned
from certgen.document.vocabulary import keys_of
from certgen.document.wording import nearest, short
from certgen.job.columns import COLUMNS
from certgen.job.logger import COMMA, INTERVAL, RUNNING, SKIPPED, CountsCalibration, Logger, LoggerColumn
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Meter, Meters, Rig
from certgen.units import DIMENSIONS, UnitError, conversion

#: Keeps a mistake at a key: its path, what is wrong, what to write instead.
Tell = Callable[[str, str, str], None]


def scale_quantities(rig: Rig) -> list[tuple[str, Dimensioned | None]]:
    """What a rig states in the unit of its scale, by key, without the loads of its calibration."""
    scale = rig.scale
    if scale is None:
        return []
    listed = [(f"scale.{name}", getattr(scale, name)) for name in ("resolution", "hysteresis", "tolerance")]
    stated = scale.calibration.expanded_uncertainty if scale.calibration else None
    if stated is not None and stated.dimension != "ratio":
        listed.append(("scale.calibration.expanded_uncertainty", stated))
    return [*listed, ("limits.scale", rig.limits.scale if rig.limits else None)]


def check_instruments(rig: Rig, given: Container[str], tell: Tell) -> None:
    """Keep every accuracy that cannot be worked out or is none, and a scale judged twice; ``given`` are the keys written."""
    for name in keys_of(Meters):
        meter: Meter | None = getattr(rig.meters, name) if rig.meters is not None else None
        if meter is not None:
            _check_meter(meter, f"meters.{name}", given, tell)
    for path, quantity in scale_quantities(rig):
        if quantity is not None and not quantity.value > 0.0:
            tell(path, f"{quantity.value:g} is no size", "write more than zero, or leave the key out")
    _check_applied(rig, tell)
    scale = rig.scale
    if scale is not None and scale.tolerance is not None and scale.calibration is not None:
        what = "a scale with a calibration has its error from there"
        tell("scale.tolerance", what, "keep the calibration or the tolerance")


def _check_applied(rig: Rig, tell: Tell) -> None:
    calibration = rig.scale.calibration if rig.scale is not None else None
    stated = calibration.expanded_uncertainty if calibration is not None else None
    if calibration is None or stated is None:
        return
    path = "scale.calibration.expanded_uncertainty"
    loads = [abs(load.value) for load in calibration.applied or () if load is not None]
    largest = 1.0 if stated.dimension == "ratio" else max(loads, default=stated.value)
    if stated.dimension == "ratio" and not stated.value > 0.0:
        tell(path, f"{stated.value:g} is no size", "write more than zero, or leave the key out")
    elif stated.value > largest:
        tell(path, "this is more than the largest load itself", "write how far the largest load may be off")


def _check_meter(meter: Meter, path: str, given: Container[str], tell: Tell) -> None:
    if meter.range is not None and f"{path}.full_scale" not in given:
        tell(f"{path}.range", "a part of range needs the range", "write its full_scale beside it")
    if meter.digits is not None and f"{path}.resolution" not in given:
        tell(f"{path}.digits", "digits need the size of one", "write the resolution beside them")


# Whether what a rig says it can stand fits together: heat, envelope, belt and rim.


def check_limits(rig: Rig, tell: Tell) -> None:
    """Keep every limit that contradicts another or has nothing to hold for."""
    _check_heat(rig, tell)
    _check_envelope(rig, tell)
    limits, drive = rig.limits, rig.drive
    if limits is None:
        return
    if limits.belt_power is not None and drive is not None and drive.kind == "direct":
        tell("limits.belt_power", "a direct drive has no belt", "remove it, or write the belt under 'drive'")
    no_drum = rig.absorber is not None and rig.absorber.kind not in (None, ROPE)
    if limits.rim_speed is not None and rig.rim is None and no_drum:
        what = "the radius this speed holds at is not known"
        tell("limits.rim_speed", what, "write it, for example 'rim: {radius: 60 mm}'")


def _check_heat(rig: Rig, tell: Tell) -> None:
    heat = rig.absorber_heat
    if heat is None:
        return
    if heat.short_time is not None and heat.time_constant is not None:
        what = "short_time and time_constant stand together, and each gives the other"
        tell("absorber_heat.time_constant", what, "keep one of them")
    short = heat.short_time.power if heat.short_time is not None else None
    if short is not None and heat.continuous is not None and short <= heat.continuous:
        what = "this is not more than the continuous power"
        tell("absorber_heat.short_time.power", what, "write the greater power that is borne for a short time only")


def _check_envelope(rig: Rig, tell: Tell) -> None:
    source = rig.brake_envelope
    if source is None:
        return
    for name, unit in (("speed", "rpm"), ("torque", "N*m")):
        if name not in source.names:
            what = f"the column '{name}' is missing"
            tell("brake_envelope.columns", what, f"name it with its unit, for example '{name}: {unit}'")


# Whether the columns of a logger are columns of a table, in units of theirs, and fit the rig.


_OF_ABSORBER = {ARM: ("scale",), ROPE: ("scale", "scale_2"), TORQUE_SENSOR: ("torque",)}
_UNITLESS = (SKIPPED, "remark")


@dataclass(frozen=True)
class _Notes:
    """Where the mistakes of one key go."""

    path: str
    tell: Tell

    def at(self, name: str, what: str, instead: str) -> None:
        """Keep a mistake at a key below this one."""
        self.tell(f"{self.path}.{name}", what, instead)


def check_logger(rig: Rig, tell: Tell) -> None:
    """Keep every column that cannot be recorded as written."""
    logger = rig.logger
    if logger is None:
        return
    notes = _Notes("logger", tell)
    _check_signs(logger, notes)
    if logger.columns is None or None in logger.columns:
        return
    _check_names(logger, notes)
    _check_labels(logger, notes)
    for index, column in enumerate(logger.columns, start=1):
        at_column = _Notes(f"logger.columns[{index}]", tell)
        if column.name == SKIPPED or column.name in COLUMNS:
            _check_column(column, rig, at_column)
        elif column.name is not None:
            at_column.at("name", f"'{short(column.name)}' is no column", nearest(column.name, (*COLUMNS, SKIPPED)))


def _check_signs(logger: Logger, notes: _Notes) -> None:
    if logger.decimal == COMMA and logger.separator == ",":
        notes.at("separator", "the comma is the decimal mark too", "write the character that stands between the values")
    if logger.label_sign is not None and logger.label_sign == logger.separator:
        notes.at(
            "label_sign",
            "the same character stands between two values",
            "write the character behind a label, such as '='",
        )


def _check_names(logger: Logger, notes: _Notes) -> None:
    names = [column.name for column in logger.columns if column.name is not None and column.name != SKIPPED]
    if not names and all(column.name == SKIPPED for column in logger.columns):
        notes.at("columns", "no column is recorded", "name at least one, for example '- {name: speed, unit: rpm}'")
    for name, times in Counter(names).items():
        if times > 1:
            notes.at(
                "columns", f"the column '{short(name)}' stands {times} times", f"keep one, call the rest {SKIPPED}"
            )


def _check_labels(logger: Logger, notes: _Notes) -> None:
    if not logger.labelled:
        return
    for index, column in enumerate(logger.columns, start=1):
        if column.label is None:
            notes.at(f"columns[{index}]", "this column has no label, others have", "write the label of each, or none")
    labels = Counter(column.label for column in logger.columns if column.label is not None)
    for label, times in labels.items():
        if times > 1:
            notes.at("columns", f"the label '{short(label)}' stands {times} times", "give each column its own")


def _check_column(column: LoggerColumn, rig: Rig, notes: _Notes) -> None:
    dimension = _check_unit(column, notes)
    if column.calibration is not None:
        _check_calibration(column, column.calibration, dimension, notes)
    _check_pulses(column, rig, notes)
    kind = rig.absorber.kind if rig.absorber is not None else None
    if kind is None or column.name not in ("scale", "scale_2", "torque"):
        return
    reads = rig.scale.reads if rig.scale is not None else None
    if column.name not in _OF_ABSORBER[kind]:
        notes.at("name", f"the absorber '{kind}' gives no column '{column.name}'", f"call it {SKIPPED}")
    elif reads is not None and dimension in ("mass", "force") and dimension != reads:
        notes.at("unit", f"this is a unit of {dimension}, but the scale reads {reads}", f"write a unit of {reads}")


def _check_unit(column: LoggerColumn, notes: _Notes) -> str | None:
    if column.name in _UNITLESS:
        if column.unit is not None:
            notes.at("unit", f"a column '{column.name}' has no unit", "remove it")
        return None
    wanted = COLUMNS[column.name].dimensions
    example = DIMENSIONS[wanted[0]][1].split("'")[0].rsplit(" ", 1)[-1]
    advice = f"write a unit of {' or '.join(wanted)}, for example '{example}'"
    if column.unit is None:
        if column.pulses is None:
            notes.at("unit", "this key is missing", advice)
        return None
    try:
        dimension, _, _ = conversion(column.unit)
        if dimension not in wanted:
            raise UnitError(f"'{short(column.unit)}' is a unit of {dimension}, not of {' or '.join(wanted)}")
    except UnitError as cause:
        notes.at("unit", str(cause), advice)
        return None
    return dimension


def _check_calibration(
    column: LoggerColumn, calibration: CountsCalibration, dimension: str | None, notes: _Notes
) -> None:
    if column.name in (*_UNITLESS, "time"):
        notes.at("calibration", f"a column '{column.name}' has no calibration", "remove it")
        return
    if column.pulses is not None:
        notes.at("calibration", "pulses are counted, not calibrated", "keep pulses or calibration")
        return
    counts, values = calibration.counts, calibration.values
    if counts is None or values is None or None in counts or None in values:
        return
    for index, value in enumerate(values, start=1):
        if dimension is not None and value.dimension != dimension:
            what = f"this is a {value.dimension}, but the unit of the column is '{column.unit}'"
            notes.at(f"calibration.values[{index}]", what, f"write a {dimension}")
            return
    _check_points(counts, values, notes)


def _check_points(counts: tuple[float, ...], values: tuple[Dimensioned, ...], notes: _Notes) -> None:
    if len(counts) != len(values):
        what = f"{len(counts)} counts stand against {len(values)} values"
        notes.at("calibration.values", what, "give one value for each count")
    elif len(set(counts)) < 2 or len(set(counts)) < len(counts):
        what = "a calibration needs two different counts at least, and each of them once"
        notes.at("calibration.counts", what, "write the mean where one load was applied several times")
    else:
        steps = list(
            itertools.pairwise(value.value for _, value in sorted(zip(counts, values, strict=True), key=_count))
        )
        if not (all(low < high for low, high in steps) or all(low > high for low, high in steps)):
            what = "the values neither rise nor fall with the counts"
            notes.at("calibration.values", what, "write what was applied at each count, in the same order")


def _count(point: tuple[float, Dimensioned]) -> float:
    return point[0]


def _check_pulses(column: LoggerColumn, rig: Rig, notes: _Notes) -> None:
    if column.counter_bits is not None and column.pulses != RUNNING:
        notes.at("counter_bits", "only a running count begins again at zero", "remove it, or write 'pulses: running'")
    if column.pulses is None:
        return
    if column.name != "speed":
        notes.at("pulses", f"pulses are of the speed, not of '{column.name}'", "remove it")
    elif rig.tachometer is None or rig.tachometer.pulses_per_revolution is None:
        what = "the rig does not say how many pulses make a revolution"
        notes.at("pulses", what, "write it, for example 'tachometer: {pulses_per_revolution: 60, gate: 1 s}'")
    elif column.pulses == INTERVAL and rig.tachometer.gate is None:
        what = "pulses of an interval need its length"
        notes.at("pulses", what, "write it, for example 'tachometer: {pulses_per_revolution: 60, gate: 1 s}'")


def check_papers(rig: Rig, tell: Tell) -> None:
    """Keep a calibration that ends before it begins."""
    for number, one in enumerate(rig.instruments or (), start=1):
        if one is None or one.valid_until is None:
            continue  # what could not be read is reported already
        path = f"instruments[{number}].valid_until"
        if one.calibrated_on is None:
            tell(path, "a validity without a calibration", "write 'calibrated_on: ..' beside it, or remove it")
        elif one.valid_until < one.calibrated_on:
            tell(path, f"this is before the calibration of {one.calibrated_on}", "exchange the days, or correct one")
