"""The languages: to each a catalogue of sentences by key, and how it writes figures and dates."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

ENGLISH = "en"

#: The figure by which a language shows how it writes numbers.
_SAMPLE = re.compile(r"12(\D?)345(\D)6")


@dataclass(frozen=True)
class Writing:
    """How a language writes figures and dates; the built-in ones are those of English.

    Attributes
    ----------
    mark : str
        Before the decimals.
    thousands : str
        Between groups of three digits, in figures of five digits and more; empty where there is none.
    speed : str
        The sign of revolutions a minute.
    date : str
        A date, with the places ``year``, ``month`` and ``day``.
    unresolved : str
        A value smaller than its own uncertainty, with the place ``most``.
    """

    mark: str = "."
    thousands: str = ""
    speed: str = "rpm"
    date: str = "{year}-{month}-{day}"
    unresolved: str = "below {most}, not resolved"

    def dated(self, iso: str) -> str:
        """A date as in ISO 8601, or a text that is none, as the language writes it."""
        year, month, day = (*iso.split("-"), "", "")[:3]
        if not (year.isdecimal() and month.isdecimal() and day.isdecimal()):
            return iso
        return self.date.replace("{year}", year).replace("{month}", month).replace("{day}", day)


IN_ENGLISH = Writing()


def writing_of(sentences: Mapping[str, str]) -> Writing:
    """How a language writes figures, by its own texts.

    ``writing.number`` shows the decimal mark and what stands between thousands on the figure 12345.6.
    """
    shown = _SAMPLE.fullmatch(sentences["writing.number"])
    thousands, mark = shown.groups() if shown else ("", ".")
    return Writing(
        mark,
        thousands,
        sentences["writing.speed_unit"],
        sentences["writing.date"],
        sentences["writing.not_resolved"],
    )


def is_sample(text: str) -> bool:
    """Whether a text shows how numbers are written: 12345.6 with the marks of the language."""
    return _SAMPLE.fullmatch(text) is not None


@cache
def languages() -> tuple[str, ...]:
    """The languages that come with the program, by their tags."""
    folder = resources.files("certgen.messages")
    return tuple(sorted(file.name.removesuffix(".yaml") for file in folder.iterdir() if file.name.endswith(".yaml")))


@cache
def own_sentences(language: str) -> Mapping[str, str]:
    """The sentences that a language itself has, by their keys."""
    import yaml

    text = resources.files("certgen.messages").joinpath(f"{language}.yaml").read_text(encoding="utf-8")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    sentences: dict[str, str] = yaml.load(text, Loader=loader)
    return sentences


@cache
def catalogue(language: str = ENGLISH) -> Mapping[str, str]:
    """The sentences of a language by their keys; what it does not have is said in English."""
    english = own_sentences(ENGLISH)
    if language == ENGLISH:
        return english
    own = own_sentences(language)
    return {key: own.get(key, sentence) for key, sentence in english.items()}
