"""Tables of readings as declared in a job: named columns with units, and rows typed in or a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import yaml

from certgen.document.build import Pairs, Reader, is_blank, join
from certgen.document.schema import key_schemas, kind_schema
from certgen.document.source import Place, place_of
from certgen.document.vocabulary import Custom, Each, Group, Measure, Reference, Whole, key, keys_of
from certgen.job.columns import COLUMNS, Column, ColumnKind, read_columns
from certgen.job.dialect import Dialect, FileSource, Join

# The files of a table as declared: each with its columns and the keys that say how it is written.


MOST_FILES = 20

_SHIFT = Measure("time", difference=True, example="2.5 s")


def read_file_source(
    pairs: Pairs, node: yaml.Node, reader: Reader, path: str, known: Mapping[str, ColumnKind]
) -> FileSource | None:
    """One file with its columns, from the keys of a table or of an entry of ``files``."""
    given = {name: value for name, (_, value) in pairs.items() if not is_blank(value)}
    dialect = reader.group(Dialect, only(tuple(keys_of(Dialect)), pairs, node), path)
    columns = None
    if reader.require("columns", pairs, node, path, "'columns: {speed: rpm, ..}', each column with its unit"):
        reader.places[f"{path}.columns"] = place_of(given["columns"])
        columns = read_columns(given["columns"], reader, f"{path}.columns", known, in_file=True)
    file = reader.value(Reference(), given["file"], f"{path}.file")
    shift = reader.value(_SHIFT, given["shift"], f"{path}.shift") if "shift" in given else 0.0
    if file is None or columns is None or dialect is None or shift is None:
        return None
    return FileSource(path, place_of(node), file, columns, dialect, shift)


def read_files(
    node: yaml.Node, reader: Reader, path: str, known: Mapping[str, ColumnKind]
) -> tuple[FileSource, ...] | None:
    """Several files that are joined on time; entries are counted from 1."""
    if not isinstance(node, yaml.SequenceNode) or not node.value:
        reader.wrong(node, path, "a list of files is needed here", "write one '- {file: .., columns: {..}}' a file")
        return None
    if len(node.value) > MOST_FILES:
        reader.wrong(node, path, f"the list has {len(node.value)} files", f"keep it to {MOST_FILES}")
        return None
    entries = [_entry(item, reader, f"{path}[{number}]", known) for number, item in enumerate(node.value, start=1)]
    sources = tuple(entry for entry in entries if entry is not None)
    if len(sources) < len(entries):
        return None
    return sources if _fit(sources, reader, path.rpartition(".")[0]) else None


def _entry(node: yaml.Node, reader: Reader, path: str, known: Mapping[str, ColumnKind]) -> FileSource | None:
    pairs = reader.pairs(node, path, "write '- {file: .., columns: {..}}'")
    if pairs is None:
        return None
    keys = ("file", "columns", "shift", *keys_of(Dialect))
    for name, (key_node, _) in pairs.items():
        if name not in keys:
            reader.unknown(key_node, join(path, name), name, keys)
    if not reader.require("file", pairs, node, path, "the name of a file, for example 'file: meter.csv'"):
        return None
    return read_file_source(pairs, node, reader, path, known)


def _fit(files: tuple[FileSource, ...], reader: Reader, path: str) -> bool:
    """Whether every file has a time and no other column stands in two of them."""
    good = True
    seen: dict[str, FileSource] = {}
    for file in files:
        names = [column.name for column in file.columns]
        if "time" not in names:
            what = "this file has no column 'time' to be joined on"
            reader.problems.add(reader.shown, file.place, f"{file.path}.columns: {what}", "name it, 'time: s'")
            good = False
        for column in file.columns:
            reader.places.setdefault(f"{path}.columns.{column.name}", column.place)
            if column.name != "time" and column.name in seen:
                what = f"'{column.name}' is already read from '{seen[column.name].file.name}'"
                where = f"{file.path}.columns.{column.name}"
                reader.problems.add(reader.shown, column.place, f"{where}: {what}", "keep one of them")
                good = False
            seen.setdefault(column.name, file)
    return good


def only(names: tuple[str, ...], pairs: Pairs, node: yaml.Node) -> yaml.MappingNode:
    """A mapping of those of its pairs that have one of the names."""
    kept = [pair for name, pair in pairs.items() if name in names]
    return yaml.MappingNode(node.tag, kept, node.start_mark, node.end_mark)


def file_schema(known: Mapping[str, ColumnKind]) -> dict[str, Any]:
    """JSON Schema of a file with its columns."""
    unit = {"type": "string", "description": "unit of the column"}
    spelt_out = {
        "type": "object",
        "properties": {"from": {"type": ["string", "integer"]}, "unit": unit},
        "additionalProperties": False,
    }
    columns = {
        name: {"description": kind.meaning, "anyOf": [unit, {"type": ["integer", "null"]}, spelt_out]}
        for name, kind in known.items()
    }
    return {
        "type": "object",
        "properties": {
            "columns": {"type": "object", "properties": columns, "additionalProperties": False},
            "file": {"type": "string"},
            **key_schemas(Dialect),
        },
        "additionalProperties": False,
    }


def files_schema(known: Mapping[str, ColumnKind]) -> dict[str, Any]:
    """JSON Schema of several files."""
    entry = file_schema(known)
    entry["properties"]["shift"] = {"description": "Added to its times.", **kind_schema(_SHIFT)}
    return {"type": "array", "minItems": 1, "maxItems": MOST_FILES, "items": entry}


# How a continuous log becomes load points: its steady stretches, or a sweep through the curve.


_MOST_PINNED = 200


def _band(example: str) -> Measure:
    return Measure("ratio", above=0.0, high=1.0, example=example)


@dataclass(frozen=True)
class Steady:
    """How steady stretches are found in a log."""

    hold: float | None = key(
        Measure("time", above=0.0, example="5 s"),
        "How long speed and torque must hold; left out: 5 s, or 10 samples where that is longer.",
    )
    speed_band: float | None = key(
        _band("0.5 %"), "Part of its mean by which speed may be off either way; left out: 0.5 %."
    )
    torque_band: float | None = key(
        _band("2 %"),
        "The same for the load on scale or sensor, of at least a fifth of the greatest load; left out: 2 %.",
    )
    at: tuple[tuple[float, float], ...] | None = key(
        Each(Each(Measure("time", low=0.0, example="12 s"), 2), _MOST_PINNED),
        "Stretches taken as they are, each [from, to]; none are searched for then.",
    )


@dataclass(frozen=True)
class Sweep:
    """A run through the torque-speed curve while the load changes slowly."""

    bandwidth: float = key(
        Measure("frequency", above=0.0, high=100.0, example="2 Hz", bounds="more than zero and at most 100 Hz"),
        "Of the low-pass (-3 dB) that torque, speed and its rate of change go through.",
        default=2.0,
    )
    points: int = key(Whole(5, 60), "Load points made of the sweep, spaced evenly along its curve.", default=20)


_MEANT = Measure("time", low=0.0, example="12 s")


def _read_meant(node: yaml.Node, reader: Reader, path: str) -> tuple[tuple[float, float], ...]:
    """The times in which the load was changed on purpose, each from and to [s]; mistakes are kept."""
    instead = "write 'meant: [{from: 12 s, to: 20 s}]'"
    if not isinstance(node, yaml.SequenceNode):
        reader.wrong(node, path, "a list is needed here", instead)
        return ()
    meant = []
    for index, item in enumerate(node.value[:_MOST_PINNED], start=1):
        here = f"{path}[{index}]"
        pairs = reader.pairs(item, here, instead)
        if pairs is None:
            continue
        for name, (key_node, _) in pairs.items():
            if name not in ("from", "to"):
                reader.unknown(key_node, join(here, name), name, ("from", "to"))
        if "from" not in pairs or "to" not in pairs:
            reader.wrong(item, here, "a change of load has a beginning and an end", instead)
            continue
        start, end = (reader.value(_MEANT, pairs[name][1], f"{here}.{name}") for name in ("from", "to"))
        if start is not None and end is not None and not start < end:
            reader.wrong(item, here, "it ends before it begins", instead)
        elif start is not None and end is not None:
            meant.append((start, end))
    return tuple(meant)


def _meant_schema() -> dict[str, Any]:
    time = kind_schema(_MEANT)
    entry = {
        "type": "object",
        "properties": {"from": time, "to": time},
        "required": ["from", "to"],
        "additionalProperties": False,
    }
    what = "Times in which the load of a log was changed on purpose, so that a quick fall is no upset."
    return {"description": what, "type": "array", "maxItems": _MOST_PINNED, "items": entry}


#: Beside 'steady': when the load was changed on purpose.
MEANT = "meant"
#: Keys beside the columns that say how a log is read; at most one of them stands in a table.
LOG_KINDS = {"steady": Steady, "sweep": Sweep}
#: The tables and kinds whose logs are read; elsewhere such a key is recorded only.
EVALUATED_LOGS = frozenset({("readings.load_test", "steady"), ("readings.load_test", "sweep")})


# Tables of readings as declared in a job: named columns with units, and rows typed in or a file.


MOST_ROWS = 5000


@dataclass(frozen=True)
class Cell:
    """One typed value and where it stands."""

    text: str
    place: Place


@dataclass(frozen=True)
class TableSource:
    """A table as declared: exactly one of ``rows`` and ``files`` is given; ``join`` puts several files side by side."""

    path: str
    place: Place
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...] | None = None
    files: tuple[FileSource, ...] = ()
    join: Join | None = None
    steady: Steady | None = None  # a log: its steady stretches are the points
    sweep: Sweep | None = None  # a log of a run through the curve
    meant: tuple[tuple[float, float], ...] = ()  # [s] of a log: here the load was changed on purpose
    also: Any = None  # what stands beside the columns, as the dataclass the table's kind names

    @property
    def names(self) -> frozenset[str]:
        """The names of its columns."""
        return frozenset(column.name for column in self.columns)


def table(known: Mapping[str, ColumnKind] = COLUMNS, also: type | None = None) -> Custom:
    """The kind of a key that holds a table with some of the ``known`` columns.

    ``also`` is a dataclass whose keys may stand beside the columns.
    """

    def read(node: yaml.Node, reader: Reader, path: str) -> TableSource | None:
        return _read_table(node, reader, path, known, also)

    return Custom(read, lambda: _schema(known, also), "columns and their units, and rows or a file", also)


def _read_table(
    node: yaml.Node, reader: Reader, path: str, known: Mapping[str, ColumnKind], also: type | None
) -> TableSource | None:
    pairs = reader.pairs(node, path)
    if pairs is None:
        return None
    beside = () if also is None else tuple(keys_of(also))
    of_a_file = tuple(keys_of(Dialect))
    keys = ("columns", "rows", "file", "files", "join", *LOG_KINDS, MEANT, *beside, *of_a_file)
    for name, (key_node, _) in pairs.items():
        if name not in keys:
            reader.unknown(key_node, join(path, name), name, keys)
    given = {name: value for name, (_, value) in pairs.items() if not is_blank(value)}
    log = {
        name: reader.value(Group(kind), given[name], f"{path}.{name}") if name in given else kind()
        for name, kind in LOG_KINDS.items()
        if name in pairs  # left empty, it asks for the usual bands
    }
    if MEANT in given:
        log[MEANT] = _read_meant(given[MEANT], reader, f"{path}.{MEANT}")
        if log.get("steady") is None:
            reader.wrong(pairs[MEANT][0], join(path, MEANT), "this stands beside 'steady'", "write 'steady: {}' too")
    reader.not_evaluated.extend(
        f"{path}.{name}" for name in LOG_KINDS if name in log and (path, name) not in EVALUATED_LOGS
    )
    sampled = any(name in log for name in LOG_KINDS)
    stated = None if also is None else reader.group(also, only(beside, pairs, node), path)
    kind = _kind(given, pairs, node, reader, path)
    for name in given:
        if (name in of_a_file and kind in ("rows", "files")) or (name == "join" and kind in ("rows", "file")):
            what = "this says how files are joined" if name == "join" else "this says how a file is written"
            reader.wrong(pairs[name][0], join(path, name), what, _WHERE[name == "join"])
    if kind == "files":
        parts = read_files(given["files"], reader, f"{path}.files", known)
        joined = _read_join(pairs, given, node, reader, path)
        if parts is None or joined is None or joined.by is None or joined.within is None:
            return None
        parts = tuple(replace(part, log=sampled) for part in parts)
        columns = tuple({column.name: column for part in parts for column in part.columns}.values())
        return TableSource(
            path,
            place_of(node),
            columns,
            files=tuple(replace(part, log=sampled) for part in parts),
            join=joined,
            **log,
            also=stated,
        )
    if kind == "file":
        source = read_file_source(pairs, node, reader, path, known)
        if source is None:
            return None
        return TableSource(
            path,
            place_of(node),
            source.columns,
            files=(replace(source, log=sampled),),
            **log,
            also=stated,
        )
    columns_ = _typed_columns(pairs, given, node, reader, path, known=known)
    if kind is None or columns_ is None:
        return None
    rows = _read_rows(given["rows"], reader, f"{path}.rows", columns_)
    return None if rows is None else TableSource(path, place_of(node), columns_, rows=rows, **log, also=stated)


#: Where a key of a file belongs, and where one of a join does.
_WHERE = ("write it beside 'file:', or in an entry of 'files:'", "write it beside 'files:'")


def _kind(given: Mapping[str, yaml.Node], pairs: Pairs, node: yaml.Node, reader: Reader, path: str) -> str | None:
    """Which of rows, file and files is given; none or several of them is a mistake."""
    kinds = [name for name in ("rows", "file", "files") if name in given]
    if len(kinds) == 1:
        return kinds[0]
    what = "neither rows nor a file is given" if not kinds else "both rows and a file are given"
    what = "both file and files are given" if kinds == ["file", "files"] else what
    reader.wrong(node, path, what, "write either 'rows:' with lists, or 'file:' with a name")
    return None


def _typed_columns(
    pairs: Pairs,
    given: Mapping[str, yaml.Node],
    node: yaml.Node,
    reader: Reader,
    path: str,
    *,
    known: Mapping[str, ColumnKind],
) -> tuple[Column, ...] | None:
    if not reader.require("columns", pairs, node, path, "'columns: {speed: rpm, ..}', each column with its unit"):
        return None
    reader.places[f"{path}.columns"] = place_of(given["columns"])
    return read_columns(given["columns"], reader, f"{path}.columns", known, in_file=False)


def _read_join(pairs: Pairs, given: Mapping[str, yaml.Node], node: yaml.Node, reader: Reader, path: str) -> Join | None:
    if "columns" in given:
        what = "each of several files has columns of its own"
        reader.wrong(pairs["columns"][0], f"{path}.columns", what, "write them in the entries of 'files:'")
    if not reader.require("join", pairs, node, path, "'join: {by: nearest, within: 0.5 s}'"):
        return None
    join: Join | None = reader.value(Group(Join), given["join"], f"{path}.join")
    return join


def _read_rows(
    node: yaml.Node, reader: Reader, path: str, columns: tuple[Column, ...]
) -> tuple[tuple[Cell, ...], ...] | None:
    if not isinstance(node, yaml.SequenceNode):
        reader.wrong(node, path, "a list of rows is needed here", "write one line '- [..]' a row")
        return None
    if not node.value:
        reader.wrong(node, path, "the table is empty", "write at least one row '- [..]'")
        return None
    if len(node.value) > MOST_ROWS:
        reader.wrong(node, path, f"the table has {len(node.value)} rows", f"put more than {MOST_ROWS} into a file")
        return None
    rows = []
    for row in node.value:
        if not isinstance(row, yaml.SequenceNode) or not all(isinstance(item, yaml.ScalarNode) for item in row.value):
            reader.wrong(row, path, "a row is a list of plain values", f"write {_row_example(columns)}")
        elif len(row.value) != len(columns):
            count = "1 value" if len(row.value) == 1 else f"{len(row.value)} values"
            what = f"the row has {count} for {len(columns)} columns"
            reader.wrong(row, path, what, f"write {_row_example(columns)}")
        else:
            rows.append(tuple(Cell(str(item.value), place_of(item)) for item in row.value))
    return tuple(rows)


def _row_example(columns: tuple[Column, ...]) -> str:
    names = ", ".join(column.name for column in columns)
    return f"one value for each column, [{names}], commas between, a point in a decimal"


def _schema(known: Mapping[str, ColumnKind], also: type | None) -> dict[str, Any]:
    logs = {
        name: {"type": "object", "properties": key_schemas(kind), "additionalProperties": False}
        for name, kind in LOG_KINDS.items()
    }
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            "rows": {"type": "array", "minItems": 1, "items": {"type": "array"}},
            **file_schema(known)["properties"],
            "files": files_schema(known),
            "join": {"type": "object", "properties": key_schemas(Join), "additionalProperties": False},
            **logs,
            MEANT: _meant_schema(),
            **({} if also is None else key_schemas(also)),
        },
    }
