"""Messages: what is said of a motor as a key with its values, and the catalogue that has the sentence to each key.

A judgement, a caution, a remark on the method is a :class:`Message`: a key of the catalogue and the values that go into
its places. It becomes words where it is printed, in the language, the units and with the decimal mark of the page.

A place of a sentence stands in braces, ``{torque}``. Behind a colon it may say how its value is written:

``{torque:.4g N·m}``
    A number by one of Python's formats, in that unit, followed by it. The value is in SI. A page in customary units
    prints the same figure with as many digits in the unit that goes with it; other texts in the sentence stay as they are.
    A large or a small figure has a unit of its size (kN·m, mN·m, kW). ``shaft W`` is power at the shaft, in horsepower on
    such a page; ``W`` is what goes in, in watts on any.
``{torque:~3 N·m}``
    The same with so many significant digits, zeros at the end kept.
``{part:.1f %}``
    A ratio in per cent.
``{power:rough}``
    A quantity as a headline has it: as many digits as its uncertainty supports, four at most, without the uncertainty.
``{found:efficiency}``
    A quantity by the rule of a kind, for one whose unit does not tell its kind.
``{shown:.4g}``, ``{shown:~3}``, ``{shown}``
    A number alone; a quantity is followed by the sign of its own unit. Without a form a quantity is printed by the rule
    of its kind.
``{range: to |.0f °C}``
    Several numbers joined by what stands before the bar, the unit once behind them: "10 to 85 °C".
``{names:, }``, ``{names:; }``, ``{names: and }``
    Several texts or messages, joined by what stands behind the colon.
``{title:lower}``, ``{title:capital}``, ``{title:inner}``
    A text in small letters; with a capital first; as it stands within a sentence.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date

from certgen.messages.format import (
    BOTH,
    CUSTOMARY_SIZES,
    KIND_NAMES,
    POINT,
    SI,
    PlateFigures,
    Units,
    as_units,
    headline_figure,
    kind_of,
    number,
    quantity,
    single,
)
from certgen.messages.languages import ENGLISH, Language, catalogue, shipped
from certgen.quantity import Quantity
from certgen.units import conversion

__all__ = ["ENGLISH", "Message", "catalogue", "fill", "places_of", "text_of"]


class Message:
    """What is to be said, in no language yet: a key of the catalogue, and a value for each of its places.

    Two messages are the same where key and values are.
    """

    __slots__ = ("key", "values")
    key: str
    values: Mapping[str, object]

    def __init__(self, key: str, /, **values: object) -> None:
        """A message by its key; ``values`` by the names of its places, quantities in SI."""
        object.__setattr__(self, "key", key)
        object.__setattr__(self, "values", values)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a message does not change: {name}")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Message) and (self.key, self.values) == (other.key, other.values)

    def __hash__(self) -> int:
        return hash((self.key, tuple(sorted((name, repr(value)) for name, value in self.values.items()))))

    def __repr__(self) -> str:
        return f"Message({', '.join([repr(self.key), *(f'{name}={value!r}' for name, value in self.values.items())])})"

    def __reduce__(self) -> tuple[Callable[..., Message], tuple[str, dict[str, object]]]:
        return _made, (self.key, dict(self.values))

    def __str__(self) -> str:
        """The English text in SI units."""
        return text_of(self)


def _made(key: str, values: dict[str, object]) -> Message:
    return Message(key, **values)


#: A place in a sentence, with how its value is written; nothing else in braces means anything.
_PLACE = re.compile(r"\{([a-z_][a-z_0-9]*)(?::([^{}]*))?\}")


def places_of(sentence: str) -> dict[str, str]:
    """The places of a sentence, each with how its value is written (empty where it does not say)."""
    return {name: form or "" for name, form in _PLACE.findall(sentence)}


Fill = Callable[["Message | str"], str]


def text_of(message: Message | str, *, units: str = SI, language: Language | None = None) -> str:
    """A message in words.

    Parameters
    ----------
    message : Message or str
        A text that is no message came from the user, and stays as it is, or from a table that the program ships.
    units : {'si', 'us', 'both'}
        The reader's units, with the writing of the language where they are ``Units``.
    language : Language, optional
        That of the units if left out, or else English.

    Raises
    ------
    KeyError
        The catalogue has no such key, or the message no value for a place: a mistake of the program.
    """
    if isinstance(message, PlateFigures):
        return as_units(units).marked(message)
    said = language or as_units(units).language or shipped()
    if isinstance(message, str):
        return said.known(message)
    sentence = said.sentences[message.key]
    return fill(sentence, message.values, units=units, inner=lambda part: text_of(part, units=units, language=said))


def fill(sentence: str, values: Mapping[str, object], *, units: str = SI, inner: Fill = str) -> str:
    """A sentence with its places filled; ``inner`` puts messages among the values into words."""
    if "{" not in sentence:
        return sentence
    return _PLACE.sub(lambda place: _written(values[place[1]], place[2] or "", units, inner), sentence)


def _written(value: object, form: str, units: str, inner: Fill) -> str:
    """One value as its place asks for it."""
    if isinstance(value, (Message, str)):
        return _cased(inner(value), form)
    if isinstance(value, Quantity):
        return _quantity(value, form, units)
    if isinstance(value, (int, float)):
        return _figure(float(value), form, units) if form else as_units(units).written(str(value))
    if isinstance(value, date):
        return as_units(units).dated(value.isoformat())
    if isinstance(value, (tuple, list)):
        joint, bar, each = form.partition("|")
        return (
            _figures(value, joint, each, units) if bar else form.join(_written(one, "", units, inner) for one in value)
        )
    raise TypeError(f"{value!r} cannot stand in a sentence")


def _cased(text: str, form: str) -> str:
    match form:
        case "lower":
            return text.lower()
        case "capital":
            return text[:1].upper() + text[1:]
        case "inner":
            return text[:1].lower() + text[1:] if text[1:2].islower() or len(text) == 1 else text
    return text


def _quantity(value: Quantity, form: str, units: str) -> str:
    if not form:
        return quantity(value, units)
    if form == "rough":
        return headline_figure(value, kind_of(value.unit), units)
    if form in KIND_NAMES:
        return single(value, form, units)
    spec, _, unit = form.partition(" ")
    own = _SIGNS.get(value.unit, value.unit.replace("*", "·"))
    return _figure(value.value, form if unit else f"{spec} {own}".rstrip(), units)


#: A unit as a sentence prints it: its size in SI, and the customary one by its sign and size. The torque of a large or a
#: small machine, and power, have units of their own size (``_SCALED``).
CUSTOMARY: dict[str, tuple[float, str, float]] = {
    "N·m": (1.0, "lbf·ft", conversion("lbf*ft")[1]),
    "kN·m": (1e3, "lbf·ft", conversion("lbf*ft")[1]),
    "mN·m": (1e-3, "ozf·in", conversion("ozf*in")[1]),
    "kg": (1.0, "lb", conversion("lb")[1]),
    "N": (1.0, "lbf", conversion("lbf")[1]),
    "m": (1.0, "ft", conversion("ft")[1]),
    "mm": (1e-3, "in", conversion("in")[1]),
    "mm/s": (1e-3, "in/s", conversion("in")[1]),
    "m/s²": (1.0, "ft/s²", CUSTOMARY_SIZES["ft/s^2"]),
    "kg·m²": (1.0, "lb·ft²", CUSTOMARY_SIZES["lb*ft^2"]),
    "shaft W": (1.0, "hp", conversion("hp")[1]),
    "shaft kW": (1e3, "hp", conversion("hp")[1]),
}
#: Units in which a sentence prints what is not in that unit inside: its size in SI.
_SIZES = {
    "rpm": math.tau / 60.0,
    "mm": 1e-3,
    "mm/s": 1e-3,
    "mA": 1e-3,
    "min": 60.0,
    "kW": 1e3,
    "hp": conversion("hp")[1],
    "%": 0.01,
    "kΩ": 1e3,
    "MΩ": 1e6,
    "h": 3600.0,
    "kVA": 1e3,
    "kN·m": 1e3,
    "mN·m": 1e-3,
    "shaft kW": 1e3,
}
#: Units that give way to another one for a large or a small figure, where its digits and not its decimals are fixed:
#: from which size in SI up, and the unit.
_SCALED = {
    "N·m": ((1e4, "kN·m"), (0.01, "N·m"), (0.0, "mN·m")),
    "W": ((1e3, "kW"), (0.0, "W")),
    "VA": ((1e3, "kVA"), (0.0, "VA")),
    "shaft W": ((1e3, "shaft kW"), (0.0, "shaft W")),
}
#: Power at the shaft, which a customary page has in horsepower; what goes in is in watts everywhere.
_SHAFT = "shaft "
#: Signs of SI units that a bench reads in another one; a ratio has none.
_SIGNS = {"rad/s": "rpm", "K": "°C", "1": "", "ohm": "Ω"}
#: Figures in sentences are written without the zeros at their end, so a short one is not a rough one.
_LEAST_DIGITS = 3


def _figure(value: float, form: str, units: str) -> str:
    """A number in SI by a format of Python's and the unit it is printed in."""
    spec, _, unit = form.partition(" ")
    page = as_units(units)
    if not unit:
        return page.written(_formatted(value, spec))
    if unit in _SCALED and value and not spec.endswith("f"):
        unit = next(name for least, name in _SCALED[unit] if abs(value) >= least)
    return in_readers_units([_formatted(_shown(value, unit), spec)], "", unit, page)


