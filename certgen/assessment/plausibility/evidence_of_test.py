"""The evidence of one test: every check of its readings, before anything is judged by them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from certgen.assessment.plausibility import contradictions as contradiction
from certgen.assessment.plausibility import meter_contradictions as meters
from certgen.assessment.plausibility.evidence import HEAT_RUN, LOAD_TEST, LOCKED_ROTOR, NO_LOAD, Evidence, RowOffCurve
from certgen.assessment.plausibility.lines_in_step import lines_out_of_step
from certgen.assessment.plausibility.load_rows import rows_off_curve
from certgen.assessment.plausibility.other_tables import (
    VoltageRows,
    heat_run_rows_off,
    locked_rotor_rows_off,
    no_load_rows_off,
)
from certgen.assessment.plausibility.row_relations import LoadRows, TypedColumn
from certgen.assessment.plausibility.scatter_between_rows import Spread, meter_spread, speed_spread, torque_spread
from certgen.assessment.plausibility.slips import resolution_of
from certgen.assessment.plausibility.units_suspected import suspected_units
from certgen.assessment.plausibility.volts_and_amperes import UnitRows
from certgen.job.columns import COLUMNS, si_unit
from certgen.job.model import (
    ASSUMED_GEAR_EFFICIENCY,
    AT_MOTOR,
    DC,
    GEAR_EFFICIENCY_LIMIT,
    INDUCTION,
    SINGLE_PHASE,
    THREE_PHASE,
    UNIVERSAL,
    Job,
)
from certgen.job.rig import Rig
from certgen.job.table import TableSource
from certgen.messages.catalogue import Message, catalogue, places_of
from certgen.physics.domain import Array
from certgen.quantity import Quantity
from certgen.readings.model import Readings, Table
from certgen.reduction.electrical import electrical_input
from certgen.reduction.model import LoadPoints, Reduction
from certgen.reduction.reduce import measured_points
from certgen.reduction.speed import MEASURED, gear_ratio
from certgen.reduction.uncertainty.model import Measured
from certgen.reduction.uncertainty.repeats import originals
from certgen.results import model as results
from certgen.units import conversion

_KINDS = {THREE_PHASE: "three_phase", SINGLE_PHASE: "single_phase", UNIVERSAL: "universal", DC: "dc"}
#: Which quantity of a load point each typed column makes.
_MAKES = {
    "speed": "speed",
    "scale": "torque",
    "scale_2": "torque",
    "torque": "torque",
    "voltage": "voltage",
    "voltage_ab": "voltage",
    "voltage_bc": "voltage",
    "voltage_ca": "voltage",
    "current": "current",
    "current_a": "current",
    "current_b": "current",
    "current_c": "current",
    "input_power": "input_power",
    "wattmeter_1": "input_power",
    "wattmeter_2": "input_power",
    "power_factor": "power_factor",
}
#: Limit of error of a meter that states none, as a part of its reading. Common practice, no source.
_ORDINARY_METER = {"voltage": 0.01, "current": 0.02, "input_power": 0.02, "power_factor": 0.02}
#: A cell less far off than this part of itself, and a speed than this part of the slip, is asked about by no one. Common
#: practice, no source: below it one test in eighty was asked about without cause, by ``tests/studies/verdicts.py``.
_LEAST_OFF, _LEAST_OF_SLIP = 0.02, 0.1
#: Relative standard uncertainty of a quotient of two readings where nothing better is known. Common practice, no source.
_ORDINARY_RATIO = 0.02
#: A quotient less certain than this says nothing of units, and is taken as no less certain. [1]
_MOST_RATIO = 0.1
#: Standard uncertainty of the public grid's frequency, as a part of it: EN 50160, 1 % either side.
_GRID_FREQUENCY = 0.01 / math.sqrt(3.0)


@dataclass(frozen=True, eq=False)
class _Test:
    """One load test, as typed and as reduced."""

    job: Job
    rig: Rig
    readings: Readings
    reduction: Reduction

    @property
    def points(self) -> LoadPoints:
        return self.reduction.points

    @property
    def kind(self) -> str:
        return _KINDS.get(self.job.motor.type, "other")

    def standard(self, quantity: str) -> Array:
        """Standard uncertainty of a quantity of each load point, an ordinary one where it is not known. [SI]"""
        values = np.abs(getattr(self.points, quantity))
        ordinary = _ORDINARY_RATIO * np.where(np.isfinite(values), values, 0.0)
        known = self.reduction.uncertainties
        if known is None:
            return np.asarray(ordinary)
        found = [row[quantity].standard if quantity in row else None for row in known.points]
        return np.array([one if one is not None else spare for one, spare in zip(found, ordinary, strict=True)])


def evidence_of_test(job: Job, rig: Rig, readings: Readings, reduction: Reduction) -> tuple[Evidence, ...]:
    """Everything in the readings of a test that contradicts itself, its neighbours or physics.

    Parameters
    ----------
    job, rig : Job, Rig
        Motor, plate and bench. [SI]
    readings : Readings
        The tables as read. [SI]
    reduction : Reduction
        Made of them. [SI]

    Returns
    -------
    tuple of Evidence
        Units that explain all rows first, then single rows, then the rest. Rows are counted from 0.
    """
    test = _Test(job, rig, readings, reduction)
    if not test.points.count:
        return ()
    units = tuple(_units(test))
    entries = (
        *units,
        *_of_plate(job),
        *_rows(test, known=bool(units)),
        *_copied_rows(test),
        *_contradictions(test),
        *_other_tables(test),
    )
    return tuple({(entry.check, entry.table, entry.row): entry for entry in entries}.values())


# What the plate leaves to be assumed, or may mean otherwise.


#: Part of volts times amperes that the shaft of a universal motor hardly ever gives, and up to which a plate power may be
#: its input. [1] Common practice, no source.
_LIKE_INPUT = (0.8, 1.1)


def _of_plate(job: Job) -> Iterator[Evidence]:
    plate = job.nameplate
    if plate.gear is not None and plate.gear.plate_at == AT_MOTOR and plate.gear.efficiency is None:
        sizes = {"efficiency": ASSUMED_GEAR_EFFICIENCY, "limit": GEAR_EFFICIENCY_LIMIT}
        yield Evidence("gear_efficiency_assumed", LOAD_TEST, None, None, sizes, None, "caps")
    if job.motor.type != UNIVERSAL or plate.input_power is not None:
        return
    if plate.power is not None and plate.voltage is not None and plate.current is not None:
        product = plate.voltage * plate.current
        if _LIKE_INPUT[0] <= plate.power / product <= _LIKE_INPUT[1]:
            sizes = {"power": plate.power, "apparent_power": product}
            yield Evidence("plate_power_like_input", LOAD_TEST, None, None, sizes, None, "note")


# Units of a whole column.


def _units(test: _Test) -> Iterator[Evidence]:
    points, plate = test.points, test.job.nameplate
    ratio = gear_ratio(test.job)
    efficiency = plate.gear.efficiency if plate.gear is not None and plate.gear.efficiency else 1.0
    synchronous = test.reduction.synchronous_speed
    watts = bool(np.isfinite(points.input_power).any())
    yield from suspected_units(
        UnitRows(
            kind=test.kind,
            speed=points.speed * ratio,
            torque=points.torque / (ratio * efficiency),
            voltage=points.voltage,
            current=points.current,
            input_power=points.input_power if watts else None,
            three_phase=test.job.motor.type == THREE_PHASE,
            plate_power=plate.power,
            plate_current=plate.current,
            plate_voltages=() if plate.voltage is None else (plate.voltage,),
            plate_speed=None if plate.speed is None else plate.speed * ratio,
            plate_power_factor=plate.power_factor,
            plate_efficiency=plate.efficiency,
            synchronous_speed=synchronous * ratio if math.isfinite(synchronous) else None,
            relative_uncertainty=_relative(test, "shaft_power", "input_power" if watts else "current"),
        )
    )


def _relative(test: _Test, *quantities: str) -> float:
    """Relative standard uncertainty of a quotient of two quantities of the load points, at their greatest. [1]"""
    squares = _ORDINARY_RATIO**2 / 2.0
    for name in quantities:
        values, standard = getattr(test.points, name), test.standard(name)
        greatest = int(np.nanargmax(values)) if np.isfinite(values).any() else None
        if greatest is not None and values[greatest] > 0.0 and np.isfinite(standard[greatest]):
            squares += float(standard[greatest] / values[greatest]) ** 2
    return min(math.sqrt(squares), _MOST_RATIO)


# Rows off the curve through the others.


def _rows(test: _Test, *, known: bool) -> Iterator[Evidence]:
    """Rows of a load test taken point by point; a log's plateaus are means, and a sweep's points are fitted already."""
    if test.reduction.log is not None or test.readings.sweep is not None or known:
        return
    rows = _load_rows(test)
    asked = [row for row in rows_off_curve(rows) if _worth_asking(row, test)]
    yield from (row.evidence() for row in asked)
    for quantity in ("current", "voltage"):
        line = lines_out_of_step(rows.columns, quantity, rows.spread[quantity])
        if line is not None and line.row not in {row.row for row in asked}:
            yield line.evidence()


def _copied_rows(test: _Test) -> Iterator[Evidence]:
    """Rows that repeat an earlier one in every cell; a load point each they count once, and are no repeat of a reading."""
    if test.reduction.log is not None or test.readings.sweep is not None:
        return
    table = test.readings.load_test
    once = originals(table, np.arange(table.rows))
    for row in sorted(set(range(table.rows)) - set(once.tolist())):
        first = next(one for one in once.tolist() if _same(table, one, row))
        yield Evidence("row_copied", LOAD_TEST, row, None, {"first": first + 1.0}, None, "note")


def _same(table: Table, first: int, second: int) -> bool:
    return all(values[first].tobytes() == values[second].tobytes() for values in table.columns.values())


def _worth_asking(row: RowOffCurve, test: _Test) -> bool:
    """Whether a cell is off by so much that a slip of the pen is the likelier cause than an unsteady load.

    Asked of every cell that may be the wrong one. A voltage moves a row along its curve, so that it would have to be off by
    much to explain little: it is asked where no other cell is likely.
    """
    others = {quantity: part for quantity, part in row.off_by.items() if quantity != "voltage"} or row.off_by
    return not others or any(part > _least_off(quantity, row.row, test) for quantity, part in others.items())


def _least_off(quantity: str, row: int | None, test: _Test) -> float:
    """The part of itself below which nobody asks about a quantity of a row."""
    if quantity != "speed" or test.job.motor.type not in INDUCTION or row is None:
        return _LEAST_OFF
    slip = abs(float(test.points.slip[row]))
    return _LEAST_OF_SLIP * slip if math.isfinite(slip) else 0.0


def _load_rows(test: _Test) -> LoadRows:
    points, ratio = test.points, gear_ratio(test.job)
    columns = tuple(_typed_columns(test))
    metered = test.readings.load_test
    once = originals(metered, np.arange(metered.rows))  # a copy would make the others' scatter nought
    watts = any(name in metered.columns for name in ("input_power", "wattmeter_1"))
    excitation = test.job.motor.excitation
    synchronous = test.reduction.synchronous_speed
    return LoadRows(
        kind=test.kind,
        speed=np.where(np.isin(np.arange(points.count), once), points.speed, np.nan),
        torque=points.torque,
        voltage=_if_read(points.voltage),
        current=_if_read(points.current),
        input_power=points.input_power if watts else None,
        power_factor=_if_read(metered.column("power_factor")),
        spread=_spreads(test, columns),
        columns=columns,
        excitation=None if excitation is None else excitation.replace(" ", "_"),
        synchronous_speed=synchronous * ratio if math.isfinite(synchronous) else None,
        gear_ratio=ratio,
    )


def _if_read(values: Array) -> Array | None:
    return values if np.isfinite(values).any() else None


def _typed_columns(test: _Test) -> Iterator[TypedColumn]:
    """The columns as somebody wrote them, each with what one of its units does to the quantity made of it."""
    table, source = test.readings.load_test, test.job.readings.load_test
    units = _units_of(source, test.readings)
    as_read = _quantities(test, table)
    for name, quantity in _MAKES.items():
        if name not in table.columns or not np.isfinite(table.columns[name]).any():
            continue
        _, scale, origin = conversion(units.get(name) or si_unit(name))
        typed = np.round((table.columns[name] - origin) / scale, 9)
        moved = replace(table, columns={**table.columns, name: table.columns[name] + scale})
        change = _change(as_read(quantity), _quantities(test, moved)(quantity), scale)
        yield TypedColumn(name, quantity, typed, change, scale)


def _units_of(source: TableSource | None, readings: Readings) -> Mapping[str, str]:
    """The unit each column of the load test is written in."""
    declared = {} if source is None else {column.name: column.unit for column in source.columns if column.unit}
    found = {name: unit for file in readings.files if file.table == LOAD_TEST for name, unit in file.units.items()}
    return {**found, **declared}


def _quantities(test: _Test, table: Table) -> Callable[[str], Array]:
    """The quantities of load points that a table gives, by name. [SI]"""
    measured = Measured(test.rig, replace(test.readings, load_test=table), test.job.conditions.local_gravity)
    points = measured_points(measured, test.job, test.reduction.poles)
    return lambda quantity: table.column(quantity) if quantity == "power_factor" else getattr(points, quantity)


def _change(as_read: Array, moved: Array, step: float) -> float:
    """How much a quantity changes for one typed unit of a column: the middle of its rows, else the unit itself. [SI]"""
    difference = moved - as_read
    read = difference[np.isfinite(difference)]
    return float(np.median(read)) if read.size else step


def _spreads(test: _Test, columns: tuple[TypedColumn, ...]) -> dict[str, Spread]:
    """Standard uncertainty between rows of every quantity, by what the rig states and how finely it was written."""
    steps: dict[str, float] = {}
    for column in columns:
        steps[column.quantity] = max(steps.get(column.quantity, 0.0), resolution_of(column.values) * abs(column.change))
    rig = test.rig
    tachometer = rig.tachometer.tolerance or 0.0
    spreads = {
        "speed": speed_spread(steps.get("speed", 0.0), tachometer, mains_sets_speed=test.job.motor.type in INDUCTION),
        "torque": torque_spread(steps.get("torque", 0.0), 0.0),
    }
    for quantity, ordinary in _ORDINARY_METER.items():
        meter = getattr(rig.meters, quantity, None)
        values = getattr(test.points, quantity)
        middle = float(np.nanmedian(values)) if np.isfinite(values).any() else 0.0
        limit = ordinary
        if meter is not None and (meter.reading is not None or meter.range is not None):
            of_range = (meter.range or 0.0) * (meter.full_scale or 0.0)
            limit = (meter.reading or 0.0) + (of_range / middle if middle > 0.0 else 0.0)
        spreads[quantity] = meter_spread(quantity, steps.get(quantity, 0.0), limit)
    return spreads


# Readings that contradict each other or physics.


def _contradictions(test: _Test) -> Iterator[Evidence]:
    points, reduction, job = test.points, test.reduction, test.job
    if job.motor.type in INDUCTION:
        yield from _of_slip(test)
    if job.motor.type != DC:
        apparent_standard = test.standard("apparent_power")
        if np.isfinite(test.readings.load_test.column("input_power")).any():
            yield from meters.watts_above_volt_amperes(
                points.input_power, test.standard("input_power"), points.apparent_power, apparent_standard
            )
        factor = reduction.meter_power_factor
        if np.isfinite(factor).any() and np.isfinite(points.input_power).any():
            ratio = test.standard("power_factor")
            yield from meters.power_factor_against_watts(
                factor, np.full(points.count, 0.01), points.input_power, points.apparent_power, ratio_uncertainty=ratio
            )
    table = test.readings.load_test
    if "wattmeter_1" in table.columns and "wattmeter_2" in table.columns:
        yield from meters.lost_sign_of_wattmeter(
            table.column("wattmeter_1"),
            table.column("wattmeter_2"),
            points.apparent_power,
            np.full(points.count, _ORDINARY_RATIO),
        )
    # Beyond its greatest power a motor gives the same power twice, and less efficiently.
    turned = points.speed < _speed_at_greatest_power(points)
    yield from contradiction.efficiency_dips(
        np.where(turned, np.nan, points.efficiency), np.full(points.count, _ORDINARY_RATIO), points.shaft_power
    )
    taken = "input_power" if np.isfinite(points.input_power).any() else "apparent_power"
    yield from meters.torque_without_power(
        points.shaft_power, test.standard("shaft_power"), getattr(points, taken), test.standard(taken)
    )
    if all(name in table.columns for name in ("current_a", "current_b", "current_c")) and job.motor.type == THREE_PHASE:
        first, second, third = (table.column(name) for name in ("current_a", "current_b", "current_c"))
        yield from meters.currents_cannot_sum(first, second, third, test.standard("current"))
    temperature = points.temperature
    if np.isfinite(temperature).any():
        standard = test.standard("temperature")
        if np.isfinite(points.time).all():
            # Between rows whose times nobody wrote down the motor may have rested.
            yield from contradiction.winding_cools_under_load(temperature, standard, points.current, points.time)
        yield from contradiction.winding_not_believable(temperature, standard, job.conditions.ambient)
    idle = test.readings.others.get(NO_LOAD)
    if idle is not None:
        electrical = electrical_input(idle, job.motor.type)
        yield from meters.no_load_watts_above_loaded(
            electrical.active,
            electrical.voltage,
            points.input_power,
            points.voltage,
            torque=points.torque,
            relative_uncertainty=_ORDINARY_RATIO,
        )


def _speed_at_greatest_power(points: LoadPoints) -> float:
    """Speed of the load point of greatest shaft power; minus infinity where none was measured. [rad/s]"""
    power = np.where(np.isfinite(points.shaft_power) & ~points.impossible, points.shaft_power, -np.inf)
    row = int(np.argmax(power))
    return float(points.speed[row]) if np.isfinite(power[row]) else -math.inf


def _of_slip(test: _Test) -> Iterator[Evidence]:
    points, reduction = test.points, test.reduction
    synchronous, ratio = reduction.synchronous_speed, gear_ratio(test.job)
    if not math.isfinite(synchronous):
        return
    speed, torque = points.speed * ratio, points.torque
    torque_standard = test.standard("torque")
    yield from contradiction.faster_than_synchronous(
        speed,
        test.standard("speed") * ratio,
        synchronous_speed=synchronous * ratio,
        synchronous_uncertainty=_GRID_FREQUENCY * synchronous * ratio,
        torque=torque,
        torque_uncertainty=torque_standard,
    )
    yield from contradiction.slip_grows_as_load_falls(
        points.slip, test.standard("slip"), torque, torque_standard, points.current, voltage=points.voltage
    )
    frequency = points.frequency[np.isfinite(points.frequency)]
    if frequency.size and reduction.poles.count is not None:
        plate = test.job.nameplate.speed
        yield from contradiction.supply_of_other_frequency(
            speed,
            torque,
            frequency=float(frequency.mean()),
            poles=reduction.poles.count,
            frequency_measured=reduction.frequency_basis == MEASURED,
            plate_speed=None if plate is None else plate * ratio,
        )


# Tables beside the load test.


def _other_tables(test: _Test) -> Iterator[Evidence]:
    others = test.readings.others
    idle, locked, heat = (others.get(name) for name in (NO_LOAD, LOCKED_ROTOR, HEAT_RUN))
    if idle is not None:
        yield from (row.evidence() for row in no_load_rows_off(_over_voltage(idle, test.job.motor.type)))
    if locked is not None:
        yield from (row.evidence() for row in locked_rotor_rows_off(_over_voltage(locked, test.job.motor.type)))
    if heat is not None and np.isfinite(heat.column("time")).all():
        temperatures = {
            name: heat.columns[name]
            for name in ("winding_temperature", "frame_temperature")
            if name in heat.columns and np.isfinite(heat.columns[name]).any()
        }
        yield from (row.evidence() for row in heat_run_rows_off(heat.column("time"), temperatures))


def _over_voltage(table: Table, motor_type: str) -> VoltageRows:
    electrical = electrical_input(table, motor_type)
    return VoltageRows(
        voltage=electrical.voltage,
        current=_if_read(electrical.current),
        input_power=_if_read(electrical.active),
    )


# What the checks found, as it stands in the results.


#: Checks of single rows of a load test: the verdict is formed with and without such a row.
ROW_CHECKS = ("row_off_its_neighbours",)
#: Checks of a whole column: one factor, or an exchange, explains every row.
UNIT_CHECKS = ("unit_suspected", "columns_exchanged", "power_out_of_nothing", "power_lost_without_cause")


def stated(entry: Evidence) -> results.Evidence:
    """One entry with its message, rows counted from 1."""
    row = None if entry.row is None else entry.row + 1
    values: dict[str, object] = {
        **entry.sizes,
        "table": Message(f"table.{entry.table}"),
        "row": Message("evidence.every_row") if row is None else Message("evidence.row", row=row),
    }
    key = entry.check
    if entry.cell is not None:
        values["cell"] = Message(f"cell.{entry.cell}")
    if entry.check in ROW_CHECKS and ("implied" not in entry.sizes or entry.cell is None):
        key = "row_off_unnamed"
    elif entry.check in ROW_CHECKS and not entry.cell_is_clear:
        key = "row_off_not_clear"
    for name in ("read", "implied"):
        if name in entry.sizes and entry.cell is not None:
            values[name] = _in_cell(entry.sizes[name], entry.cell)
    sentence = catalogue()[f"evidence.{key}"]
    return results.Evidence(
        id=entry.check,
        table=entry.table,
        row=row,
        message=Message(f"evidence.{key}", **{name: values[name] for name in places_of(sentence)}),
        suggests=_suggested(entry),
        # What a row off its neighbours does to the verdict is found by leaving it out.
        effect="caps" if entry.check in ROW_CHECKS else entry.effect.replace("_", " "),
    )


def _suggested(entry: Evidence) -> Message | None:
    """The slip that would explain the entry; none where its sentence asks for what is not known."""
    if entry.suggestion is None:
        return None
    key = f"slip.{entry.suggestion.key}"
    values = {
        name: Message(f"cell.{value}") if isinstance(value, str) else _in_cell(value, entry.cell or "")
        for name, value in entry.suggestion.values.items()
    }
    places = places_of(catalogue()[key])
    return Message(key, **{name: values[name] for name in places}) if places.keys() <= values.keys() else None


def _in_cell(value: float, cell: str) -> Quantity:
    """A value [SI] as the quantity its column holds."""
    return Quantity(value, si_unit(cell) if cell in COLUMNS else "1")


def rows_off(evidence: tuple[results.Evidence, ...]) -> tuple[results.Evidence, ...]:
    """The entries of rows of the load test that lie off their neighbours."""
    return tuple(entry for entry in evidence if entry.id in ROW_CHECKS and entry.table == LOAD_TEST)


def rows_in_question(evidence: tuple[results.Evidence, ...]) -> tuple[int, ...]:
    """Rows of the load test that lie off their neighbours, counted from 0, as far as it is known which they are."""
    return tuple(entry.row - 1 for entry in rows_off(evidence) if entry.row is not None)
