"""A language of the shop's own: one file with a sentence to each key, read with every mistake reported."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from certgen.document.build import Reader
from certgen.document.source import Problems, decode, parse, read_bounded
from certgen.document.vocabulary import Text
from certgen.errors import Problem
from certgen.messages.catalogue import places_of
from certgen.messages.languages import Language, catalogue, completed, is_sample, needs_words

#: Signs of one sentence.
_LONGEST = 2000
_TAG, _NUMBER = "writing.language", "writing.number"
#: A language tag. Source: BCP 47 (RFC 5646), its usual forms.
LANGUAGE_TAG = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}")


def load_language(path: Path, shown: str, problems: Problems) -> Language | None:
    """A file as a language, or ``None`` with every mistake kept. What it does not have is said in English."""
    data = read_bounded(path, shown, problems)
    if data is None:
        return None
    language, mistakes = _read(data, shown, path.parent)
    problems.found.extend(mistakes)
    return language


@lru_cache(maxsize=8)
def _read(data: bytes, shown: str, folder: Path) -> tuple[Language | None, tuple[Problem, ...]]:
    """A language and the mistakes in its file; many jobs use one."""
    problems = Problems()
    text = decode(data, shown, problems)
    root = None if text is None else parse(text, shown, problems)
    own = None if root is None else _sentences(root, Reader(shown, folder, problems))
    if own is None or problems.found:
        return None, tuple(problems.found)
    return Language(own[_TAG], completed(own)), ()


def _sentences(root: yaml.Node, reader: Reader) -> dict[str, str] | None:
    pairs = reader.pairs(root, "")
    english, found = catalogue(), dict[str, str]()
    for name, (key_node, value_node) in (pairs or {}).items():
        if name not in english:
            reader.unknown(key_node, name, name, english)
            continue
        text = reader.value(Text(_LONGEST, english[name]), value_node, name)
        if text and _fits(name, text, value_node, reader):
            found[name] = text
    if pairs is not None and _TAG not in pairs:
        reader.wrong_at(_TAG, "the language does not say which it is", f"write its tag, for example '{_TAG}: pt'")
    return None if pairs is None else found


def _fits(name: str, text: str, node: yaml.Node, reader: Reader) -> bool:
    """Whether a sentence has the places of the English one, and what is written in a fixed form has that form."""
    usable, given = places_of(catalogue()[name]), places_of(text)
    shown = ", ".join(f"{{{place}}}" for place in sorted(usable)) or "none"
    if strange := sorted(given.keys() - usable.keys()):
        reader.wrong(node, name, f"'{{{strange[0]}}}' is no figure that this text can hold", f"use only these: {shown}")
    elif absent := sorted(usable.keys() - given.keys()):
        reader.wrong(node, name, f"'{{{absent[0]}}}' is missing", f"use all of these: {shown}")
    elif name == _TAG and not LANGUAGE_TAG.fullmatch(text):
        reader.wrong(node, name, f"'{text[:40]}' is no language tag", "write for example 'pt' or 'pt-BR'")
    elif name == _NUMBER and not is_sample(text):
        what = f"'{text[:40]}' does not show how a number is written"
        reader.wrong(node, name, what, "write 12345.6 with the marks of the language, for example '12 345,6'")
    else:
        return True
    return False


def is_language(path: Path) -> bool:
    """Whether a file is a language and no layout: it says which one it is."""
    try:
        return re.search(rf"^{re.escape(_TAG)}\s*:", path.read_text(encoding="utf-8"), re.MULTILINE) is not None
    except (OSError, UnicodeDecodeError):
        return False


def untranslated(language: Language) -> tuple[str, ...]:
    """Keys whose sentence is the English one, though it has words of its own."""
    return tuple(key for key, text in catalogue().items() if needs_words(text) and language.sentences[key] == text)


def language_schema() -> dict[str, Any]:
    """The JSON Schema of a language's file: every key with the English sentence to translate."""
    properties = {name: {"type": "string", "examples": [text]} for name, text in catalogue().items()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "language of certificates",
        "type": "object",
        "properties": properties,
        "required": [_TAG],
        "additionalProperties": False,
    }
