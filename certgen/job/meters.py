"""The meters of a rig by their makers' statements of accuracy. All values in SI."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.document.vocabulary import Group, Measure, Whole, key

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
    time: Watch | None = key(Group(Watch), "Watch for resistances read after switching off; digits hold the start.")
    torque: TorqueMeter | None = key(Group(TorqueMeter), "Torque sensor.")
