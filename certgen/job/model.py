"""The job: one motor, its nameplate, its rig and its readings, as a person writes them. All values in SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from datetime import date
from typing import Any

import yaml

from certgen.document.build import Dimensioned, FileReference, Reader
from certgen.document.build import Toleranced as TolerancedValue
from certgen.document.plate import PlateValue
from certgen.document.schema import kind_schema
from certgen.document.vocabulary import (
    Choice,
    Custom,
    Day,
    Each,
    Group,
    Measure,
    MeasureOf,
    PlateMeasure,
    Reference,
    Text,
    Toleranced,
    Whole,
    key,
)
from certgen.job.as_found import YES_OR_NO, Capacitor, Inspected, SafetyTests, Shaft
from certgen.job.columns import COLUMNS
from certgen.job.pictures import Pictures
from certgen.job.table import TableSource, table
from certgen.standards.criteria import EXCITATIONS

# Winding resistance after switching off: one reading, or a table of readings over time.


_AMBIENT = Measure("temperature", above=0.0, example="23 degC")
#: Columns of the table; its time counts from switching off.
COOLING_COLUMNS = {
    "time": replace(COLUMNS["time"], meaning="time since switching off"),
    "winding_resistance": replace(COLUMNS["winding_resistance"], evaluated=True),
    "remark": COLUMNS["remark"],
}


@dataclass(frozen=True)
class _Beside:
    """What stands beside the table."""

    ambient: float | None = key(_AMBIENT, "Temperature of the room then.")


@dataclass(frozen=True)
class HotWinding:
    """Winding resistance after the test; ``series`` holds the table, and then ``resistance`` is absent."""

    resistance: float | None = key(
        Measure("resistance", above=0.0, bounds="more than zero"), "Resistance between terminals.", required=True
    )
    after: float | None = key(Measure("time", low=0.0), "Time since switching off.")
    ambient: float | None = key(_AMBIENT, "Temperature of the room then.")
    series: TableSource | None = None


_SINGLE = Group(HotWinding)
_SERIES = table(COOLING_COLUMNS, _Beside)


def _read(node: yaml.Node, reader: Reader, path: str) -> HotWinding | None:
    keys = node.value if isinstance(node, yaml.MappingNode) else []
    if not any(pair[0].value in ("columns", "rows", "file", "files") for pair in keys):
        return reader.group(HotWinding, node, path)
    source: TableSource | None = reader.value(_SERIES, node, path)
    return None if source is None else HotWinding(ambient=source.also and source.also.ambient, series=source)


def _schema() -> dict[str, Any]:
    return {"anyOf": [kind_schema(_SINGLE), kind_schema(_SERIES)]}


HOT_WINDING = Custom(
    _read,
    _schema,
    "resistance and after; or a table, for example "
    "'{columns: {time: s, winding_resistance: ohm}, rows: [[30, 4.92], ..], ambient: 23 degC}'",
    HotWinding,
)


# What stands beside the tables of a run-down test: what coasted, and what braked it.


MOTOR, RIG, MOTOR_AND_RIG = "motor", "rig", "motor and rig"


def _toleranced(dimension: str, example: str) -> Toleranced:
    return Toleranced(Measure(dimension, above=0.0, example=example, bounds="more than zero"))


@dataclass(frozen=True)
class Coasting:
    """What turned while the speed fell, and how much inertia it has."""

    coasting: str | None = key(Choice((MOTOR, RIG, MOTOR_AND_RIG)), "What turned on.", required=True)
    inertia: TolerancedValue | None = key(
        _toleranced("inertia", "0.007 kg*m^2"),
        "Of all that turned, at the shaft whose speed was read; left out: motor.rotor_inertia and the rig's inertia.",
    )


@dataclass(frozen=True)
class Braking:
    """The known load that was added for the second run; one of the two."""

    added_torque: TolerancedValue | None = key(
        _toleranced("torque", "0.5 N*m"), "Torque added, the same at all speeds."
    )
    added_power: TolerancedValue | None = key(_toleranced("power", "1 kW"), "Power added, the same at all speeds.")


RUN_DOWN_COLUMNS = {
    name: replace(kind, evaluated=name in ("time", "speed", "remark"))
    for name, kind in COLUMNS.items()
    if name in ("time", "speed", "voltage", "current", "frame_temperature", "ambient_temperature", "remark")
}


# The job: one motor, its nameplate, its rig and its readings, as a person writes them. All values in SI.


THREE_PHASE = "three-phase induction"
SINGLE_PHASE = "single-phase induction"
UNIVERSAL = "universal"
DC = "dc"
OTHER = "other"
MOTOR_TYPES = (THREE_PHASE, SINGLE_PHASE, UNIVERSAL, DC, OTHER)
INDUCTION = (THREE_PHASE, SINGLE_PHASE)

OUTPUT_SHAFT, MOTOR_SHAFT = "output shaft", "motor shaft"
#: Whose plate it is on a geared motor.
AT_MOTOR, AT_OUTPUT = "motor", "output"
#: What was read to the frame.
WHOLE_MOTOR, FIELD_WINDING = "whole motor", "field winding"
#: Efficiency of a gear where neither plate nor job states it, and the limit of its error either side: one stage of spur
#: wheels gives 0.97, a worm of high ratio little above 0.8. [1] Common practice, no source.
ASSUMED_GEAR_EFFICIENCY, GEAR_EFFICIENCY_LIMIT = 0.9, 0.07
#: How three phases are joined.
STAR, DELTA = "star", "delta"
#: What feeds the bench.
GRID, GENERATOR, CONVERTER = "grid", "generator", "converter"

#: Papers a sheet may be printed on.
SHEET_PAPERS = ("a4", "letter", "a5", "a6", "4x6in", "strip60")

#: Decision rules a job may ask for.
GUARDED, SIMPLE = "guarded", "simple"
DECISION_RULES = (GUARDED, SIMPLE)
#: Units a sheet may be printed in.
SHEET_UNITS = ("si", "us", "both")


def _positive(dimension: str, example: str = "", high: float | None = None) -> Measure:
    return Measure(dimension, above=0.0, high=high, example=example, bounds="more than zero")


def _on_plate(dimension: str, example: str = "", high: float | None = None) -> PlateMeasure:
    return PlateMeasure(dimension, above=0.0, high=high, example=example, bounds="more than zero")


@dataclass(frozen=True)
class Shop:
    """Who runs the bench."""

    name: str = key(Text(80, "Millrace Motor Bench"), "Name of the shop.", required=True)
    address: tuple[str, ...] = key(Each(Text(80, "4 Weir Street"), 6), "Lines of the address.", default=())
    contact: str | None = key(Text(120, "bench@example.org"), "Telephone, mail or the like.")
    url: str | None = key(
        Text(120, "https://bench.example.org/motor/"),
        "Address the code to scan begins with; the number is put behind one that ends in '/', '=' or '#'.",
    )


@dataclass(frozen=True)
class Certificate:
    """What the certificate says about itself."""

    tested_on: date = key(Day(), "Day of the test.", required=True)
    tested_by: str = key(Text(80, "R. Tanner"), "Who made the test and answers for it.", required=True)
    number: str | None = key(
        Text(60, "MR-2026-014"), "Number of the certificate, unique in the shop; left out: the register's next."
    )
    revision: int = key(Whole(1, 999), "2 or more: a correction of the certificate of this number.", default=1)
    revision_reason: str | None = key(
        Text(300, "The arm was entered as 0.5 m and is 0.4 m."), "Why the revision replaces the one before."
    )
    issued_to: str | None = key(Text(160, "Weir Street Joinery"), "Customer.")
    shop: Shop | None = key(Group(Shop), "The shop, for the heading.")
    remarks: str | None = key(Text(1000, "Bearings renewed before the test."), "Remarks and repairs.")
    received_on: date | None = key(Day(), "Day the motor came in.")
    issued_on: date | None = key(Day(), "Day of issue; left out: a line to write it on.")
    place: str | None = key(Text(160, "Unit 4, Weir Street"), "Where the test was made.")
    method: str | None = key(Text(120, "Bench procedure 3, issue 2"), "The shop's own test procedure, with its number.")
    customer_contact: str | None = key(Text(160, "yard@example.org"), "How the customer is reached.")
    authorised_by: str | None = key(Text(80, "R. Tanner"), "Who answers for the certificate; left out: who tested.")
    function: str | None = key(Text(80, "bench lead"), "Function of who authorises.")
    deviations: str | None = key(
        Text(1000, "Held for 4 minutes a load instead of 10."), "Where the test departed from the method."
    )


@dataclass(frozen=True)
class Motor:
    """The item tested."""

    type: str = key(Choice(MOTOR_TYPES), "Kind of motor.", required=True)
    description: str | None = key(Text(300, "Foot-mounted, fan-cooled"), "What it is and where it came from.")
    maker: str | None = key(Text(80, "unknown"), "Maker on the plate.")
    model: str | None = key(Text(80, "A-90L"), "Model on the plate.")
    serial: str | None = key(Text(80, "0048117"), "Serial number, kept letter by letter.")
    condition: str | None = key(Text(160, "used"), "Condition as received.")
    excitation: str | None = key(Choice(EXCITATIONS), "How the field of a dc motor is made.")
    frame: str | None = key(Text(20, "90L"), "Frame on the plate.")
    mounting: str | None = key(Text(40, "IM B3"), "How it is mounted.")
    enclosure: str | None = key(Text(40, "IP 54"), "Degree of protection, or the enclosure in words.")
    cooling: str | None = key(Text(40, "IC 411"), "How it is cooled.")
    bearings: str | None = key(Text(80, "6205-2Z both ends"), "Its bearings.")
    rotation: str | None = key(Text(60, "clockwise seen from the drive end"), "Direction of rotation as tested.")
    shaft: Shaft | None = key(Group(Shaft), "The shaft's end.")
    rotor_inertia: TolerancedValue | None = key(
        Toleranced(_positive("inertia", "0.003 kg*m^2")), "Of its rotor, for sweeps and run-down tests."
    )


@dataclass(frozen=True)
class Gear:
    """A gear built onto the motor; the plate's speed, torque and power are those of its output shaft."""

    ratio: float = key(_positive("ratio", "25", 10000.0), "Motor speed over output-shaft speed.", required=True)
    efficiency: float | None = key(
        Measure("ratio", above=0.0, high=1.0, example="0.9", bounds="more than zero and at most 1"),
        "Efficiency of the gear.",
    )
    speed_of: str | None = key(
        Choice((OUTPUT_SHAFT, MOTOR_SHAFT)),
        "Shaft the plate's speed belongs to; left out: the output shaft, unless that is impossible.",
    )
    plate_at: str | None = key(
        Choice((AT_MOTOR, AT_OUTPUT)), "Whose plate it is, speed and power alike; left out: its speed decides."
    )


