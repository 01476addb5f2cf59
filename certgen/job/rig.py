"""The rig: the brake, its arm and scale, its drive, its instruments and what it can hold. All values in SI."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

from certgen.document.build import Dimensioned
from certgen.document.build import Toleranced as TolerancedValue
from certgen.document.vocabulary import Choice, Day, Each, Group, Measure, MeasureOf, Text, Toleranced, Whole, key
from certgen.job.columns import ENVELOPE_COLUMNS
from certgen.job.logger import Logger
from certgen.job.table import TableSource, table

# The meters of a rig by their makers' statements of accuracy. All values in SI.


_PART = Measure("ratio", above=0.0, high=1.0, example="0.5 %", bounds="more than zero and at most 100 %")


@dataclass(frozen=True)
class Meter:
    """A maker's limit of error: part of reading + part of range + digits, with the range and the smallest step."""

    reading: float | None = key(_PART, "Part of reading.")
    range: float | None = key(_PART, "Part of range.")
    digits: int | None = key(Whole(1, 1000), "Steps of the last digit.")
    full_scale: float | None = None
    resolution: float | None = None


def _full_scale(dimension: str, example: str) -> float | None:
    range_ = Measure(dimension, above=0.0, example=example, bounds="more than zero")
    full_scale: float | None = key(range_, "Full scale of the range used.")
    return full_scale


def _step(dimension: str, example: str) -> float | None:
    smallest = Measure(dimension, above=0.0, example=example, bounds="more than zero", difference=True)
    step: float | None = key(smallest, "Smallest step shown.")
    return step


@dataclass(frozen=True)
class Voltmeter(Meter):
    """A meter of volts."""

    full_scale: float | None = _full_scale("voltage", "600 V")
    resolution: float | None = _step("voltage", "0.1 V")


@dataclass(frozen=True)
class Ammeter(Meter):
    """A meter of amperes."""

    full_scale: float | None = _full_scale("current", "10 A")
    resolution: float | None = _step("current", "0.01 A")


@dataclass(frozen=True)
class Wattmeter(Meter):
    """A meter of watts."""

    full_scale: float | None = _full_scale("power", "6 kW")
    resolution: float | None = _step("power", "1 W")


@dataclass(frozen=True)
class PowerFactorMeter(Meter):
    """A meter of power factor."""

    full_scale: float | None = _full_scale("ratio", "1")
    resolution: float | None = _step("ratio", "0.01")


@dataclass(frozen=True)
class FrequencyMeter(Meter):
    """A meter of frequency."""

    full_scale: float | None = _full_scale("frequency", "100 Hz")
    resolution: float | None = _step("frequency", "0.01 Hz")


@dataclass(frozen=True)
class Thermometer(Meter):
    """A thermometer; its parts of reading and of range count from 0 degC."""

    full_scale: float | None = _full_scale("temperature", "200 degC")
    resolution: float | None = _step("temperature", "0.1 degC")


@dataclass(frozen=True)
class Ohmmeter(Meter):
    """A meter of winding resistance, or a tester of insulation resistance."""

    full_scale: float | None = _full_scale("resistance", "20 ohm")
    resolution: float | None = _step("resistance", "0.001 ohm")


@dataclass(frozen=True)
class CapacitanceMeter(Meter):
    """A meter of capacitance."""

    full_scale: float | None = _full_scale("capacitance", "100 uF")
    resolution: float | None = _step("capacitance", "0.1 uF")


@dataclass(frozen=True)
class Watch(Meter):
    """A watch; its digits are also how well the instant of switching off was caught."""

    full_scale: float | None = _full_scale("time", "1 h")
    resolution: float | None = _step("time", "1 s")


@dataclass(frozen=True)
class TorqueMeter(Meter):
    """A torque sensor with what shows it."""

    full_scale: float | None = _full_scale("torque", "20 N*m")
    resolution: float | None = _step("torque", "0.01 N*m")


@dataclass(frozen=True)
class Meters:
    """What reads the columns; a statement holds for every column of its kind."""

    voltage: Voltmeter | None = key(Group(Voltmeter), "Voltmeter.")
    current: Ammeter | None = key(Group(Ammeter), "Ammeter.")
    input_power: Wattmeter | None = key(Group(Wattmeter), "Wattmeter, or each of two.")
    power_factor: PowerFactorMeter | None = key(Group(PowerFactorMeter), "Power-factor meter.")
    frequency: FrequencyMeter | None = key(Group(FrequencyMeter), "Frequency meter.")
    winding_temperature: Thermometer | None = key(
        Group(Thermometer), "Thermometer of the winding, cold and running, also for the insulation test."
    )
    frame_temperature: Thermometer | None = key(Group(Thermometer), "Thermometer of the frame.")
    ambient_temperature: Thermometer | None = key(Group(Thermometer), "Thermometer of the room and the cooling air.")
    winding_resistance: Ohmmeter | None = key(Group(Ohmmeter), "Meter of winding resistance, cold and hot.")
    insulation_resistance: Ohmmeter | None = key(Group(Ohmmeter), "Insulation tester.")
    bond_resistance: Ohmmeter | None = key(Group(Ohmmeter), "Tester of the protective bond.")
    capacitance: CapacitanceMeter | None = key(Group(CapacitanceMeter), "Meter of capacitance.")
    time: Watch | None = key(Group(Watch), "Watch for resistances read after switching off; digits hold the start.")
    torque: TorqueMeter | None = key(Group(TorqueMeter), "Torque sensor.")


