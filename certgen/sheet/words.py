"""The words of a page: those of its language, each overridden by its key in a layout."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import yaml

from certgen.document.build import Reader, join
from certgen.document.vocabulary import Custom, Text
from certgen.messages.catalogue import Message, fill, places_of, text_of
from certgen.messages.format import SI, PlateFigures, Units, as_units
from certgen.messages.languages import Language, catalogue, shipped

#: What follows a key whose sentence is another one on a page: how far a source is confirmed stands in the results alone.
ON_PAGE = ".on_page"
_LONGEST = 600
_MOST_PHRASES = 400


@dataclass(frozen=True)
class Words:
    """Texts by key, those of a layout before those of the language, and whole phrases of the results in other words.

    Attributes
    ----------
    own, phrases : mapping
        Of the layout.
    language : Language
        Of the page.
    units : Units or str
        The reader's units, and how the page writes figures.
    """

    own: Mapping[str, str] = field(default_factory=dict)
    phrases: Mapping[str, str] = field(default_factory=dict)
    language: Language = field(default_factory=shipped)
    units: str = SI

    def sentence(self, key: str) -> str:
        """The sentence of a key with its places empty: the layout's own, else the language's, for a page where that says
        less than the results do."""
        sentences = self.language.sentences
        return self.own.get(key) or sentences.get(f"{key}{ON_PAGE}") or sentences[key]

    def __call__(self, key: str, **values: object) -> str:
        """The text of a key with its places filled."""
        sentence = self.sentence(key)
        return fill(sentence, values, units=self.units, inner=self.message) if values else sentence

    def joined(self, parts: Iterable[str]) -> str:
        """Parts of one list as the language sets them apart: with a blank before the semicolon in French."""
        return self.sentence("writing.joint").join(parts)

    def known(self, key: str, otherwise: str) -> str:
        """The text of a key, or another where there is none: for names that come from a table."""
        return self(key) if key in self.language.sentences else self.phrase(otherwise)

    def message(self, message: Message | str) -> str:
        """A message in the words and units of the page; a text that is none came from a user's file, and stays."""
        if isinstance(message, PlateFigures):
            return as_units(self.units).marked(message)
        if isinstance(message, str):
            return self.phrase(message)
        english = text_of(message) if self.phrases else ""
        if english in self.phrases:
            return self.phrases[english]
        return self(message.key, **message.values)

    def phrase(self, text: str) -> str:
        """A whole text of the results in the layout's words, or in those of the language where the program ships it."""
        return self.phrases.get(text) or self.language.known(text)


def _read_texts(node: yaml.Node, reader: Reader, path: str) -> dict[str, str] | None:
    """Own texts by key; a key that is not built in, or a gap that the built-in text has not, is a mistake."""
    pairs = reader.pairs(node, path)
    found: dict[str, str] = {}
    for name, (key_node, value_node) in (pairs or {}).items():
        inner = join(path, name)
        if name not in catalogue():
            reader.unknown(key_node, inner, name, catalogue())
            continue
        text = reader.value(Text(_LONGEST, catalogue()[name]), value_node, inner)
        usable = places_of(catalogue()[name])
        strange = sorted(places_of(text or "").keys() - usable.keys())
        if strange:
            shown = ", ".join(f"{{{place}}}" for place in sorted(usable)) or "none"
            what = f"'{{{strange[0]}}}' is no figure that this text can hold"
            reader.wrong(value_node, inner, what, f"use only these: {shown}")
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
    properties = {name: {"type": "string", "examples": [text]} for name, text in catalogue().items()}
    return {"type": "object", "properties": properties, "additionalProperties": False}


TEXTS = Custom(_read_texts, _texts_schema, "keys with the texts that stand in place of the built-in ones")
PHRASES = Custom(
    _read_phrases,
    lambda: {"type": "object", "additionalProperties": {"type": "string"}},
    "whole texts as results.json has them, each with the text to print instead",
)


def capital(text: str) -> str:
    """A text that begins a sentence."""
    return text[:1].upper() + text[1:]


# How the content of any sheet speaks: in the reader's units and the words of the page.


class Voice:
    """What the contents of all sheets have in common; each holds the units and the words."""

    units: str
    words: Words

    def __post_init__(self) -> None:
        """The words print figures as the content does, in the language that goes with its units where those have one."""
        language = as_units(self.units).language or self.words.language
        object.__setattr__(self, "words", replace(self.words, units=self.units, language=language))

    @property
    def figures(self) -> Units:
        """The units, with how the page writes figures."""
        return as_units(self.units)

    def dated(self, iso: str) -> str:
        """A date as in ISO 8601, as the page writes it."""
        return self.figures.dated(iso)

    def says(self, text: Message | str) -> str:
        """A message, or a text that is none, in the words and units of the page."""
        return self.words.message(text)

    def outcome(self, outcome: str) -> str:
        """An outcome in the words of the page."""
        return self.words.known(f"outcome.{outcome.replace(' ', '_')}", outcome)
