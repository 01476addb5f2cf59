"""Numbers as they are printed: units of the reader's choice, digits by rule, one rule a quantity.

While an uncertainty is not known, digits follow the quantity (common practice, no source): four significant for torque
and power, three or four for current, whole revolutions a minute, 0.01 % of slip, 0.1 % of efficiency, three decimals
of power factor. Where an expanded uncertainty is known, it is printed with two significant digits and the value with
as many decimals (JCGM 100:2008, 7.2.6).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from certgen.messages.languages import IN_ENGLISH, Language, Writing
from certgen.physics.uncertainty import decimals_for
from certgen.quantity import Quantity
from certgen.units import from_si

#: Printed where nothing was measured or declared; the page explains it.
MISSING = "—"

SI, US, BOTH = "si", "us", "both"
UNITS = (SI, US, BOTH)
POINT = "."
#: Digits and the point before their decimals.
_DECIMALS = re.compile(r"(\d)\.(?=\d)")


#: Figures with fewer digits before the decimals than these are not grouped.
_LEAST_GROUPED = 5


class Units(str):
    """The reader's system of units ('si', 'us' or 'both'), with how the page writes figures."""

    mark: str
    digits: int
    writing: Writing
    language: Language | None

    def __new__(
        cls,
        system: str,
        mark: str = "",
        digits: int = 2,
        writing: Writing = IN_ENGLISH,
        language: Language | None = None,
    ) -> Units:
        """A system with the writing of a language, its own decimal mark if any, and the digits of an uncertainty."""
        made = super().__new__(cls, system)
        made.writing = writing if language is None else language.writing
        made.mark, made.digits, made.language = mark or made.writing.mark, digits, language
        return made

    @property
    def usual(self) -> bool:
        """Whether figures are written as they are computed: with a point, ungrouped, in English."""
        return (self.mark, self.digits, self.writing) == (POINT, 2, IN_ENGLISH)

    def written(self, text: str) -> str:
        """A figure printed with a decimal point, as the page writes it."""
        if self.mark == POINT and not self.writing.thousands:
            return text
        whole, point, decimals = text.partition(POINT)
        digits = whole.lstrip("+−-")
        if digits.isdecimal() and len(digits) >= _LEAST_GROUPED:
            whole = whole.removesuffix(digits) + f"{int(digits):,}".replace(",", self.writing.thousands)
        return whole + (self.mark + decimals if point else "")

    def marked(self, text: PlateFigures) -> str:
        """Figures with the decimal mark of the page, and else as they are."""
        return _DECIMALS.sub(lambda found: f"{found[1]}{self.mark}", text)

    def number(self, value: float, decimals: int) -> str:
        """A number with fixed decimals, as the page writes it."""
        return self.written(number(value, decimals))

    def plain(self, value: float) -> str:
        """A number as a plate would carry it, as the page writes it."""
        return self.written(plain(value))

    def dated(self, iso: str) -> str:
        """A date as in ISO 8601, as the page writes it."""
        return self.writing.dated(iso)


class PlateFigures(str):
    """Figures as a plate or a file of the user's has them, such as '4.5/2.6 A': their digits and unit stay, their decimal
    mark is that of the page."""

    __slots__ = ()


def as_units(units: str) -> Units:
    """A system of units by its name alone is written with a decimal point."""
    return units if isinstance(units, Units) else Units(units)


#: Customary units that stand on pages and in no file of a user's, in SI. NIST Special Publication 811 (2008), appendix B.
_FOOT_POUND = 0.3048 * 4.4482216152605
CUSTOMARY_SIZES = {
    "ft/s^2": 0.3048,
    "lb*ft^2": 0.45359237 * 0.3048**2,
    "W/(lbf*ft)^2": _FOOT_POUND**-2,
    "lbf*ft*s": _FOOT_POUND,
    "lbf*ft*s^2": _FOOT_POUND,
}


