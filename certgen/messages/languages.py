"""The languages: to each a catalogue of sentences by key, and how it writes figures and dates."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
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
    """The sentences of a language by their keys; what it does not have, or has with other places, is said in English."""
    english = own_sentences(ENGLISH)
    return english if language == ENGLISH else completed(own_sentences(language))


def completed(own: Mapping[str, str]) -> dict[str, str]:
    """A sentence to every key: the own one where it has the places of the English one, else that."""
    english = own_sentences(ENGLISH)
    return {key: _fitting(own.get(key, sentence), sentence) for key, sentence in english.items()}


def _fitting(own: str, english: str) -> str:
    return own if set(_NAME.findall(own)) == set(_NAME.findall(english)) else english


#: A place of a sentence by its name.
_NAME = re.compile(r"\{([a-z_][a-z_0-9]*)")


#: Keys of titles of shipped layouts and of texts in shipped tables: what stands there in English is said by the key.
_BY_ENGLISH = ("title.", "table.")


@dataclass(frozen=True)
class Language:
    """A language of pages and terminal: its tag (BCP 47) and a sentence to every key, English where it has none."""

    tag: str
    sentences: Mapping[str, str] = field(repr=False)

    @cached_property
    def writing(self) -> Writing:
        """How it writes figures and dates."""
        return writing_of(self.sentences)

    @cached_property
    def _known(self) -> Mapping[str, str]:
        english = catalogue()
        return {english[key]: self.sentences[key] for key in english if key.startswith(_BY_ENGLISH)}

    def known(self, text: str) -> str:
        """A text that the program ships in English, such as the clause of a standard, or its title with the edition in
        brackets; any other as it is."""
        title, bracket, edition = text.rpartition(" (")
        if bracket and title in self._known:
            return f"{self._known[title]} ({edition}"
        return self._known.get(text, text)


@cache
def shipped(tag: str = ENGLISH) -> Language:
    """A language that comes with the program."""
    return Language(tag, catalogue(tag))


def needs_words(sentence: str) -> bool:
    """Whether a sentence has words of its own, and not only places and signs."""
    return any(sign.isalpha() for sign in _IN_BRACES.sub("", sentence))


_IN_BRACES = re.compile(r"\{[^{}]*\}")
