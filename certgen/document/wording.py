"""The words of error messages: what may stand in a place, and the known word nearest to an unknown one."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Any

from certgen.document import vocabulary as v
from certgen.units import DIMENSIONS

_LONGEST_WORD = 60
_MOST_WORDS = 30


def nearest(name: str, known: Iterable[str]) -> str:
    """Advice for an unknown word: the closest known one, or all of them."""
    names = [short(one) for one in known]
    close = difflib.get_close_matches(short(name), names, n=1, cutoff=0.6)
    if close:
        return f"did you mean '{close[0]}'"
    return "known here: " + ", ".join(names[:_MOST_WORDS]) + (", .." if len(names) > _MOST_WORDS else "")


def short(word: str) -> str:
    """A word of the user's cut to a length a message can carry."""
    return word if len(word) <= _LONGEST_WORD else word[:_LONGEST_WORD] + ".."


def says(kind: Any, name: str = "") -> str:
    """What to write for a kind, in words with an example."""
    match kind:
        case v.Text():
            return f"text, for example '{kind.example}'"
        case v.Choice():
            return "one of: " + ", ".join(kind.options)
        case v.Whole():
            steps = f" in steps of {kind.step}" if kind.step > 1 else ""
            return f"a whole number from {kind.low} to {kind.high}{steps}"
        case v.Measure():
            example = kind.example or DIMENSIONS[kind.dimension][1]
            warm = kind.dimension == "temperature" and kind.above == 0.0
            bounds = "above absolute zero" if warm and not kind.bounds else kind.bounds
            bounds = bounds and f", {bounds}"
            unit = (
                "a number or a percentage" if kind.dimension == "ratio" else f"a number with a unit of {kind.dimension}"
            )
            return f"{unit}{bounds}, for example '{example}'"
        case v.MeasureOf():
            examples = " or ".join(f"'{DIMENSIONS[name][1]}'" for name in kind.dimensions)
            return f"a number with its unit, for example {examples}"
        case v.Toleranced():
            return says(kind.measure)
        case v.Day():
            return "a date such as 2026-03-14"
        case v.Reference():
            return f"the name of a file, for example '{kind.example}'"
        case v.Each():
            return f"a list of {says(kind.kind)}"
        case v.Custom():
            return f"'{name}:' with {kind.says}" if name else kind.says
        case v.Group():
            keys = v.keys_of(kind.of)
            wanted = [key for key, field in keys.items() if field.metadata["required"]] or list(keys)[:3]
            return f"'{name}:' with {', '.join(wanted)} below it" if name else f"keys such as {', '.join(wanted)}"
        case _:
            raise TypeError(f"no words for kind {kind!r}")