@dataclass(frozen=True)
class Nameplate:
    """What the plate declares; every key may be left out, and a measure may be several values in one place."""

    power: float | None = key(_on_plate("power"), "Rated shaft power.")
    voltage: float | None = key(_on_plate("voltage"), "Rated voltage.")
    current: float | None = key(_on_plate("current"), "Rated current.")
    frequency: float | None = key(_on_plate("frequency", high=1000.0), "Rated frequency.")
    speed: float | None = key(_on_plate("speed"), "Rated speed.")
    poles: int | None = key(Whole(2, 100, 2), "Number of poles.")
    power_factor: float | None = key(
        PlateMeasure("ratio", above=0.0, high=1.0, example="0.79", bounds="more than zero and at most 1"),
        "Rated power factor.",
    )
    efficiency: float | None = key(
        PlateMeasure("ratio", above=0.0, high=0.999, example="82.8 %", bounds="more than zero and below 100 %"),
        "Rated efficiency.",
    )
    input_power: float | None = key(_on_plate("power", "100 W"), "Rated input, of an appliance motor.")
    apparent_power: float | None = key(_on_plate("apparent power"), "Rated volt-amperes, of an appliance motor.")
    service_factor: float | None = key(
        PlateMeasure("ratio", low=1.0, high=2.0, example="1.15", bounds="from 1 to 2"), "Service factor."
    )
    service_factor_current: float | None = key(_on_plate("current", "3.8 A"), "Current at the service-factor load.")
    locked_rotor_current: float | None = key(_on_plate("current", "20 A"), "Current with the rotor locked.")
    locked_rotor_torque: float | None = key(_on_plate("torque", "22 N*m"), "Torque with the rotor locked.")
    pull_up_torque: float | None = key(_on_plate("torque", "18 N*m"), "Least torque between standstill and breakdown.")
    breakdown_torque: float | None = key(_on_plate("torque", "28 N*m"), "Greatest torque of the running motor.")
    insulation_class: str | None = key(Choice(("A", "E", "B", "F", "H", "N")), "Insulation class.")
    design_letter: str | None = key(Choice(("A", "B", "C", "D", "N", "H", "L", "M", "O")), "Design letter.")
    code_letter: str | None = key(Choice(tuple("ABCDEFGHJKLMNPRSTUV")), "Locked-rotor code letter.")
    ambient: float | None = key(Measure("temperature", above=0.0), "Highest ambient temperature.")
    duty: str | None = key(Text(40, "S1"), "Duty type.")
    gear: Gear | None = key(Group(Gear), "A gear built on; the plate is judged at its output shaft.")
    #: By key: what is punched there, where it is more than one sound number. The key itself then holds the value the test
    #: was made for, and nothing as long as that is not known.
    punched: Mapping[str, PlateValue] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Keep a value that is more than one sound number as punched, and beside it the one to go by."""
        found = {f.name: value for f in fields(self) if isinstance(value := getattr(self, f.name), PlateValue)}
        for name, value in found.items():
            object.__setattr__(self, name, value.tested if value.is_several else value.values[0])
        if found:
            object.__setattr__(self, "punched", {**self.punched, **found})


@dataclass(frozen=True)
class Conditions:
    """Where the test was made."""

    ambient: float | None = key(Measure("temperature", above=0.0, example="21 degC"), "Temperature of the room.")
    supply_frequency: float | None = key(Toleranced(_positive("frequency", high=1000.0)), "Frequency of the supply.")
    local_gravity: float | None = key(
        Toleranced(Measure("acceleration", low=9.7, high=9.9, bounds="from 9.7 to 9.9 m/s^2")),
        "Gravity at the bench, for a scale in kg or lb.",
    )
    harmonics: float | None = key(
        Measure("ratio", low=0.0, high=1.0, example="3 %", bounds="from 0 to 100 %"),
        "Total harmonic distortion of the supply voltage.",
    )
    ripple: float | None = key(
        Measure("ratio", low=0.0, high=3.0, example="12 %", bounds="from 0"),
        "Ripple of a direct current: its alternating part, rms, over its mean.",
    )
    supply: str | None = key(Choice((GRID, GENERATOR, CONVERTER)), "What feeds the bench; left out: the public grid.")
    connection: str | None = key(
        Choice((STAR, DELTA)), "How a three-phase motor was connected, where its plate has two voltages."
    )
    rated_for: float | None = key(
        _positive("voltage", "400 V"), "Voltage of the plate the motor was connected for; left out: the nearest one."
    )
    #: By key: the value with its limit of error, where one was written.
    spreads: Mapping[str, TolerancedValue] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Keep a value written with its limit of error as a plain number, and the limit beside it."""
        written = {name: getattr(self, name) for name in ("supply_frequency", "local_gravity")}
        spreads = {name: limit for name, limit in written.items() if isinstance(limit, TolerancedValue)}
        for name, limit in spreads.items():
            object.__setattr__(self, name, limit.value)
        if spreads:
            object.__setattr__(self, "spreads", spreads)


