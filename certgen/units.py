"""The one unit registry, and the two edges where units meet plain SI numbers.

The registry is closed: it knows the units a motor bench writes and nothing else, so a slip of the
pen is an error and never some other science's unit. An angle is a dimension of its own here, which
keeps hertz and revolutions per minute apart.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

# The units a bench writes every day, with their way to SI as the registry gives it.
#
# They spare a command the registry's import, a tenth of its time; ``tests/test_units.py`` holds every entry against
# the registry. Unit -> (dimension, scale, offset): SI value = offset + scale * value.


USUAL_UNITS: dict[str, tuple[str, float, float]] = {
    "W": ("power", 1.0, 0.0),
    "kW": ("power", 1000.0, 0.0),
    "MW": ("power", 1000000.0, 0.0),
    "hp": ("power", 745.6998715822702, 0.0),
    "HP": ("power", 745.6998715822702, 0.0),
    "PS": ("power", 735.49875, 0.0),
    "VA": ("apparent power", 1.0, 0.0),
    "kVA": ("apparent power", 1000.0, 0.0),
    "V": ("voltage", 1.0, 0.0),
    "kV": ("voltage", 1000.0, 0.0),
    "mV": ("voltage", 0.001, 0.0),
    "A": ("current", 1.0, 0.0),
    "mA": ("current", 0.001, 0.0),
    "kA": ("current", 1000.0, 0.0),
    "Hz": ("frequency", 1.0, 0.0),
    "kHz": ("frequency", 1000.0, 0.0),
    "rpm": ("speed", 0.10471975511965977, 0.0),
    "1/min": ("speed", 0.10471975511965977, 0.0),
    "r/min": ("speed", 0.10471975511965977, 0.0),
    "rad/s": ("speed", 1.0, 0.0),
    "N*m": ("torque", 1.0, 0.0),
    "Nm": ("torque", 1.0, 0.0),
    "mN*m": ("torque", 0.001, 0.0),
    "kN*m": ("torque", 1000.0, 0.0),
    "N·m": ("torque", 1.0, 0.0),
    "lbf*ft": ("torque", 1.3558179483314003, 0.0),
    "lbf·ft": ("torque", 1.3558179483314003, 0.0),
    "lbf*in": ("torque", 0.11298482902761668, 0.0),
    "lbf·in": ("torque", 0.11298482902761668, 0.0),
    "ozf*in": ("torque", 0.007061551814226043, 0.0),
    "ozf*ft": ("torque", 0.08473862177071252, 0.0),
    "m": ("length", 1.0, 0.0),
    "mm": ("length", 0.001, 0.0),
    "cm": ("length", 0.01, 0.0),
    "in": ("length", 0.0254, 0.0),
    "ft": ("length", 0.3048, 0.0),
    "kg": ("mass", 1.0, 0.0),
    "g": ("mass", 0.001, 0.0),
    "lb": ("mass", 0.45359237, 0.0),
    "oz": ("mass", 0.028349523125, 0.0),
    "N": ("force", 1.0, 0.0),
    "kN": ("force", 1000.0, 0.0),
    "kgf": ("force", 9.80665, 0.0),
    "lbf": ("force", 4.4482216152605, 0.0),
    "degC": ("temperature", 1.0, 273.15),
    "°C": ("temperature", 1.0, 273.15),
    "degF": ("temperature", 0.5555555555555556, 255.3722222222222),
    "°F": ("temperature", 0.5555555555555556, 255.3722222222222),
    "K": ("temperature", 1.0, 0.0),
    "ohm": ("resistance", 1.0, 0.0),
    "mohm": ("resistance", 0.001, 0.0),
    "kohm": ("resistance", 1000.0, 0.0),
    "Mohm": ("resistance", 1000000.0, 0.0),
    "Gohm": ("resistance", 1000000000.0, 0.0),
    "Ω": ("resistance", 1.0, 0.0),
    "kΩ": ("resistance", 1000.0, 0.0),
    "MΩ": ("resistance", 1000000.0, 0.0),
    "s": ("time", 1.0, 0.0),
    "ms": ("time", 0.001, 0.0),
    "min": ("time", 60.0, 0.0),
    "h": ("time", 3600.0, 0.0),
    "day": ("time", 86400.0, 0.0),
    "days": ("time", 86400.0, 0.0),
    "months": ("time", 2629746.0, 0.0),
    "years": ("time", 31556952.0, 0.0),
    "m/s^2": ("acceleration", 1.0, 0.0),
    "m/s²": ("acceleration", 1.0, 0.0),
    "kg*m^2": ("inertia", 1.0, 0.0),
    "kg*m²": ("inertia", 1.0, 0.0),
    "1": ("ratio", 1.0, 0.0),
    "%": ("ratio", 0.01, 0.0),
    "percent": ("ratio", 0.01, 0.0),
}


# The one unit registry, and the two edges where units meet plain SI numbers.
#
# The registry is closed: it knows the units a motor bench writes and nothing else, so a slip of the pen is an error
# and never some other science's unit. An angle is a dimension of its own here, which keeps hertz and revolutions per
# minute apart.


#: Exact by definition: foot 0.3048 m, pound 0.45359237 kg, standard gravity 9.80665 m/s^2, horsepower
#: 550 ft*lbf/s, metric horsepower 75 kgf*m/s. Source: NIST Special Publication 811 (2008), appendix B.
_DEFINITIONS = """
micro- = 1e-6 = µ- = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-
meter = [length] = m = metre
gram = [mass] = g
second = [time] = s = sec
ampere = [current] = A = amp = amps
kelvin = [temperature] = K
radian = [angle] = rad
percent = 0.01 = _ = pct
minute = 60 * second = min
hour = 3600 * second = h = hr
day = 24 * hour = d
month = 30.436875 * day = _ = months
year = 365.2425 * day = a = years
turn = 2 * 3.141592653589793 * radian = rev = revolution
revolutions_per_minute = turn / minute = rpm
degree = 3.141592653589793 / 180 * radian = deg
hertz = 1 / second = Hz
newton = kilogram * meter / second ** 2 = N
watt = newton * meter / second = W
volt = watt / ampere = V
ohm = volt / ampere = Ω = Ohm
inch = 0.0254 * meter = in
foot = 0.3048 * meter = ft
pound = 0.45359237 * kilogram = lb = lbs
ounce = pound / 16 = oz
standard_gravity = 9.80665 * meter / second ** 2 = g_n
kilogram_force = kilogram * standard_gravity = kgf = kp
gram_force = gram * standard_gravity = gf
pound_force = pound * standard_gravity = lbf
ounce_force = ounce * standard_gravity = ozf
newton_metre = newton * meter = Nm
volt_ampere = [apparent_power] = VA
decibel = [sound_level] = dB
farad = ampere * second / volt = F
microfarad_of_the_trade = 1e-6 * farad = mfd = MFD = mFD
horsepower = 550 * foot * pound_force / second = hp = HP
metric_horsepower = 75 * kilogram_force * meter / second = PS = cv
degree_Celsius = kelvin; offset: 273.15 = degC = celsius
degree_Fahrenheit = 5 / 9 * kelvin; offset: 255.3722222222222 = degF = fahrenheit
"""

#: Dimension by name: its SI unit as results print it, and an example for error messages.
DIMENSIONS: dict[str, tuple[str, str]] = {
    "power": ("W", "1.5 kW"),
    "apparent power": ("VA", "120 VA"),
    "voltage": ("V", "400 V"),
    "current": ("A", "3.4 A"),
    "frequency": ("Hz", "50 Hz"),
    "speed": ("rad/s", "1420 rpm"),
    "torque": ("N*m", "9.9 N*m' or '7.3 lbf*ft"),
    "length": ("m", "0.5 m"),
    "mass": ("kg", "2.5 kg"),
    "force": ("N", "25 N"),
    "temperature": ("K", "40 degC"),
    "resistance": ("ohm", "4.1 ohm"),
    "time": ("s", "20 s"),
    "acceleration": ("m/s^2", "9.81 m/s^2"),
    "inertia": ("kg*m^2", "0.004 kg*m^2"),
    "velocity": ("m/s", "30 m/s"),
    "capacitance": ("farad", "20 uF"),
    "sound level": ("dB", "62 dB"),
    "angle": ("rad", "2 deg"),
    "ratio": ("1", "82.8 %"),
}

#: What a bench can meet, in SI: beyond it, sums of squares would leave the floats.
SMALLEST, LARGEST = 1e-15, 1e15
#: A quantity on a plate or in a log is short; what is longer is no quantity.
_LONGEST = 80
_NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_PLAIN = re.compile(_NUMBER)
_FRACTION = r"(?:(?P<whole>[0-9]+)\s+)?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)(?![\d.])"
_QUANTITY = re.compile(rf"(?:{_FRACTION}|(?P<number>{_NUMBER}))\s*(?P<unit>.*)", re.DOTALL)
_SECOND_NUMBER = re.compile(r"[,.'’]|[0-9](?!\s*/)")
_NAME = r"[A-Za-z_µΩ]+"
_FACTOR = rf"{_NAME}(?:(?:\^|\*\*)-?[1-9])?"
_UNIT = re.compile(rf"(?:1 ?/ ?)?{_FACTOR}(?: ?[*/ ] ?{_FACTOR})*")
_SPELLINGS = {
    "1/min": "rpm", "min^-1": "rpm", "min-1": "rpm", "r/min": "rpm", "%": "percent", "C": "degC", "F": "degF",
    "dB(A)": "dB", "dBA": "dB",
    # As plates, meters and people write them. Common practice, no source.
    "RPM": "rpm", "Rpm": "rpm", "r.p.m.": "rpm", "HZ": "Hz", "hz": "Hz", "~": "Hz", "cycles": "Hz", "cycle": "Hz",
    "cps": "Hz", "c/s": "Hz", "CPS": "Hz", "VAC": "V", "Vac": "V", "V AC": "V", "VDC": "V", "Vdc": "V", "V DC": "V",
    "V~": "V", "Volts": "V", "volts": "V", "Volt": "V", "AMPS": "A", "Amps": "A", "Amp": "A", "A~": "A", "AAC": "A",
    "KW": "kW", "kw": "kW", "Kw": "kW", "KVA": "kVA", "kva": "kVA", "Watts": "W", "watts": "W", "Watt": "W", "WATTS": "W",
    "Hp": "hp", "H.P.": "hp", "KG": "kg", "Kg": "kg", "LBS": "lb", "Lbs": "lb", "LB": "lb", "ohms": "ohm", "Ohms": "ohm",
    "OHMS": "ohm", "OHM": "ohm", "lb-ft": "lbf*ft", "ft-lb": "lbf*ft", "ft-lbs": "lbf*ft", "lb-in": "lbf*in",
    "in-lb": "lbf*in", "oz-in": "ozf*in", "in-oz": "ozf*in", "N-m": "N*m", "NM": "N*m",
}  # fmt: skip
_SIGNS = {
    "·": "*", "⋅": "*", ".": "*", "° ": "°", "°C": "degC", "°F": "degF", "μ": "µ", "\N{OHM SIGN}": "Ω",
    "²": "^2", "³": "^3", "⁻¹": "^-1", "⁻^2": "^-2",
}  # fmt: skip


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(None, autoconvert_offset_to_baseunit=True, case_sensitive=True)
    registry.load_definitions(_DEFINITIONS.strip().splitlines())
    return registry


class UnitError(ValueError):
    """A text that is not the wanted quantity; the message says why, in words for the user."""


def read_number(text: str) -> float | None:
    """The plain decimal number in a text, or ``None`` where there is none (``nan`` and ``inf`` are none)."""
    plain = text.strip()
    if len(plain) > _LONGEST or _PLAIN.fullmatch(plain) is None:
        return None
    number = float(plain)
    return number if math.isfinite(number) else None


@lru_cache(maxsize=512)
def conversion(unit: str) -> tuple[str, float, float]:
    """Dimension of a unit and its way to SI: ``SI value = offset + scale * value``.

    Raises
    ------
    UnitError
        The registry does not know the unit, or its dimension is none the bench uses.
    """
    return USUAL_UNITS[unit] if unit in USUAL_UNITS else registry_conversion(unit)


def registry_conversion(unit: str) -> tuple[str, float, float]:
    """The same, always asked of the registry."""
    registry = _registry()
    parsed = _parse_unit(unit)
    for dimension, (si_unit, _) in DIMENSIONS.items():
        target = _parse_unit(si_unit)
        if parsed.dimensionality == target.dimensionality:
            zero, step = (float(registry.Quantity(at, parsed).to(target).magnitude) for at in (0.0, 1024.0))
            return dimension, (step - zero) / 1024.0, zero
    raise UnitError(f"'{unit}' is a unit of nothing measured here")


def _parse_unit(unit: str) -> Any:
    unknown = UnitError(f"'{unit[:40]}' is not a unit known here")
    if len(unit) > _LONGEST:
        raise unknown
    spelt = " ".join(unit.split())
    if spelt == "1":
        return _registry().Unit("")
    for sign, plain in _SIGNS.items():
        spelt = spelt.replace(sign, plain)
    spelt = _SPELLINGS.get(spelt, spelt)
    # Only names, products, quotients and one-digit powers reach the parser: it would evaluate 9^9^9^9.
    if _UNIT.fullmatch(spelt) is None:
        raise unknown
    try:
        parsed = _registry().parse_units(spelt)
    except Exception as cause:  # pint raises its own, tokenizer and arithmetic errors alike
        raise unknown from cause
    if "degree_" in str(parsed) and re.fullmatch(_NAME, spelt) is None:
        raise UnitError(f"'{unit[:40]}' mixes a temperature scale with other units")
    return parsed


def unit_written(text: str) -> str:
    """The unit of a quantity's text, as written; empty where there is none."""
    match = _QUANTITY.fullmatch(text.strip()) if len(text) <= _LONGEST else None
    return "" if match is None else match["unit"]