@dataclass(frozen=True)
class Form:
    """One way to print a quantity: its unit as the registry and as the reader knows it, and its digits."""

    unit: str
    sign: str
    decimals: int | None = None  # fixed
    significant: int = 4  # of the largest value of a column, where the decimals are not fixed
    page: Units = Units(SI)  # how the page writes figures

    def value(self, si: float) -> float:
        """An SI value in this unit."""
        if self.unit in CUSTOMARY_SIZES:
            return si / CUSTOMARY_SIZES[self.unit]
        return si if self.unit in ("", "VA") else from_si(si, self.unit)

    def spread(self, si: float) -> float:
        """An SI difference, such as an uncertainty, in this unit."""
        return self.value(si) - self.value(0.0)

    def number(self, value: float, decimals: int) -> str:
        """A number with fixed decimals, as the page writes it."""
        return self.page.number(value, decimals)

    def plain(self, value: float) -> str:
        """A number as a plate would carry it, as the page writes it: a third of a horsepower is no decimal."""
        return (self.sign == "hp" and _thirds(value)) or self.page.plain(value)

    @property
    def digits(self) -> int:
        """Digits of an uncertainty."""
        return self.page.digits

    def places(self, values: Iterable[float]) -> int:
        """Decimals for values in this unit that stand in one column."""
        if self.decimals is not None:
            return self.decimals
        largest = max((abs(value) for value in values), default=0.0)
        if largest == 0.0:
            return 1
        return min(6, max(0, self.significant - 1 - math.floor(math.log10(largest) + 1e-12)))


#: Decimals that an uncertainty may add to those of its quantity.
_MOST_MORE = 2

_RPM = Form("rpm", "rpm", decimals=0)
_SLOW = Form("rpm", "rpm", decimals=1)
#: Torques from so many newton metres up, with the SI and the customary form; those of small motors in ounce-inches are
#: common practice, no source.
_TORQUES = (
    (1e4, Form("kN*m", "kN·m"), Form("lbf*ft", "lbf·ft")),
    (0.01, Form("N*m", "N·m"), Form("lbf*ft", "lbf·ft")),
    (0.0, Form("mN*m", "mN·m"), Form("ozf*in", "ozf·in")),
)
_WATT = Form("W", "W")
_KILOWATT = Form("kW", "kW")
_HP = Form("hp", "hp")
_VA = Form("VA", "VA")
_KVA = Form("kW", "kVA")
_CELSIUS = Form("degC", "°C", decimals=1)
_FAHRENHEIT = Form("degF", "°F", decimals=1)
_OHMS = (
    (1e9, Form("Gohm", "GΩ")),
    (1e6, Form("Mohm", "MΩ")),
    (1e3, Form("kohm", "kΩ")),
    (0.1, Form("ohm", "Ω")),
    (0.0, Form("mohm", "mΩ")),
)
_PERCENT = Form("percent", "%", decimals=1)

#: Kinds of quantity that print one way whatever their size and the reader's units.
_PLAIN = {
    "slip": Form("percent", "%", decimals=2),
    "efficiency": _PERCENT,
    "unbalance": _PERCENT,
    "voltage": Form("V", "V", decimals=1),
    "power_factor": Form("", "", decimals=3),
    "ratio": Form("", "", decimals=3),
    "service_factor": Form("", "", decimals=2),
    "frequency": Form("Hz", "Hz", decimals=2),
    "time": Form("s", "s", decimals=0),
    "minutes": Form("min", "min", decimals=0),
    "index": Form("", "", decimals=2),
    "rise": Form("", "K", decimals=1),
    "angular_acceleration": Form("", "rad/s²", significant=3),
    "capacitance": Form("uF", "µF", significant=3),
    "kva_per_hp": Form("", "kVA/hp", decimals=2),
}

