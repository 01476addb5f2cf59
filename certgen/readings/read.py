"""All tables of a job, typed or from files, in SI."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.document.build import Dimensioned, Reader
from certgen.document.references import find, shown_name
from certgen.document.source import Place, digest, read_bounded
from certgen.job.consistency import scale_mismatch
from certgen.job.dialect import FileSource
from certgen.job.load import LoadedJob
from certgen.job.model import ReadingsSource
from certgen.job.rig import Rig
from certgen.job.table import TableSource
from certgen.readings.cells import Notation, tabulate
from certgen.readings.model import COOLING, FileRead, Readings, Table, Zero
from certgen.readings.times import HOW_TO_GO_ON, check_log, check_points, put_in_order

if TYPE_CHECKING:  # a table typed in needs nothing of what reads files
    from certgen.readings.delimited import LoadedFile
    from certgen.readings.joined import Part

_WORKBOOK_ENDINGS = (".xlsx", ".ods")
_TEXT_ENDINGS = (".csv", ".txt", ".tsv", ".dat", ".asc", ".log")
_RUN_DOWNS = ("run_down", "run_down_braked")
_OTHER_TABLES = ("no_load", "locked_rotor", "heat_run", *_RUN_DOWNS)


def read_readings(loaded: LoadedJob) -> Readings | None:
    """Every table of the job; mistakes go to the job's problems, and ``None`` means the load test is unusable."""
    source = loaded.job.readings
    if not isinstance(source, ReadingsSource):
        return None
    room = Room(loaded.folder, loaded.rig)
    others = {}
    for name in _OTHER_TABLES:
        table = room.table(getattr(source, name), loaded.reader)
        if table is not None:
            others[name] = table
        if name in _RUN_DOWNS and table is not None:
            check_log(getattr(source, name), table, loaded.reader)
        elif table is not None:
            check_points(getattr(source, name), table, loaded.reader)
    cooling = room.table(_cooling(source), loaded.reader)
    if cooling is not None:
        others[COOLING] = cooling
    envelope = room.table(loaded.rig.brake_envelope, loaded.rig_reader)
    load_test = room.table(source.load_test, loaded.reader)
    if load_test is None:
        return None
    if source.load_test is not None and source.load_test.sweep is not None:
        check_log(source.load_test, load_test, loaded.reader)
    check_points(source.load_test, load_test, loaded.reader)
    zero = Zero(_value(source.zero_before), _value(source.zero_after))
    zero_2 = Zero(_value(source.zero_before_2), _value(source.zero_after_2))
    return Readings(load_test, zero, zero_2, others, room.inputs, brake_envelope=envelope, files=tuple(room.files))


def brake_envelope(loaded: LoadedJob, inputs: dict[str, str] | None = None) -> Table | None:
    """Most torque the absorber holds by speed, where the rig states it; mistakes go to the job's problems.

    The digest of its file, where it has one, goes to ``inputs``.
    """
    room = Room(loaded.folder, loaded.rig, {} if inputs is None else inputs)
    return room.table(loaded.rig.brake_envelope, loaded.rig_reader)


def _cooling(source: ReadingsSource) -> TableSource | None:
    hot = source.winding.hot if source.winding is not None else None
    return None if hot is None else hot.series


def _value(zero: Dimensioned | None) -> float | None:
    return None if zero is None else zero.value


def read_table(source: TableSource, reader: Reader, folder: Path) -> Table | None:
    """One table declared in the file of ``reader``, whose files are named as seen from a folder."""
    return Room(folder, Rig()).table(source, reader)