@dataclass(frozen=True)
class ColdWinding:
    """Winding resistance before the test."""

    resistance: float = key(_positive("resistance"), "Resistance between terminals.", required=True)
    temperature: float = key(Measure("temperature", above=0.0), "Temperature of the winding then.", required=True)


@dataclass(frozen=True)
class Winding:
    """Winding resistance, cold and hot."""

    cold: ColdWinding | None = key(Group(ColdWinding), "Before the test.")
    hot: HotWinding | None = key(HOT_WINDING, "After the test: one reading, or several over time.")
    between: str | None = key(Choice(("lines", "phases")), "Where the resistance was measured.")
    connection: str | None = key(
        Choice((STAR, DELTA)), "How the phases are joined; needed where the resistance is that of one phase."
    )
    u_v: float | None = key(_positive("resistance"), "Cold, between terminals U and V.")
    v_w: float | None = key(_positive("resistance"), "Cold, between terminals V and W.")
    w_u: float | None = key(_positive("resistance"), "Cold, between terminals W and U.")
    concentric: bool | None = key(YES_OR_NO, "Whether the coils lie in one another, so that the pairs may differ more.")
    main: float | None = key(_positive("resistance"), "Cold, of the main winding of a single-phase motor.")
    start: float | None = key(_positive("resistance", "11.8 ohm"), "Cold, of its start winding.")
    armature: float | None = key(_positive("resistance", "0.82 ohm"), "Cold, of the armature between brushes.")
    field: float | None = key(_positive("resistance", "310 ohm"), "Cold, of the field winding.")
    temperature: float | None = key(
        Measure("temperature", above=0.0, example="21 degC"),
        "Of the winding when these were read; with it the mean of three pairs stands for 'cold' where that is left out. "
        "Left out: that of 'cold', else that of the room.",
    )