def _shown(value: float, unit: str) -> float:
    return value - _ICE if unit == "°C" else value / _SIZES.get(unit, 1.0)


#: Zero of the Celsius scale [K], and of the Fahrenheit scale in degrees Celsius; a degree Fahrenheit in kelvins.
_ICE, _COLD, _DEGREE = 273.15, -160.0 / 9.0, 5.0 / 9.0


def _figures(values: Sequence[float], joint: str, form: str, units: str) -> str:
    """Numbers in SI, joined, with the unit they are printed in behind the last."""
    spec, _, unit = form.partition(" ")
    return in_readers_units([_formatted(_shown(one, unit), spec) for one in values], joint, unit, as_units(units))


def in_readers_units(texts: Sequence[str], joint: str, unit: str, page: Units) -> str:
    """Figures printed with a point, and their unit, as the page has them; in both systems the second in brackets."""
    metric = f"{joint.join(map(page.written, texts))} {_sign(unit, page)}"
    if page == SI or (unit not in CUSTOMARY and unit != "°C"):
        return metric
    customary = [page.written(converted(text, unit)) for text in texts]
    other = f"{joint.join(customary)} {'°F' if unit == '°C' else CUSTOMARY[unit][1]}"
    return f"{metric} ({other})" if page == BOTH else other