def measurable(value: float) -> bool:
    """Whether a motor bench can meet an SI number of this size."""
    return value == 0.0 or SMALLEST <= abs(value) <= LARGEST


def to_si(value: float, unit: str, dimension: str) -> float:
    """A number in a unit, converted to the SI unit of its dimension.

    Raises
    ------
    UnitError
        Unknown unit, or a unit of another dimension.
    """
    found, scale, offset = conversion(unit)
    if found != dimension:
        raise UnitError(f"'{unit}' is a unit of {found}, not of {dimension}")
    return offset + scale * value


def from_si(value: float, unit: str) -> float:
    """An SI value expressed in another unit of its dimension."""
    _, scale, offset = conversion(unit)
    return (value - offset) / scale


def read_quantity(text: str, dimension: str, *, difference: bool = False) -> float:
    """A text such as ``1.5 kW`` or ``1/3 hp`` as an SI number of the wanted dimension.

    A ratio may stand without a unit; everything else needs one. A ``difference`` is that of two values.

    Raises
    ------
    UnitError
        No number, no unit, an unknown unit, or a unit of another dimension.
    """
    return read_one_of(text, (dimension,), difference=difference)[0]


def read_one_of(text: str, dimensions: Sequence[str], *, difference: bool = False) -> tuple[float, str]:
    """A text as an SI number of one of several dimensions, and which of them it is.

    A ``difference`` leaves out the zero of a temperature scale: 0.1 degC is then 0.1 K.

    Raises
    ------
    UnitError
        As :func:`read_quantity`.
    """
    shown = f"'{text.strip()[:60]}'"
    match = _QUANTITY.fullmatch(text.strip()) if len(text) <= _LONGEST else None
    if match is None:
        raise UnitError(f"{shown} does not begin with a number")
    unit = match["unit"]
    if _SECOND_NUMBER.match(unit) and unit != "1":
        raise UnitError(f"{shown} is not one number with a decimal point")
    number = _number_of(match, shown)
    if not unit and "ratio" not in dimensions:
        raise UnitError(f"{shown} has no unit")
    found, scale, offset = conversion(unit or "1")
    if found not in dimensions:
        wanted = ", ".join(article(name) for name in dimensions[:-1]) + " or " * (len(dimensions) > 1)
        wanted += article(dimensions[-1])
        raise UnitError(f"{shown} is {article(found)}, not {wanted}")
    _refuse_quotient(match, found, shown)
    value = scale * number if difference else offset + scale * number
    if not measurable(value):
        raise UnitError(f"{shown} is too {'small' if abs(value) < 1.0 else 'large'} a number for a motor bench")
    return value, found


#: Units of power whose halves and thirds stand on plates; other electrical quantities are never written as fractions.
_HORSEPOWER = ("hp", "HP", "Hp", "H.P.", "horsepower", "PS", "cv", "metric_horsepower")
_NO_FRACTIONS = ("power", "apparent power", "voltage", "current", "frequency", "speed", "temperature")


def _refuse_quotient(match: re.Match[str], dimension: str, shown: str) -> None:
    """'115/230 V' is a motor for two voltages, never half a volt."""
    quotient = match["top"] is not None and match["whole"] is None
    if quotient and dimension in _NO_FRACTIONS and match["unit"] not in _HORSEPOWER:
        raise UnitError(f"{shown} is two values in one place")


def _number_of(match: re.Match[str], shown: str) -> float:
    if match["top"] is None:
        return float(match["number"])
    if int(match["bottom"]) == 0:
        raise UnitError(f"{shown} divides by zero")
    return int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])


def article(noun: str) -> str:
    """A noun with its indefinite article."""
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"
