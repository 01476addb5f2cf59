"""The fixed words of a page: built-in English, each overridden by its key in a layout."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import yaml

from certgen.document.build import Reader, join
from certgen.document.vocabulary import Custom, Text
from certgen.sheet.english import ENGLISH
from certgen.sheet.figures import BOTH, SI, Units, as_units, number
from certgen.units import conversion

#: A place in a text where a figure or a name goes; nothing else in braces means anything.
_GAP = re.compile(r"\{([a-z_]+)\}")
_LONGEST = 600
_MOST_PHRASES = 400


@dataclass(frozen=True)
class Words:
    """Texts by key, those of a layout before the built-in ones, and whole phrases of the results in other words."""

    own: Mapping[str, str] = field(default_factory=dict)
    phrases: Mapping[str, str] = field(default_factory=dict)

    def __call__(self, key: str, **values: object) -> str:
        """The text of a key with its gaps filled."""
        text = self.own.get(key) or ENGLISH[key]
        return _GAP.sub(lambda gap: str(values[gap[1]]), text) if values else text

    def known(self, key: str, otherwise: str) -> str:
        """The text of a key, or another where there is none: for names that come from a table."""
        return self(key) if key in ENGLISH else self.phrase(otherwise)

    def phrase(self, text: str) -> str:
        """A whole text of the results in the layout's words, or as it is."""
        return self.phrases.get(text, text)


def gaps(text: str) -> set[str]:
    """The names of the gaps in a text."""
    return set(_GAP.findall(text))


def _read_texts(node: yaml.Node, reader: Reader, path: str) -> dict[str, str] | None:
    """Own texts by key; a key that is not built in, or a gap that the built-in text has not, is a mistake."""
    pairs = reader.pairs(node, path)
    found: dict[str, str] = {}
    for name, (key_node, value_node) in (pairs or {}).items():
        inner = join(path, name)
        if name not in ENGLISH:
            reader.unknown(key_node, inner, name, ENGLISH)
            continue
        text = reader.value(Text(_LONGEST, ENGLISH[name]), value_node, inner)
        strange = sorted(gaps(text or "") - gaps(ENGLISH[name]))
        if strange:
            usable = ", ".join(f"{{{gap}}}" for gap in sorted(gaps(ENGLISH[name]))) or "none"
            what = f"'{{{strange[0]}}}' is no figure that this text can hold"
            reader.wrong(value_node, inner, what, f"use only these: {usable}")
        elif text:
            found[name] = text
    return None if pairs is None else found


def _read_phrases(node: yaml.Node, reader: Reader, path: str) -> dict[str, str] | None:
    pairs = reader.pairs(node, path)
    if pairs is not None and len(pairs) > _MOST_PHRASES:
        reader.wrong(node, path, f"there are {len(pairs)} phrases", f"keep them to {_MOST_PHRASES}")
        return None
    read = {name: reader.value(Text(_LONGEST), value, join(path, name)) for name, (_, value) in (pairs or {}).items()}
    return None if pairs is None else {name: text for name, text in read.items() if text}


def _texts_schema() -> dict[str, Any]:
    properties = {name: {"type": "string", "examples": [text]} for name, text in ENGLISH.items()}
    return {"type": "object", "properties": properties, "additionalProperties": False}


TEXTS = Custom(_read_texts, _texts_schema, "keys with the texts that stand in place of the built-in ones")
PHRASES = Custom(
    _read_phrases,
    lambda: {"type": "object", "additionalProperties": {"type": "string"}},
    "whole texts as results.json has them, each with the text to print instead",
)


# Sentences of the results in the reader's units: figures that stand in them with an SI unit are converted.


#: SI unit in a sentence, as the registry knows it; the customary one as the registry and as the reader knows it.
_PAIRS = {
    "N·m": ("N*m", "lbf*ft", "lbf·ft"),
    "°C": ("degC", "degF", "°F"),
    "kg": ("kg", "lb", "lb"),
    "m": ("m", "ft", "ft"),
    "mm": ("mm", "in", "in"),
}
_FIGURE = re.compile(
    r"(?<![\w.,/])(?P<sign>[+−-]?)(?P<number>\d+(?:\.\d+)?)(?: to (?P<to>\d+(?:\.\d+)?))? "
    r"(?P<unit>N·m|°C|kg|mm|m)(?![\w·/²³-])"
)
#: Figures in sentences are written without the zeros at their end, so a short one is not a rough one.
_LEAST_DIGITS = 3


def in_units(text: str, units: str) -> str:
    """A sentence with every figure in the reader's units; in both systems the second stands in brackets."""
    system = as_units(units)
    if system == SI:
        return text
    return _FIGURE.sub(lambda found: _converted(found, both=system == BOTH), text)


def _converted(found: re.Match[str], *, both: bool) -> str:
    given, wanted, sign = _PAIRS[found["unit"]]
    texts = [_one(found["sign"] + found["number"], given, wanted)]
    if found["to"]:
        texts.append(_one(found["to"], given, wanted))
    customary = f"{' to '.join(texts)} {sign}"
    return f"{found[0]} ({customary})" if both else customary


def _one(text: str, given: str, wanted: str) -> str:
    """A figure in another unit with as many significant digits, at least three; a temperature with as many decimals."""
    _, scale, offset = conversion(given)
    _, other, base = conversion(wanted)
    value = (float(text.replace("−", "-")) * scale + offset - base) / other
    _, _, decimals = text.partition(".")
    if wanted == "degF":
        return number(value, len(decimals))
    digits = max(_LEAST_DIGITS, len(text.lstrip("+−-").replace(".", "").lstrip("0")))
    places = 0 if value == 0.0 else max(0, digits - 1 - math.floor(math.log10(abs(value))))
    shown = number(value, min(places, 6))
    return f"+{shown}" if text.startswith("+") and not shown.startswith("−") else shown


# How the content of any sheet speaks: in the reader's units and the words of the page.


class Voice:
    """What the contents of all sheets have in common; each holds the units and the words."""

    units: str
    words: Words

    @property
    def figures(self) -> Units:
        """The units, with how the page writes figures."""
        return as_units(self.units)

    def says(self, text: str) -> str:
        """A text in the words and units of the page."""
        return in_units(self.words.phrase(text), self.units)

    def outcome(self, outcome: str) -> str:
        """An outcome in the words of the page."""
        return self.words.known(f"outcome.{outcome.replace(' ', '_')}", outcome)