@dataclass(frozen=True)
class Insulation:
    """Insulation resistance of the winding to the frame."""

    voltage: float = key(_positive("voltage", "500 V"), "Test voltage.", required=True)
    at_1_min: float = key(_positive("resistance", "220 Mohm"), "Resistance after one minute.", required=True)
    at_10_min: float | None = key(_positive("resistance", "600 Mohm"), "Resistance after ten minutes.")
    temperature: float | None = key(Measure("temperature", above=0.0), "Temperature of the winding.")
    winding: str = key(
        Choice((WHOLE_MOTOR, FIELD_WINDING)),
        "What was read to the frame; of a motor with commutator the field winding may be read alone.",
        default=WHOLE_MOTOR,
    )


@dataclass(frozen=True)
class HeldLoad:
    """What stands beside the table of a heat run."""

    load: float | None = key(
        Measure("ratio", above=0.0, high=3.0, example="100 %", bounds="more than zero"),
        "Load held, as a part of rated power, where no column has it.",
    )


#: A heat run is judged by its temperatures and the load held; what else was read is kept.
_OF_A_HEAT_RUN = (
    "time", "speed", "scale", "scale_2", "torque", "current", "current_a", "current_b", "current_c", "input_power",
    "wattmeter_1", "wattmeter_2", "winding_temperature", "frame_temperature", "ambient_temperature", "remark",
)  # fmt: skip
HEAT_RUN_COLUMNS = {name: replace(kind, evaluated=name in _OF_A_HEAT_RUN) for name, kind in COLUMNS.items()}

