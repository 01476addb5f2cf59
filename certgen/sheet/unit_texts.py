"""Sentences of the results in the reader's units: figures that stand in them with an SI unit are converted."""

from __future__ import annotations

import math
import re

from certgen.sheet.figures import BOTH, SI, as_units, number
from certgen.units import conversion

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
