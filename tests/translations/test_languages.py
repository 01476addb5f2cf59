"""Every language has the places of the English sentences, and writes figures, dates and speeds its own way."""

from __future__ import annotations

import re
from importlib import resources

import pytest

from certgen.messages.catalogue import Message, places_of, text_of
from certgen.messages.format import Units
from certgen.messages.languages import (
    ENGLISH,
    Writing,
    catalogue,
    is_sample,
    languages,
    own_sentences,
    shipped,
    writing_of,
)
from certgen.quantity import Quantity

OTHERS = [language for language in languages() if language != ENGLISH]


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_has_no_key_and_no_place_that_english_has_not(language: str) -> None:
    own, english = own_sentences(language), catalogue()
    assert sorted(own.keys() - english.keys()) == []
    wrong = {key: text for key, text in own.items() if places_of(text).keys() != places_of(english[key]).keys()}
    assert wrong == {}


@pytest.mark.parametrize("language", OTHERS)
def test_a_figure_has_the_digits_and_the_unit_of_the_english_sentence(language: str) -> None:
    """A joint between several names is the language's own; how a number is rounded and in what unit is not."""

    def rule(form: str) -> str:
        return form.partition("|")[2] or (form if re.match(r"[+.~\dg]|rough", form) else "")

    english, wrong = catalogue(), {}
    for key, text in own_sentences(language).items():
        forms, own = places_of(english[key]), places_of(text)
        if any(rule(own[place]) != rule(form) for place, form in forms.items()):
            wrong[key] = text
    assert wrong == {}


@pytest.mark.parametrize("language", OTHERS)
def test_no_key_stands_twice_in_a_language(language: str) -> None:
    text = resources.files("certgen.messages").joinpath(f"{language}.yaml").read_text(encoding="utf-8")
    keys = re.findall(r"^([a-z][a-z_0-9.]*):", text, re.MULTILINE)
    assert sorted(keys) == sorted(own_sentences(language))


def test_english_writes_as_the_built_in_rules_say() -> None:
    assert writing_of(catalogue()) == Writing()


@pytest.mark.parametrize("language", languages())
def test_a_language_shows_how_it_writes(language: str) -> None:
    sentences = catalogue(language)
    assert is_sample(sentences["writing.number"])
    assert sentences["writing.language"] == language
    assert shipped(language).writing.mark in ".,"


@pytest.mark.skipif("de" not in languages(), reason="no German here")
def test_german_is_written_as_din_5008_has_it() -> None:
    """Comma before decimals, a narrow blank between thousands from five digits on, day before month."""
    units = Units("si", writing=shipped("de").writing)
    message = Message("headline.most", torque=Quantity(12.4, "N*m", 0.02), speed=Quantity(147.45, "rad/s"))
    assert text_of(message, units=units, language=shipped("de")) == (
        "Höchstes geprüftes Drehmoment: 12,400 ± 0,020 N·m bei 1408 min⁻¹."
    )
    assert units.dated("2026-03-14") == "14.03.2026"
    assert units.number(12345.6, 1) == "12\u202f345,6"


def test_a_text_that_the_program_ships_is_known_and_no_other() -> None:
    language = shipped(OTHERS[0]) if OTHERS else shipped()
    assert language.known("Pump contract, 25 m cable") == "Pump contract, 25 m cable"
    clause = "12.1, breakdown torque of induction motors"
    assert (language.known(clause) != clause) is bool(OTHERS)