#: The kind of each quantity of a load point, by its name in the results.
KINDS = {
    "speed": "speed",
    "slip": "slip",
    "torque": "torque",
    "shaft_power": "shaft_power",
    "input_power": "electrical_power",
    "apparent_power": "apparent_power",
    "current": "current",
    "voltage": "voltage",
    "power_factor": "power_factor",
    "efficiency": "efficiency",
    "losses": "electrical_power",
    "temperature": "temperature",
    "current_unbalance": "unbalance",
    "voltage_unbalance": "unbalance",
    "frequency": "frequency",
    "time": "time",
}

_OF_UNIT = {
    "rad/s": "speed",
    "N*m": "torque",
    "W": "shaft_power",
    "VA": "apparent_power",
    "A": "current",
    "V": "voltage",
    "Hz": "frequency",
    "K": "temperature",
    "s": "time",
    "ohm": "resistance",
    "farad": "capacitance",
    "m/s^2": "acceleration",
    "kg*m^2": "inertia",
    "W/(N*m)^2": "stray_slope",
    "N*m*s": "viscous_torque",
    "N*m*s^2": "windage_torque",
    "rad/s^2": "angular_acceleration",
    "kVA/hp": "kva_per_hp",
}

#: Every kind by its name, for a place of a sentence that says which one its quantity is.
KIND_NAMES = frozenset({*_PLAIN, *KINDS.values(), *_OF_UNIT.values()})

_RATIOS = ("efficiency", "slip", "unbalance", "power_factor", "service_factor")


def kind_of(unit: str, name: str = "") -> str:
    """The kind of a quantity known by its SI unit; ratios, and rises of temperature, by their name as well."""
    if unit == "K" and ("rise" in name or name == "winding_temperature"):  # judged above the cooling air
        return "rise"
    if unit in _OF_UNIT:
        return _OF_UNIT[unit]
    return next((kind for kind in _RATIOS if kind in name), "ratio")


def forms(kind: str, units: str, largest: float) -> tuple[Form, ...]:
    """How a kind of quantity is printed: one form, or SI and US side by side. ``largest`` in SI."""
    found, page = _forms(kind, units, largest), as_units(units)
    if page.usual:
        return found
    speed = page.writing.speed
    return tuple(replace(form, page=page, sign=speed if form.unit == "rpm" else form.sign) for form in found)


def _forms(kind: str, units: str, largest: float) -> tuple[Form, ...]:
    if kind in _PLAIN:
        return (_PLAIN[kind],)
    if kind == "speed":
        return (_SLOW if abs(largest) < from_si_rpm(150.0) else _RPM,)
    if kind == "current":
        return (Form("A", "A", decimals=3 if largest < 1.0 else 2 if largest < 100.0 else 1),)
    if kind == "resistance":
        return (next(form for least, form in _OHMS if abs(largest) >= least),)
    if kind == "torque":
        size = abs(largest) or 1.0
        _, metric, customary = next(row for row in _TORQUES if size >= row[0])
        return {SI: (metric,), US: (customary,), BOTH: (metric, customary)}[units]
    watts = _KILOWATT if abs(largest) >= 1000.0 else _WATT
    if kind == "electrical_power":
        return (watts,)
    if kind == "apparent_power":
        return (_KVA if abs(largest) >= 1000.0 else _VA,)
    metric, customary = {
        "shaft_power": (watts, _HP),
        "temperature": (_CELSIUS, _FAHRENHEIT),
        "acceleration": (Form("m/s^2", "m/s²", decimals=4), Form("ft/s^2", "ft/s²", decimals=3)),
        "inertia": (Form("", "kg·m²", significant=3), Form("lb*ft^2", "lb·ft²", significant=3)),
        "stray_slope": (Form("", "W/(N·m)²", significant=3), Form("W/(lbf*ft)^2", "W/(lbf·ft)²", significant=3)),
        "viscous_torque": (Form("", "N·m·s", significant=3), Form("lbf*ft*s", "lbf·ft·s", significant=3)),
        "windage_torque": (Form("", "N·m·s²", significant=3), Form("lbf*ft*s^2", "lbf·ft·s²", significant=3)),
    }[kind]
    return {SI: (metric,), US: (customary,), BOTH: (metric, customary)}[units]


