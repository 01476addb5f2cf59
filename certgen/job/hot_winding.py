"""Winding resistance after switching off: one reading, or a table of readings over time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import yaml

from certgen.document.build import Reader
from certgen.document.schema import kind_schema
from certgen.document.vocabulary import Custom, Group, Measure, key
from certgen.job.columns import COLUMNS
from certgen.job.table import TableSource, table

_AMBIENT = Measure("temperature", above=0.0, example="23 degC")
#: Columns of the table; its time counts from switching off.
COOLING_COLUMNS = {
    "time": replace(COLUMNS["time"], meaning="time since switching off"),
    "winding_resistance": replace(COLUMNS["winding_resistance"], evaluated=True),
    "remark": COLUMNS["remark"],
}


@dataclass(frozen=True)
class _Beside:
    """What stands beside the table."""

    ambient: float | None = key(_AMBIENT, "Temperature of the room then.")


@dataclass(frozen=True)
class HotWinding:
    """Winding resistance after the test; ``series`` holds the table, and then ``resistance`` is absent."""

    resistance: float | None = key(
        Measure("resistance", above=0.0, bounds="more than zero"), "Resistance between terminals.", required=True
    )
    after: float | None = key(Measure("time", low=0.0), "Time since switching off.")
    ambient: float | None = key(_AMBIENT, "Temperature of the room then.")
    series: TableSource | None = None


_SINGLE = Group(HotWinding)
_SERIES = table(COOLING_COLUMNS, _Beside)


def _read(node: yaml.Node, reader: Reader, path: str) -> HotWinding | None:
    keys = node.value if isinstance(node, yaml.MappingNode) else []
    if not any(pair[0].value in ("columns", "rows", "file", "files") for pair in keys):
        return reader.group(HotWinding, node, path)
    source: TableSource | None = reader.value(_SERIES, node, path)
    return None if source is None else HotWinding(ambient=source.also and source.also.ambient, series=source)


def _schema() -> dict[str, Any]:
    return {"anyOf": [kind_schema(_SINGLE), kind_schema(_SERIES)]}


HOT_WINDING = Custom(
    _read,
    _schema,
    "resistance and after; or a table, for example "
    "'{columns: {time: s, winding_resistance: ohm}, rows: [[30, 4.92], ..], ambient: 23 degC}'",
    HotWinding,
)