def _sign(unit: str, page: Units) -> str:
    return page.writing.speed if unit == "rpm" else unit.removeprefix(_SHAFT)


def _formatted(value: float, spec: str) -> str:
    """A number by a format of Python's, or with so many significant digits, zeros kept; a true minus sign."""
    text = significant(value, int(spec[1:])) if spec.startswith("~") else _short(value, spec)
    return text.replace("-", "−")


def _short(value: float, spec: str) -> str:
    """A number by a format of Python's, a power of ten only where its zeros would fill the line."""
    text = format(value, spec)
    if "e" not in text or not 1e-6 <= abs(value) < 1e9:
        return text
    return f"{float(text):+.0f}" if spec.startswith("+") and abs(value) >= 1.0 else significant_of(text)


def significant_of(text: str) -> str:
    """A number written with a power of ten, written out with the same digits."""
    value = float(text)
    return f"{value:.0f}" if abs(value) >= 1.0 else f"{value:.12f}".rstrip("0")


def significant(value: float, digits: int) -> str:
    """A number with so many significant digits and no power of ten, zeros at its end kept."""
    places = max(0, digits - 1 - math.floor(math.log10(abs(value)))) if value else 0
    return f"{value:.{min(places, 6)}f}"


def converted(text: str, unit: str) -> str:
    """A figure printed with a point, in the customary unit, with as many significant digits, at least three; a
    temperature with as many decimals."""
    given = float(text.replace("−", "-"))
    if unit == "°C":
        return number((given - _COLD) / _DEGREE, len(text.partition(POINT)[2]))
    size, _, other = CUSTOMARY[unit]
    value = given * size / other
    digits = max(_LEAST_DIGITS, len(text.lstrip("+−-").replace(POINT, "").lstrip("0")))
    places = 0 if value == 0.0 else max(0, digits - 1 - math.floor(math.log10(abs(value))))
    shown = number(value, min(places, 6))
    return f"+{shown}" if text.startswith("+") and not shown.startswith("−") else shown