def from_si_rpm(rpm: float) -> float:
    """Revolutions a minute in rad/s."""
    return rpm * math.tau / 60.0


def number(value: float, decimals: int) -> str:
    """A number with fixed decimals and a true minus sign; nothing is printed as minus zero."""
    text = f"{value:.{decimals}f}"
    if text.startswith("-"):
        text = text[1:] if not text.strip("-0.") else "−" + text[1:]
    return text


#: Ratings of NEMA MG 1, 10.32, that no decimal ends: plates carry them as fractions.
_THIRDS = {f"{top}/{bottom}": top / bottom for top, bottom in ((1, 3), (2, 3), (1, 6), (1, 12), (1, 15), (1, 30))}


def _thirds(horsepower: float) -> str | None:
    """A rating as the fraction that plates have for it, where its decimal has no end."""
    return next((text for text, value in _THIRDS.items() if abs(horsepower - value) <= 1e-6), None)


def plain(value: float) -> str:
    """A number as a plate would carry it: four significant digits, five from 10 000 up, no trailing zeros."""
    text = f"{value:.{5 if abs(value) >= 1e4 else 4}g}"
    if "e" in text:
        text = f"{value:.0f}" if abs(value) >= 1.0 else f"{value:.8f}".rstrip("0")
    return text.replace("-", "−")


def column(quantities: Iterable[Quantity | None], form: Form, *, spreads: bool = True) -> tuple[str, ...]:
    """The cells of a column, all with the same decimals, each with its uncertainty where that is known and wanted."""
    listed = list(quantities)
    decimals = decimals_of(listed, form, each=spreads)
    return tuple(MISSING if item is None else _cell(item, form, decimals, spreads) for item in listed)