@dataclass(frozen=True)
class Room:
    """Reads the tables of one job; keeps the digests of their files and what was found in them."""

    folder: Path
    rig: Rig
    inputs: dict[str, str] = field(default_factory=dict)
    files: list[FileRead] = field(default_factory=list)

    def table(self, source: TableSource | None, reader: Reader) -> Table | None:
        """A table declared in the file of ``reader``, the job or its rig."""
        if source is None:
            return None
        if source.rows is not None:
            return _typed(source, reader)
        parts = [self._part(file, reader) for file in source.files]
        read_parts = [part for part in parts if part is not None]
        if not read_parts or len(read_parts) < len(parts):
            return None
        if source.join is None:
            self.files.extend(part.file_read for part in read_parts)
            return read_parts[0].table
        from certgen.readings.joined import join_parts

        joined = join_parts(read_parts, source.join, source.path, reader)
        if joined is None:
            return None
        self.files.extend(joined[1])
        return joined[0]

    def _part(self, source: FileSource, reader: Reader) -> Part | None:
        """One file, its rows in the order of time."""
        from certgen.readings.joined import Part

        path = find(source.file, reader, self.folder, f"{source.path}.file")
        if path is None:
            return None
        shown = shown_name(reader, source.file)
        read = self._file(source, path, shown, reader)
        if read is None or not self._fits_scale(read, source, reader):
            return None
        if "time" not in read.table.columns:
            return Part(source, read.table, 0.0, "", None, read.file_read)
        ordered = put_in_order(read.table, read.time_unit, read.zoned, source.dialect.backwards)
        if ordered.stays_back is not None:
            what = f"the time goes back in row {ordered.stays_back + 1} of the numbers and stays back"
            reader.problems.add(shown, (0, 0), what, HOW_TO_GO_ON)
            return None
        file_read = replace(read.file_read, notes=(*read.file_read.notes, *ordered.notes))
        return Part(source, ordered.table, ordered.start, read.time_unit, read.zoned, file_read)

    def _file(self, source: FileSource, path: Path, shown: str, reader: Reader) -> LoadedFile | None:
        """A file by the ending of its name; its digest is kept."""
        ending = path.suffix.lower()
        if ending in _WORKBOOK_ENDINGS:
            from certgen.readings.workbook import MOST_BYTES, read_workbook

            data = read_bounded(path, shown, reader.problems, MOST_BYTES)
            if data is None:
                return None
            self.inputs[source.file.name] = digest(data)
            return read_workbook(source, data, shown, reader)
        if ending not in _TEXT_ENDINGS:
            what = f"a readings file ending in '{path.suffix[:10]}' cannot be read"
            instead = "save it as delimited text, for example load_test.csv, or as a workbook, .xlsx or .ods"
            reader.problems.add(shown, (0, 0), what, instead)
            return None
        from certgen.readings.delimited import read_text_table
        from certgen.readings.text_file import read_text

        text = read_text(path, shown, reader.problems, source.dialect.encoding)
        if text is None:
            return None
        file, data = text
        with _digest_meanwhile(data, long=not file.whole) as hashed:
            read = read_text_table(source, file, reader)
            self.inputs[source.file.name] = hashed()
        return read

    def _fits_scale(self, read: LoadedFile, source: FileSource, reader: Reader) -> bool:
        """Whether scale columns whose unit came from the file are what the rig's scale reads."""
        scale = self.rig.scale
        reads = scale.reads if scale else None
        good = True
        for column in source.columns:
            unit = read.file_read.units.get(column.name, "")
            mismatch = None if column.unit or not unit else scale_mismatch(column.name, unit, reads)
            if mismatch is not None:
                reader.wrong_at(f"{source.path}.columns.{column.name}", *mismatch)
                good = False
        return good


@contextlib.contextmanager
def _digest_meanwhile(data: bytes, *, long: bool) -> Iterator[Callable[[], str]]:
    """The digest of a file's bytes, that of a long one taken while it is read."""
    if not long:
        yield lambda: digest(data)
        return
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(1) as pool:
        yield pool.submit(digest, data).result


def _typed(source: TableSource, reader: Reader) -> Table | None:
    rows = source.rows
    if not rows:
        return None

    def place_of(row: int, column: int) -> Place:
        return rows[row][column].place

    texts = [[cell.text for cell in row] for row in rows]
    notation = Notation.of(source.columns, log=source.steady is not None)
    table = tabulate(source.columns, texts, place_of, reader.shown, reader.problems, notation=notation)
    if notation.time is None:
        return table
    ordered = put_in_order(table, notation.time.kind, notation.time.zoned, None)
    late = ordered.first_late if ordered.stays_back is None else ordered.stays_back
    if late is not None:
        at = next(index for index, column in enumerate(source.columns) if column.name == "time")
        place = rows[late][at].place
        reader.problems.add(reader.shown, place, "this time is before that of a row above", "put the rows in order")
        return None
    return ordered.table
