"""Every language is complete, and each translation was made from the English sentence that stands there now.

A digest of that sentence is stored for each key. Write them anew after looking at what is named, for each language::

    PYTHONPATH=. python tests/translations/test_complete.py de
"""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

import pytest

from certgen.messages.languages import ENGLISH, catalogue, languages, needs_words, own_sentences

HERE = Path(__file__).parent
OTHERS = [language for language in languages() if language != ENGLISH]
#: Hexadecimal digits of SHA-256 that tell a changed sentence.
_DIGITS = 10


def digest(sentence: str) -> str:
    return hashlib.sha256(sentence.encode()).hexdigest()[:_DIGITS]


def stored(language: str) -> dict[str, str]:
    """The digest of the English sentence that each translation was made from, by its key."""
    lines = (HERE / f"{language}.txt").read_text(encoding="utf-8").splitlines()
    return dict(line.split(" ") for line in lines)


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_with_words_is_translated(language: str) -> None:
    own = own_sentences(language)
    assert [key for key, text in catalogue().items() if needs_words(text) and key not in own] == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_translation_is_of_a_sentence_that_has_changed_since(language: str) -> None:
    """What is named here is to be looked at again: its key, and the line to store once it is right."""
    made_from, english = stored(language), catalogue()
    changed = [
        f"{key} {digest(english[key])}" for key in own_sentences(language) if made_from.get(key) != digest(english[key])
    ]
    assert changed == []


def test_a_changed_sentence_has_another_digest() -> None:
    assert digest("the load is back") != digest("the load is back.")
    assert not needs_words("{name}: {figure} ± {spread}")
    assert needs_words("{name} of")


def main() -> None:
    """Store the digests of a language as the English stands now."""
    for language in sys.argv[1:] or OTHERS:
        lines = [f"{key} {digest(catalogue()[key])}" for key in own_sentences(language)]
        (HERE / f"{language}.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