def decimals_of(quantities: Iterable[Quantity | None], form: Form, *, each: bool = True) -> int:
    """Decimals for quantities that stand in one column: those of their uncertainty where that is known.

    The middle uncertainty sets them where ``each`` is printed, else the greatest, which then stands for all.
    """
    known = [item for item in quantities if item is not None]
    spreads = [form.spread(item.expanded_uncertainty) for item in known if item.expanded_uncertainty]
    places = form.places(form.value(item.value) for item in known)
    if not spreads:
        return places
    middle = sorted(spreads)[len(spreads) // 2] if each else max(spreads)
    return min(places + _MOST_MORE, max(0, decimals_for(middle, form.digits)))


def _cell(item: Quantity, form: Form, decimals: int, spreads: bool) -> str:
    text = form.number(form.value(item.value), decimals)
    spread = spread_text(item, form, decimals) if spreads else ""
    return f"{text} ± {spread}" if spread else text


def spread_text(item: Quantity, form: Form, decimals: int) -> str:
    """The expanded uncertainty with these decimals, never rounded to nothing; empty where it is not known."""
    if not item.expanded_uncertainty:
        return ""
    return form.number(max(form.spread(item.expanded_uncertainty), 10.0**-decimals), decimals)


def single(item: Quantity | None, kind: str, units: str) -> str:
    """One quantity with its unit; in both systems the second stands in brackets."""
    if item is None:
        return MISSING
    if not_resolved(item, kind):
        return below_most(item, kind, units)
    if kind in _COEFFICIENTS:
        return both([coefficient(item, form) for form in forms(kind, units, item.value)])
    return both([single_in(item, form) for form in forms(kind, units, item.value)])


#: Kinds whose figures may be so small that a power of ten shows them best.
_COEFFICIENTS = ("viscous_torque", "windage_torque")
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def coefficient(item: Quantity, form: Form) -> str:
    """A figure of three digits with its unit, and a power of ten where it is small."""
    digits, _, power = f"{form.value(item.value):.3g}".partition("e")
    text = form.page.written(digits.replace("-", "−"))
    return with_sign(f"{text}·10{str(int(power)).translate(_RAISED)}" if power else text, form)


#: Digits of the most that a value may be which its uncertainty hides.
_BOUND_DIGITS = 2


def not_resolved(item: Quantity, kind: str) -> bool:
    """Whether a resistance is less than its own uncertainty, so that all that is known is what it is below."""
    return kind == "resistance" and (item.expanded_uncertainty or 0.0) > item.value >= 0.0


def below_most(item: Quantity, kind: str, units: str) -> str:
    """What a quantity is below: the end of its interval of coverage, rounded up to two digits."""
    most = item.value + (item.expanded_uncertainty or 0.0)
    texts = [with_sign(bound_in(item, form), form) for form in forms(kind, units, most)]
    return as_units(units).writing.unresolved.replace("{most}", both(texts))


def bound_in(item: Quantity, form: Form) -> str:
    """The end of a quantity's interval of coverage in one form, without the unit."""
    value = form.value(item.value + (item.expanded_uncertainty or 0.0))
    step = 10.0 ** (math.floor(math.log10(value)) - _BOUND_DIGITS + 1)
    return form.plain(math.ceil(value / step - 1e-9) * step)


#: Digits of a headline: no more than a reader keeps, and no fewer than tell two motors apart.
_MOST_DIGITS, _LEAST_DIGITS = 4, 2
#: Digits of a headline whose uncertainty is not known.
_PLAIN_DIGITS = 3


def headline_figure(item: Quantity, kind: str, units: str) -> str:
    """A quantity as a headline prints it: as many digits as its uncertainty supports, never more than four.

    The last digit printed is that of the uncertainty's first; in both systems the second stands in brackets.
    """
    texts = []
    for form in forms(kind, units, item.value):
        value, spread = form.value(item.value), abs(form.spread(item.expanded_uncertainty or 0.0))
        first = 0 if value == 0.0 else math.floor(math.log10(abs(value)) + 1e-12)
        digits = _PLAIN_DIGITS
        if spread:
            digits = min(_MOST_DIGITS, max(_LEAST_DIGITS, first - math.floor(math.log10(spread) + 1e-12) + 1))
        places = max(0, digits - 1 - first)
        texts.append(with_sign(form.number(round(value, digits - 1 - first), places), form))
    return both(texts)


#: Units that print one way whatever the reader's choice, and no rule of digits but that of a plate.
_AS_THEY_ARE = ("m/s", "N", "kg", "1")
#: Of these, the customary unit beside the SI one, and its size in SI. NIST Special Publication 811 (2008), appendix B.
_BESIDE = {"m/s": ("ft/s", 0.3048), "N": ("lbf", 4.4482216152605)}


def quantity(item: Quantity | None, units: str) -> str:
    """One quantity with its unit by the rule of its kind, or the sign for what is not known."""
    if item is not None and item.unit in _AS_THEY_ARE:
        page = as_units(units)
        texts = [f"{page.plain(item.value)} {item.unit}".removesuffix(" 1")]
        if item.unit in _BESIDE:
            unit, size = _BESIDE[item.unit]
            texts.append(f"{page.plain(item.value / size)} {unit}")
        return {SI: texts[0], US: texts[-1], BOTH: both([texts[0], texts[-1]])}[page]
    return MISSING if item is None else single(item, kind_of(item.unit), units)


def single_in(item: Quantity, form: Form) -> str:
    """One quantity with its unit, in one form."""
    return with_sign(column([item], form)[0], form)


def both(texts: Sequence[str]) -> str:
    """The text in one system, or that of the second in brackets behind the first; equal texts stand once."""
    return texts[0] if len(set(texts)) == 1 else f"{texts[0]} ({texts[1]})"


def with_sign(text: str, form: Form) -> str:
    """A printed number with its unit sign."""
    return f"{text} {form.sign}" if form.sign else text