# The rig: the brake, its arm and scale, its drive, its instruments and what it can hold. All values in SI.


ARM = "arm"
ROPE = "rope"
TORQUE_SENSOR = "torque sensor"


def _positive(dimension: str, example: str = "") -> Measure:
    return Measure(dimension, above=0.0, example=example, bounds="more than zero")


_FRACTION = Measure("ratio", above=0.0, high=1.0, example="0.5 %", bounds="more than zero and at most 100 %")


@dataclass(frozen=True)
class Absorber:
    """What takes the load."""

    kind: str = key(Choice((ARM, ROPE, TORQUE_SENSOR)), "How torque is measured.", required=True)


@dataclass(frozen=True)
class Calibration:
    """Known loads applied to the scale and what it showed."""

    applied: tuple[Dimensioned, ...] = key(Each(MeasureOf(("mass", "force")), 50), "Loads applied.", required=True)
    indicated: tuple[Dimensioned, ...] = key(Each(MeasureOf(("mass", "force")), 50), "Indications.", required=True)
    on: date | None = key(Day(), "Day of the calibration.")
    valid: float | None = key(_positive("time", "12 months"), "How long it is taken as valid.")
    expanded_uncertainty: Dimensioned | None = key(
        MeasureOf(("mass", "force", "ratio")),
        "Expanded uncertainty (k = 2) of the applied loads: that of the largest, or a part of each.",
    )

    @property
    def valid_until(self) -> date | None:
        """The last day on which it is taken as valid; ``None`` where day or length is not stated."""
        if self.on is None or self.valid is None:
            return None
        days = math.ceil(self.valid / 86400.0)  # months and years are of mean length; a day is left for that
        return self.on + timedelta(days=min(days, (date.max - self.on).days))


@dataclass(frozen=True)
class Scale:
    """The scale under the arm, or the spring balances of a rope brake."""

    reads: str = key(
        Choice(("mass", "force")),
        "mass: shows kg or lb and is pulled by gravity; force: shows N, kgf or lbf.",
        required=True,
    )
    resolution: Dimensioned | None = key(MeasureOf(("mass", "force")), "Smallest step shown.")
    calibration: Calibration | None = key(Group(Calibration), "Known loads and indications.")
    hysteresis: Dimensioned | None = key(
        MeasureOf(("mass", "force")), "Greatest difference between indications at rising and at falling load."
    )
    tolerance: Dimensioned | None = key(
        MeasureOf(("mass", "force")), "Limit of error either side, where there is no calibration."
    )


@dataclass(frozen=True)
class TachometerMagnet:
    """A magnet, or any other mark with a weight, that turns with the tachometer's shaft."""

    mass: float = key(_positive("mass", "0.6 g"), "Mass of the magnet.", required=True)
    radius: float = key(_positive("length", "20 mm"), "From the axis to the middle of the magnet.", required=True)
    holding_force: float | None = key(_positive("force", "50 N"), "Pull its glue or screw may be trusted with.")


@dataclass(frozen=True)
class Tachometer:
    """How speed is measured, and on which shaft."""

    pulses_per_revolution: int | None = key(Whole(1, 100000), "Pulses a revolution.")
    gate: float | None = key(_positive("time", "1 s"), "Counting time.")
    tolerance: float | None = key(_positive("speed", "1 rpm"), "Limit of error either side.")
    on: str = key(Choice(("motor", "absorber")), "Shaft the tachometer looks at.", default="motor")
    magnet: TachometerMagnet | None = key(Group(TachometerMagnet), "A magnet or mark glued to what turns.")


@dataclass(frozen=True)
class Rim:
    """The largest part that turns: disc, drum or coupling."""

    radius: float = key(_positive("length", "60 mm"), "Its radius.", required=True)
    on: str = key(Choice(("motor", "absorber")), "Shaft it sits on.", default="absorber")


@dataclass(frozen=True)
class ShortTime:
    """A greater power, and how long the absorber bears it from cold."""

    power: float = key(_positive("power", "2 kW"), "Power, more than the continuous one.", required=True)
    time: float = key(_positive("time", "5 min"), "How long, beginning cold.", required=True)


@dataclass(frozen=True)
class AbsorberHeat:
    """Heat the absorber gives away, and how fast it warms."""

    continuous: float = key(_positive("power", "600 W"), "Power it may take as long as one likes.", required=True)
    short_time: ShortTime | None = key(Group(ShortTime), "A greater power, and how long it may be held from cold.")
    time_constant: float | None = key(_positive("time", "12 min"), "Its heating time constant, where that is known.")


