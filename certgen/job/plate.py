"""Values of a nameplate as punched: one value with its unit, fractions of a horsepower, and two values side by side."""

from __future__ import annotations

import re

import yaml

from certgen.document.build import Reader
from certgen.document.schema import kind_schema
from certgen.document.vocabulary import Custom, Measure
from certgen.document.wording import says

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_UNIT = r"[A-Za-zµΩ%°]+"
#: Two values or more: '230/400 V', '5.8 A / 3.34 A', '220-240 V', '208-230/460 V'. The unit may stand behind each, before a
#: slash, and may be left out behind the last.
_VALUES = re.compile(
    rf"{_NUMBER}(?:(?:\s*{_UNIT})?\s*/\s*{_NUMBER}|\s*[-–]\s*{_NUMBER})+\s*(?P<unit>[^\s0-9/-].*|1/min)?"
)
_ONE = re.compile(_NUMBER)
_FRACTION = re.compile(r"(?P<top>[0-9]+)/(?P<bottom>[0-9]+)\s*(?P<unit>[A-Za-z]+)")
#: A whole number and a fraction with a hyphen between them, as plates have it: '1-1/2 HP'.
_MIXED = re.compile(r"(?P<whole>[0-9]+)-(?P<fraction>[0-9]+/[0-9]+\s*(?P<unit>[A-Za-z]+))")
_HORSEPOWER = ("hp", "ps", "cv", "horsepower")
#: Denominators of the fractions of a horsepower that do not begin with 1 on plates: 3/4, 3/8, 5/16.
_PARTED = (4, 8, 16)
_LONGEST = 80

_APPARENT = {"VA": "W", "kVA": "kW"}
_VOLT_AMPERES = re.compile(r"(?P<number>[^A-Za-z]*)(?P<unit>[A-Za-z]+)")


def values_written(text: str) -> tuple[str, ...]:
    """The values of a plate that has several in one place, each with its unit.

    Parameters
    ----------
    text : str
        As punched, such as '230/400 V'.

    Returns
    -------
    tuple of str
        Such as ('230 V', '400 V'); empty where there is one value, or none that can be told. A fraction of a
        horsepower is one value: '1/2 hp', '3/4 hp', '1 1/2 hp', '1-1/2 hp'. Common practice, no source.
    """
    plain = text.strip()
    match = _VALUES.fullmatch(plain) if len(plain) <= _LONGEST else None
    if match is None or is_fraction(plain) or _mixed(plain) is not None:
        return ()
    unit = (match["unit"] or "").strip()
    numbers = plain[: match.start("unit")] if match["unit"] else plain
    return tuple(f"{number} {unit}".strip() for number in _ONE.findall(numbers))


def is_fraction(text: str) -> bool:
    """Whether a text such as '1/2 hp' can be nothing but a part of a horsepower."""
    match = _FRACTION.fullmatch(text.strip())
    if match is None or match["unit"].lower() not in _HORSEPOWER:
        return False
    top, bottom = int(match["top"]), int(match["bottom"])
    return top <= 1 or (bottom in _PARTED and top % 2 == 1 and top < bottom)


def _mixed(text: str) -> str | None:
    """'1-1/2 hp' as '1 1/2 hp'; ``None`` for any other text."""
    match = _MIXED.fullmatch(text)
    if match is None or match["unit"].lower() not in _HORSEPOWER:
        return None
    return f"{match['whole']} {match['fraction']}"


def plate_value(measure: Measure) -> Custom:
    """The kind of a plate's value: a quantity, for which two values in one place are a mistake of their own."""

    def read(node: yaml.Node, reader: Reader, path: str) -> float | None:
        return _read(measure, node, reader, path)

    return Custom(read, lambda: kind_schema(measure), says(measure))


def _read(measure: Measure, node: yaml.Node, reader: Reader, path: str) -> float | None:
    if isinstance(node, yaml.ScalarNode):
        values = values_written(str(node.value))
        if values:
            _several(values, node, reader, path)
            return None
        spelt = _mixed(str(node.value).strip()) if measure.dimension == "power" else None
        node = node if spelt is None else _respelt(node, spelt)
    found: float | None = reader.value(measure, node, path)
    return found


def _several(values: tuple[str, ...], node: yaml.Node, reader: Reader, path: str) -> None:
    count = "two values" if len(values) == 2 else f"{len(values)} values"
    choice = ", ".join(f"'{one}'" for one in values[:-1]) + f" or '{values[-1]}'"
    what = f"'{str(node.value).strip()[:40]}' is {count}, and the motor was tested on one of them"
    reader.wrong(node, path, what, f"write the one it was connected for, {choice}")


def _respelt(node: yaml.ScalarNode, text: str) -> yaml.ScalarNode:
    return yaml.ScalarNode(node.tag, text, node.start_mark, node.end_mark, node.style)


def apparent_power(example: str) -> Custom:
    """The kind of an apparent power, written in VA or kVA and kept in volt-amperes."""
    measure = Measure("power", above=0.0, example=example, bounds="more than zero")
    told = f"a number with the unit VA or kVA, more than zero, for example '{example}'"

    def read(node: yaml.Node, reader: Reader, path: str) -> float | None:
        if not isinstance(node, yaml.ScalarNode):
            reader.wrong(node, path, "one value is needed here", f"write {told}")
            return None
        text = str(node.value).strip()
        values = values_written(text)
        match = _VOLT_AMPERES.fullmatch(text)
        if values:
            _several(values, node, reader, path)
            return None
        if match is None or match["unit"] not in _APPARENT:
            reader.wrong(node, path, f"'{text[:40]}' is no apparent power", f"write {told}")
            return None
        plain = f"{match['number']}{_APPARENT[match['unit']]}"
        found: float | None = reader.value(measure, _respelt(node, plain), path)
        return found

    def schema() -> dict[str, object]:
        return {"type": ["string"], "examples": [example], "title": told}

    return Custom(read, schema, told)
