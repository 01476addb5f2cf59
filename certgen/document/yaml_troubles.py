"""What the YAML parser says of a broken text, put into words for the person who wrote it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import yaml

_QUOTES = "put the value between single quotes"


@dataclass(frozen=True)
class _Trouble:
    """Part of what the parser says, and how it is told; ``at_start`` points at the opening of what is not closed."""

    parser_says: str
    what: str
    instead: str
    at_start: bool = False


_TROUBLES = (
    _Trouble("tab character", "a tab indents this line", "indent with spaces"),
    _Trouble("unexpected end of stream", "the quote opened here is not closed", "close it with the same sign", True),
    _Trouble(
        "expected ',' or",
        "the bracket opened here is not closed, or a comma within it is missing",
        "close it, or write a comma between the entries",
        True,
    ),
    _Trouble(
        "mapping values are not allowed",
        "there is a second ': ' in this value, or the indentation does not fit the line above",
        "put a text with ': ' between quotes, or indent the line like its neighbours",
    ),
    _Trouble("cannot start any token", "'{sign}' cannot begin a value", _QUOTES),
    _Trouble("expected node content", "a value is missing here", "write it, or '~' where nothing was read"),
    _Trouble("nesting depth", "brackets are nested too deep", "write it flatter"),
    _Trouble("undefined alias", "'*' begins an alias, and none of this name is defined", _QUOTES),
    _Trouble("escape", "a backslash between double quotes begins a special sign, and this is none", _QUOTES),
    _Trouble("another document", "'---' begins a second document", "keep one document in a file"),
    _Trouble(
        "could not find expected ':'",
        "this line is no 'key: value'",
        "write a colon and a space after the key, or '- ' before a row of a list",
        True,
    ),
    _Trouble(
        "did not find expected key",
        "this does not fit the lines above it",
        "check the indentation, and quotes within quotes",
    ),
    _Trouble(
        "expected '-' indicator", "this line does not fit the list above it", "begin it with '- ', or indent it less"
    ),
)

#: What YAML lets a text hold (YAML 1.1, 5.1, production c-printable).
_NOT_YAML = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def told(cause: yaml.MarkedYAMLError, text: str) -> tuple[tuple[int, int], str, str]:
    """Place, what is wrong and what to write instead for a text the parser gave up on."""
    said = str(cause.problem or cause.context)
    mark = cause.problem_mark or cause.context_mark
    lines = text.splitlines()
    sign = lines[mark.line][mark.column : mark.column + 1] if mark and mark.line < len(lines) else ""
    if sign == "\t" and "cannot start any token" in said:
        said = "tab character"
    for trouble in _TROUBLES:
        if trouble.parser_says in said:
            if trouble.at_start and cause.context_mark is not None:
                mark = cause.context_mark
            return place_of_mark(mark), trouble.what.replace("{sign}", sign), trouble.instead
    return place_of_mark(mark), f"this is not YAML ({said})", "check indentation, quotes and brackets here"


def told_of_strange_sign(text: str) -> tuple[tuple[int, int], str, str]:
    """The same for a text that holds a sign YAML does not allow at all."""
    found = _NOT_YAML.search(text)
    if found is None:
        return (1, 1), "this is not YAML text", "save the file as plain UTF-8 text"
    line = text.count("\n", 0, found.start()) + 1
    column = found.start() - text.rfind("\n", 0, found.start())
    what = f"the sign U+{ord(found[0]):04X} is not text"
    return (line, column), what, "remove it, and save the file as plain UTF-8 text"


def place_of_mark(mark: Any) -> tuple[int, int]:
    """Line and column of a mark of the parser, counted from 1."""
    return (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
