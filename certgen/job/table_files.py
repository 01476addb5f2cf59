"""The files of a table as declared: each with its columns and the keys that say how it is written."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import yaml

from certgen.document.build import Pairs, Reader, is_blank, join
from certgen.document.schema import key_schemas, kind_schema
from certgen.document.source import place_of
from certgen.document.vocabulary import Measure, Reference, keys_of
from certgen.job.columns import ColumnKind
from certgen.job.dialect import Dialect, FileSource
from certgen.job.table_columns import read_columns

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
    found = tuple(entry for entry in entries if entry is not None)
    if len(found) < len(entries):
        return None
    return found if _fit(found, reader, path.rpartition(".")[0]) else None


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
    one = file_schema(known)
    one["properties"]["shift"] = {"description": "Added to its times.", **kind_schema(_SHIFT)}
    return {"type": "array", "minItems": 1, "maxItems": MOST_FILES, "items": one}
