"""All tables of a job, typed or from files, in SI."""

from __future__ import annotations

from certgen.document.build import Dimensioned, Reader
from certgen.document.references import find, shown_name
from certgen.document.source import Place, read_bounded
from certgen.job.load import LoadedJob, digest
from certgen.job.model import ReadingsSource
from certgen.job.table import TableSource
from certgen.readings.cells import tabulate
from certgen.readings.delimited import MOST_BYTES, read_file
from certgen.readings.logged import check_log
from certgen.readings.model import COOLING, Readings, Table, Zero

_RUN_DOWNS = ("run_down", "run_down_braked")
_OTHER_TABLES = ("no_load", "locked_rotor", "heat_run", *_RUN_DOWNS)


def read_readings(loaded: LoadedJob) -> Readings | None:
    """Every table of the job; mistakes go to the job's problems, and ``None`` means the load test is unusable."""
    source = loaded.job.readings
    if not isinstance(source, ReadingsSource):
        return None
    inputs: dict[str, str] = {}
    others = {}
    for name in _OTHER_TABLES:
        table = _table(getattr(source, name), loaded.reader, loaded, inputs)
        if table is not None:
            others[name] = table
        if name in _RUN_DOWNS and table is not None:
            check_log(getattr(source, name), table, loaded.reader)
    cooling = _table(_cooling(source), loaded.reader, loaded, inputs)
    if cooling is not None:
        others[COOLING] = cooling
    envelope = brake_envelope(loaded, inputs)
    load_test = _table(source.load_test, loaded.reader, loaded, inputs)
    if load_test is None:
        return None
    if source.load_test is not None and source.load_test.sweep is not None:
        check_log(source.load_test, load_test, loaded.reader)
    zero = Zero(_value(source.zero_before), _value(source.zero_after))
    zero_2 = Zero(_value(source.zero_before_2), _value(source.zero_after_2))
    return Readings(load_test, zero, zero_2, others, inputs, brake_envelope=envelope)


def brake_envelope(loaded: LoadedJob, inputs: dict[str, str] | None = None) -> Table | None:
    """Most torque the absorber holds by speed, where the rig states it; mistakes go to the job's problems.

    The digest of its file, where it has one, goes to ``inputs``.
    """
    return _table(loaded.rig.brake_envelope, loaded.rig_reader, loaded, {} if inputs is None else inputs)


def _cooling(source: ReadingsSource) -> TableSource | None:
    hot = source.winding.hot if source.winding is not None else None
    return None if hot is None else hot.series


def _value(zero: Dimensioned | None) -> float | None:
    return None if zero is None else zero.value


def _table(source: TableSource | None, reader: Reader, loaded: LoadedJob, inputs: dict[str, str]) -> Table | None:
    """A table declared in the file of ``reader``, the job or its rig."""
    if source is None:
        return None
    if source.rows is not None:
        return _typed(source, reader)
    assert source.file is not None  # a table has rows or a file
    path = find(source.file, reader, loaded.folder, f"{source.path}.file")
    if path is None:
        return None
    shown = shown_name(reader, source.file)
    data = read_bounded(path, shown, reader.problems, MOST_BYTES)
    if data is None:
        return None
    inputs[source.file.name] = digest(data)
    return read_file(source, path, data, shown, reader.problems)


def _typed(source: TableSource, reader: Reader) -> Table | None:
    rows = source.rows
    if not rows:
        return None

    def place_of(row: int, column: int) -> Place:
        return rows[row][column].place

    texts = [[cell.text for cell in row] for row in rows]
    return tabulate(source.columns, texts, place_of, reader.shown, reader.problems, log=source.steady is not None)
