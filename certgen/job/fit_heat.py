"""Whether the tables of a heat run and of a cooling winding hold what can be judged."""

from __future__ import annotations

from collections.abc import Callable

from certgen.job.model import ReadingsSource
from certgen.job.table import TableSource

Note = Callable[[str, str, str], None]

_TEMPERATURES = ("winding_temperature", "frame_temperature")


def check_heat(readings: ReadingsSource, note: Note) -> None:
    """Keep what is missing from the heat run and the cooling series; ``note(path, what, instead)`` keeps it."""
    heat_run = readings.heat_run
    if heat_run is not None:
        _need(heat_run, "time", "time: min", note)
        if not heat_run.names & set(_TEMPERATURES):
            what = "a heat run needs a column 'frame_temperature' or 'winding_temperature'"
            note(f"{heat_run.path}.columns", what, "name one with its unit, for example 'frame_temperature: degC'")
    hot = readings.winding.hot if readings.winding is not None else None
    if hot is not None and hot.series is not None:
        _need(hot.series, "time", "time: s", note)
        _need(hot.series, "winding_resistance", "winding_resistance: ohm", note)


def _need(source: TableSource, name: str, example: str, note: Note) -> None:
    if name not in source.names:
        what = f"the column '{name}' is missing"
        note(f"{source.path}.columns", what, f"name it with its unit, for example '{example}'")