_ZERO = MeasureOf(("mass", "force", "torque"))


@dataclass(frozen=True)
class ReadingsSource:
    """What was read, as written: typed rows or files."""

    zero_before: Dimensioned | None = key(_ZERO, "Scale or torque sensor without load, before the test.")
    zero_after: Dimensioned | None = key(_ZERO, "The same after the test; the drift between is taken as linear.")
    zero_before_2: Dimensioned | None = key(_ZERO, "Slack-side balance of a rope brake without load, before.")
    zero_after_2: Dimensioned | None = key(_ZERO, "The same after the test.")
    load_test: TableSource | None = key(table(), "The load test, one row a load point.", required=True)
    no_load: TableSource | None = key(table(), "No-load readings at several voltages.")
    locked_rotor: TableSource | None = key(table(), "Locked-rotor readings.")
    winding: Winding | None = key(Group(Winding), "Winding resistance, cold and hot.")
    insulation: Insulation | None = key(Group(Insulation), "Insulation resistance.")
    capacitors: tuple[Capacitor, ...] = key(
        Each(Group(Capacitor), 6), "Its capacitors, discharged and measured apart from it.", default=()
    )
    safety: SafetyTests | None = key(Group(SafetyTests), "Tests for the safety of whoever uses the motor.")
    start_switch_opens_at: float | None = key(
        _positive("speed", "1150 rpm"), "Speed at which the switch of the start winding was heard to open."
    )
    run_down: TableSource | None = key(table(RUN_DOWN_COLUMNS, Coasting), "Speed over time with the supply off.")
    run_down_braked: TableSource | None = key(
        table(RUN_DOWN_COLUMNS, Braking), "The same again with a known torque or power added."
    )
    heat_run: TableSource | None = key(table(HEAT_RUN_COLUMNS, HeldLoad), "Temperatures over time at constant load.")


