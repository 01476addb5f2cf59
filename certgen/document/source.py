"""A YAML text as a tree of nodes with places, read within bounds and without constructing objects."""

from __future__ import annotations

import codecs
import hashlib
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from certgen.errors import MOST_REPORTED, Problem

# What the YAML parser says of a broken text, put into words for the person who wrote it.


_QUOTES = "put the value between single quotes"


@dataclass(frozen=True)
class _Trouble:
    """Part of what the parser says, and how it is reported; ``at_start`` points at the opening of what is not closed."""

    parser_says: str
    what: str
    instead: str
    at_start: bool = False


_TROUBLES = (
    _Trouble("tab character", "a tab indents this line", "indent with spaces"),
    _Trouble("unexpected end of stream", "the quote opened here is not closed", "close it with the same quote", True),
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
    _Trouble("escape", "a backslash between double quotes begins a special character, and this is none", _QUOTES),
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


def reported(cause: yaml.MarkedYAMLError, text: str) -> tuple[tuple[int, int], str, str]:
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
    what = f"the character U+{ord(found[0]):04X} is not text"
    return (line, column), what, "remove it, and save the file as plain UTF-8 text"


def place_of_mark(mark: Any) -> tuple[int, int]:
    """Line and column of a mark of the parser, counted from 1."""
    return (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)


# A YAML text as a tree of nodes with places, read within bounds and without constructing objects.


#: Never makes objects; the C one, where PyYAML was built with libyaml, is ten times as fast.
LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

#: Bounds on one YAML file: a job of forty points with every key takes about 10 kB and 6 levels.
MOST_BYTES = 1_000_000
MOST_DEPTH = 20
MOST_ALIASES = 50

Place = tuple[int, int]


@dataclass
class Problems:
    """Collects every mistake met while reading one job and the files it names, up to one more than are reported.

    ``read`` keeps the bytes of each file read, by its name in messages: what a certificate encloses is what was read.
    """

    found: list[Problem] = field(default_factory=list)
    read: dict[str, bytes] = field(default_factory=dict)

    def add(self, file: str, place: Place, what: str, instead: str) -> None:
        """Keep one mistake; ``place`` is line and column, counted from 1, or (0, 0) for the whole file."""
        if len(self.found) <= MOST_REPORTED:
            self.found.append(Problem(file, place[0], place[1], what, instead))


def place_of(node: yaml.Node) -> Place:
    """Line and column of a node, counted from 1."""
    return place_of_mark(node.start_mark)


def read_bounded(path: Path, shown: str, problems: Problems, most: int = MOST_BYTES) -> bytes | None:
    """The bytes of an ordinary file no larger than ``most``, or ``None`` with the problem kept."""
    try:
        if not path.exists():
            problems.add(shown, (0, 0), "there is no such file", "give the name of an existing file")
        elif not path.is_file():
            problems.add(shown, (0, 0), "this is not an ordinary file", "give the name of a file")
        elif path.stat().st_size > most:
            problems.add(
                shown,
                (0, 0),
                f"the file is larger than {most // 1000} kB",
                "split it or shorten it to what was measured",
            )
        else:
            problems.read[shown] = path.read_bytes()
            return problems.read[shown]
    except (OSError, ValueError) as cause:
        reason = getattr(cause, "strerror", None) or str(cause)
        problems.add(shown, (0, 0), f"the file cannot be read ({reason})", "check its name and permissions")
    return None


def decode(data: bytes, shown: str, problems: Problems) -> str | None:
    """Text of a UTF-8 file (a byte-order mark is dropped), or ``None`` with the problem kept."""
    data = data.removeprefix(codecs.BOM_UTF8)
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as cause:
        before = data[: cause.start].decode("utf-8")
        place = (before.count("\n") + 1, len(before) - before.rfind("\n"))
        what = f"the byte 0x{data[cause.start]:02X} is not UTF-8 text"
        problems.add(shown, place, what, "save the file as UTF-8")
        return None


def parse(text: str, shown: str, problems: Problems) -> yaml.MappingNode | None:
    """The root mapping of a YAML text, or ``None`` with the problem kept."""
    try:
        if not _within_bounds(text, shown, problems):
            return None
        root = yaml.compose(text, Loader=LOADER)
    except yaml.MarkedYAMLError as cause:
        problems.add(shown, *reported(cause, text))
        return None
    except (yaml.YAMLError, ValueError):
        problems.add(shown, *told_of_strange_sign(text))
        return None
    if root is None:
        problems.add(shown, (1, 1), "the file is empty", "write lines such as 'name: value'")
    elif not isinstance(root, yaml.MappingNode):
        problems.add(shown, place_of(root), "the file holds no keys with values", "write lines such as 'name: value'")
    return root if isinstance(root, yaml.MappingNode) else None


def _within_bounds(text: str, shown: str, problems: Problems) -> bool:
    depth = aliases = 0
    anchored: list[int] = []  # depths of the open nodes that carry an anchor
    for event in yaml.parse(text, Loader=LOADER):
        place = place_of_mark(event.start_mark)
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
            if event.anchor:
                anchored.append(depth)
            if depth > MOST_DEPTH:
                problems.add(shown, place, f"nested deeper than {MOST_DEPTH} levels", "write it flatter")
                return False
        elif isinstance(event, yaml.CollectionEndEvent):
            if anchored and anchored[-1] == depth:
                anchored.pop()
            depth -= 1
        elif isinstance(event, yaml.AliasEvent):
            aliases += 1
            if anchored or aliases > MOST_ALIASES:
                problems.add(shown, place, "aliases within aliases, or too many of them", "write the values out")
                return False
        tag = getattr(event, "tag", None)
        if tag is not None and not (isinstance(event, yaml.ScalarEvent) and tag == "!"):
            spelt = str(tag).replace("tag:yaml.org,2002:", "!!")[:40]
            problems.add(shown, place, f"the tag '{spelt}' is not allowed", "write the plain value")
            return False
    return True


# The digest by which a file is known again, whatever it is called and wherever it lies.


def digest(data: bytes) -> str:
    """SHA-256 of bytes, in hexadecimal digits (FIPS 180-4)."""
    return hashlib.sha256(data).hexdigest()