@dataclass(frozen=True)
class Drive:
    """What stands between the tested shaft and the absorber."""

    kind: str = key(Choice(("direct", "belt")), "direct or belt.", required=True)
    ratio: float | None = key(
        Measure("ratio", above=0.0, high=100.0, example="2.0", bounds="more than zero"),
        "Motor speed over absorber speed.",
    )
    efficiency: float | None = key(
        Measure("ratio", above=0.0, high=1.0, example="0.97", bounds="more than zero and at most 1"),
        "Power to the absorber over power from the motor.",
    )
    tolerance: float | None = key(_FRACTION, "Limit of error of the efficiency.")
    ratio_tolerance: float | None = key(
        _FRACTION, "Limit of error of the ratio, as a part of it, with the belt's creep."
    )


@dataclass(frozen=True)
class RigLimits:
    """What the rig can stand."""

    torque: float | None = key(_positive("torque", "16 N*m"), "Torque at the absorber.")
    speed: float | None = key(_positive("speed", "20000 rpm"), "Speed of the absorber.")
    scale: Dimensioned | None = key(MeasureOf(("mass", "force")), "Span of the scale.")
    coupling_torque: float | None = key(_positive("torque", "20 N*m"), "Torque of the coupling at the tested shaft.")
    absorber_power: float | None = key(_positive("power", "800 W"), "Power the absorber can turn into heat.")
    brake_current: float | None = key(_positive("current", "18 A"), "Current that excites the brake.")
    bearing_speed: float | None = key(_positive("speed", "4500 rpm"), "Speed of the absorber's bearings.")
    tachometer_speed: float | None = key(_positive("speed", "9999 rpm"), "Speed the tachometer can read.")
    belt_power: float | None = key(_positive("power", "2 kW"), "Power the belt can carry.")
    rim_speed: float | None = key(_positive("velocity", "40 m/s"), "Speed of the rim of what turns.")
    supply_power: float | None = key(
        _positive("power", "3.5 kW"), "Power the supply of the bench can give, by its fuse or its transformer."
    )


@dataclass(frozen=True)
class Instrument:
    """One instrument by its papers."""

    name: str = key(Text(60, "Wattmeter, three-phase"), "What it is.", required=True)
    serial: str | None = key(Text(60, "W-20417"), "Its serial number.")
    calibrated_on: date | None = key(Day(), "Day of its calibration.")
    certificate: str | None = key(Text(60, "K-2026-0331"), "Number of the calibration's certificate.")
    by: str | None = key(Text(80, "Northmoor Calibration"), "Who calibrated it.")
    valid_until: date | None = key(Day(), "Last day the calibration is taken as valid.")


@dataclass(frozen=True)
class Rig:
    """The bench the test was made on."""

    name: str = key(Text(120, "Cradle brake no. 1"), "Name of the rig.", required=True)
    absorber: Absorber = key(Group(Absorber), "What takes the load.", required=True)
    arm_length: TolerancedValue | None = key(
        Toleranced(_positive("length", "0.5 m")), "Arm from axis to scale (absorber arm)."
    )
    out_of_square: float | None = key(
        Measure("angle", above=0.0, high=0.55, example="2 deg", bounds="more than zero and at most 30 deg"),
        "Limit of the angle by which arm and force may be off a right angle.",
    )
    drum_radius: TolerancedValue | None = key(
        Toleranced(_positive("length", "0.1 m")), "Radius of the drum (absorber rope)."
    )
    rope_diameter: TolerancedValue | None = key(
        Toleranced(Measure("length", low=0.0, example="8 mm")), "Diameter of the rope."
    )
    scale: Scale | None = key(Group(Scale), "The scale or the balances.")
    tare_torque: TolerancedValue | None = key(
        Toleranced(Measure("torque", low=0.0, example="0.03 N*m")),
        "Trunnion friction and windage that the scale does not see.",
    )
    tachometer: Tachometer = key(Group(Tachometer), "How speed is measured.", default=Tachometer())
    instruments: tuple[Instrument, ...] = key(
        Each(Group(Instrument), 30), "The instruments by their papers, printed on the record.", default=()
    )
    meters: Meters | None = key(Group(Meters), "The meters, each by its maker's statement of accuracy.")
    drive: Drive = key(Group(Drive), "Between tested shaft and absorber.", default=Drive("direct"))
    inertia: TolerancedValue | None = key(
        Toleranced(_positive("inertia")),
        "Of all that turns between the motor and where torque is measured, at the absorber's shaft: rotor or drum of the "
        "absorber and coupling; with a torque sensor in the shaft only what is on the motor's side of it.",
    )
    limits: RigLimits = key(Group(RigLimits), "What the rig can stand.", default=RigLimits())
    brake_envelope: TableSource | None = key(
        table(ENVELOPE_COLUMNS), "Most torque the absorber holds, by speed; straight lines between the rows."
    )
    logger: Logger | None = key(Group(Logger), "What sends the readings as lines of text, for certgen record.")
    absorber_heat: AbsorberHeat | None = key(Group(AbsorberHeat), "How much heat the absorber bears, and how long.")
    rim: Rim | None = key(Group(Rim), "The largest part that turns; a rope brake's drum is known without it.")