@dataclass(frozen=True)
class SheetChoice:
    """Which sheet is drawn."""

    layout: str = key(
        Text(200, "certificate"), "Name of a layout, or a layout file of the shop's own.", default="certificate"
    )
    logo: FileReference | None = key(
        Reference("logo.png"),
        "The shop's logo for the heading: a PNG of at most 3000 pixels a side or a plain SVG.",
    )
    paper: str = key(Choice(SHEET_PAPERS), "Paper; a layout made for one paper alone is printed on that.", default="a4")
    units: str = key(Choice(SHEET_UNITS), "Units printed.", default="si")
    language: str = key(
        Text(200, "de"),
        "Language of the page: en, de, es, fr, or a file of the shop's own with a sentence to each key.",
        default="en",
    )
    record: str = key(
        Choice(("true", "false")),
        "Whether the test record, with all points, uncertainties and sources, follows the certificate in its PDF.",
        default="false",
    )


@dataclass(frozen=True)
class Job:
    """One test of one motor."""

    certificate: Certificate = key(Group(Certificate), "The certificate itself.", required=True)
    motor: Motor = key(Group(Motor), "The item tested.", required=True)
    nameplate: Nameplate = key(Group(Nameplate), "What the plate declares.", default=Nameplate())
    rig: FileReference = key(Reference("../rigs/arm_brake.yaml"), "The rig file.", required=True, unless="shop")
    shop: FileReference | None = key(
        Reference("../shop.yaml"), "The shop file, with what the shop says every time; what stands in the job wins."
    )
    conditions: Conditions = key(Group(Conditions), "Where the test was made.", default=Conditions())
    inspection: tuple[Inspected, ...] = key(
        Each(Group(Inspected), 40), "The motor as found, item by item, before the brake.", default=()
    )
    pictures: Pictures = key(Group(Pictures), "Pictures of the motor as found.", default=Pictures())
    readings: ReadingsSource = key(Group(ReadingsSource), "What was read.", required=True)
    criteria: str | None = key(Text(200, "iec-60034-1"), "A criteria set, or a file of the shop's own.")
    decision_rule: str = key(
        Choice(DECISION_RULES),
        "How uncertainty enters the outcome: with a guard band as wide as the expanded uncertainty, or not at all.",
        default=GUARDED,
    )
    compare_with: FileReference | None = key(
        Reference("../motor_before/job.yaml"), "The job of an earlier test of this motor, to be held against this one."
    )
    sheet: SheetChoice = key(Group(SheetChoice), "Which sheet is drawn.", default=SheetChoice())
