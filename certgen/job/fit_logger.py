"""Whether the columns of a logger are columns of a table, in units of theirs, and fit the rig."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from certgen.document.build import Dimensioned
from certgen.document.wording import nearest, short
from certgen.job.columns import COLUMNS
from certgen.job.logger import COMMA, INTERVAL, RUNNING, SKIPPED, CountsCalibration, Logger, LoggerColumn
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Rig
from certgen.units import DIMENSIONS, UnitError, conversion

#: Keeps a mistake at a key: its path, what is wrong, what to write instead.
Tell = Callable[[str, str, str], None]

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
        notes.at("separator", "the comma is the decimal sign too", "write the sign that keeps the values apart")
    if logger.label_sign is not None and logger.label_sign == logger.separator:
        notes.at("label_sign", "the same sign stands between two values", "write the sign behind a label, such as '='")


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
    for index, one in enumerate(values, start=1):
        if dimension is not None and one.dimension != dimension:
            what = f"this is a {one.dimension}, but the unit of the column is '{column.unit}'"
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
        steps = list(itertools.pairwise(one.value for _, one in sorted(zip(counts, values, strict=True), key=_count)))
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
