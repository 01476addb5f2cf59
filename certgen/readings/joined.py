"""Several files of one test, each with a time of its own, put side by side on the times of one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from certgen.document.build import Reader
from certgen.document.wording import nearest
from certgen.job.columns import CLOCK, WRITTEN_TIMES
from certgen.job.dialect import NEAREST, FileSource, Join
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array, Index, Mask
from certgen.readings.cells import NEEDED
from certgen.readings.model import FileRead, Table
from certgen.readings.time_cells import DAY


@dataclass(frozen=True)
class Part:
    """One file in order: its table, with time from its first sample, and the moment that is."""

    source: FileSource
    table: Table
    start: float
    time_unit: str
    zoned: bool | None
    file_read: FileRead


def join_parts(
    parts: Sequence[Part], how: Join, path: str, reader: Reader
) -> tuple[Table, tuple[FileRead, ...]] | None:
    """The columns of all files on the times of one of them; ``None`` with the problem kept.

    A sample further away than the job allows is none: the cell stays empty, and a row that lacks a column no load
    point can do without is left out and counted.
    """
    base = _base(parts, how, path, reader)
    if base is None or not _same_clock(parts, path, reader) or not _timed(parts, path, reader):
        return None
    columns: dict[str, Array] = dict(base.table.columns)
    at = _moments(base, base)
    kept = np.ones(base.table.rows, dtype=bool)
    files = []
    for part in parts:
        if part is base:
            files.append(replace(part.file_read, joined=Message("joined.base")))
            continue
        added, how_joined = _brought(part, base, at, how)
        columns.update(added)
        files.append(replace(part.file_read, joined=how_joined))
        for name in NEEDED & added.keys():
            kept &= ~np.isnan(added[name])
    if not kept.any():
        what = f"no time of '{base.source.file.name}' has a sample of every other file within {how.within:g} s"
        reader.wrong_at(f"{path}.join", what, "check the clocks, write 'shift:' beside a file, or widen 'within:'")
        return None
    remarks = _remarks(parts, base, at, how)
    if not kept.all():
        lost = int((~kept).sum())
        note = Message("joined.rows_left_out", count=lost, rows=base.table.rows)
        name = base.file_read.file
        files = [replace(file, notes=(*file.notes, note)) if file.file == name else file for file in files]
    rows = np.flatnonzero(kept)
    table = Table(
        {name: values[rows] for name, values in columns.items()}, tuple(remarks[row] for row in rows.tolist())
    )
    return table, tuple(files)


def _base(parts: Sequence[Part], how: Join, path: str, reader: Reader) -> Part | None:
    if how.on is None:
        return parts[0]
    base = next((part for part in parts if part.source.file.name == how.on), None)
    if base is None:
        names = [part.source.file.name for part in parts]
        reader.wrong_at(f"{path}.join.on", f"'{how.on[:60]}' is none of the files", nearest(how.on, names))
    return base


def _same_clock(parts: Sequence[Part], path: str, reader: Reader) -> bool:
    kinds = {part.time_unit if part.time_unit in WRITTEN_TIMES else "a count": part for part in parts}
    zones = {part.zoned for part in parts}
    if len(kinds) == 1 and len(zones) == 1:
        return True
    if len(kinds) > 1:
        listed = ", ".join(f"'{part.source.file.name}' has {kind}" for kind, part in kinds.items())
        what = f"the times of the files are of different kinds: {listed}"
    else:
        what = "the times of some files have a zone, and those of others have none"
    reader.wrong_at(f"{path}.join", what, "give every file times of one kind")
    return False


def _timed(parts: Sequence[Part], path: str, reader: Reader) -> bool:
    """Whether every file has a time in some row."""
    for part in parts:
        if not np.isfinite(part.table.columns["time"]).any():
            what = f"no row of '{part.source.file.name}' has a time"
            reader.wrong_at(f"{path}.join", what, "write the time of each row, or leave the file out")
            return False
    return True


def _moments(part: Part, base: Part) -> Array:
    """Times on the common clock [s]; two clocks on either side of midnight are a day apart at most by reading."""
    start = part.start
    if part.time_unit == CLOCK:
        start += DAY * round((base.start - start) / DAY)
    return part.table.columns["time"] + start + part.source.shift


def _brought(part: Part, base: Part, at: Array, how: Join) -> tuple[dict[str, Array], Message]:
    """The columns of a part at the wanted moments, and what was done."""
    moments = _moments(part, base)
    usable = np.flatnonzero(np.isfinite(moments))
    order = usable[np.argsort(moments[usable], kind="stable")]
    times = moments[order]
    added: dict[str, Array] = {}
    values = {name: column[order] for name, column in part.table.columns.items() if name != "time"}
    if how.by == NEAREST:
        where, near = _nearest(times, at, how.within)
        for name, column in values.items():
            added[name] = np.where(near, column[where], np.nan)
        apart = np.abs(times[where] - at)[near]
        farthest = float(apart.max()) if len(apart) else None
        return added, _how_joined(part, near, Message("joined.nearest", within=how.within), farthest)
    before, after, near = _between(times, at, how.within)
    span = times[after] - times[before]
    weight = np.divide(at - times[before], span, out=np.zeros_like(span), where=span > 0.0)
    for name, column in values.items():
        line = np.where(weight > 0.0, column[before] + (column[after] - column[before]) * weight, column[before])
        added[name] = np.where(near, line, np.nan)
    return added, _how_joined(part, near, Message("joined.line", within=how.within), None)


def _how_joined(part: Part, near: Mask, way: Message, farthest: float | None) -> Message:
    if part.source.shift:
        way = Message("joined.shifted", way=way, shift=part.source.shift)
    count, rows = int(near.sum()), len(near)
    if farthest is None:
        return Message("joined.rows", way=way, count=count, rows=rows)
    return Message("joined.rows_apart", way=way, count=count, rows=rows, farthest=farthest)


def _nearest(times: Array, at: Array, within: float) -> tuple[Index, Mask]:
    """Index of the sample nearest to each moment, and whether it is near enough."""
    after = np.clip(np.searchsorted(times, at), 0, len(times) - 1)
    before = np.maximum(after - 1, 0)
    where = np.where(np.abs(times[before] - at) <= np.abs(times[after] - at), before, after)
    return where, np.abs(times[where] - at) <= within


def _between(times: Array, at: Array, within: float) -> tuple[Index, Index, Mask]:
    """Indices of the samples before and after each moment, and whether a line between them may be drawn."""
    before = np.clip(np.searchsorted(times, at, side="right") - 1, 0, len(times) - 1)
    after = np.clip(before + 1, 0, len(times) - 1)
    exact = times[before] == at
    after = np.where(exact, before, after)
    inside = (times[before] <= at) & (at <= times[after])
    return before, after, inside & (times[after] - times[before] <= within)


def _remarks(parts: Sequence[Part], base: Part, at: Array, how: Join) -> Sequence[str]:
    """Remarks of the one file that has them, those of another file from its nearest sample."""
    owner = next((part for part in parts if any(column.name == "remark" for column in part.source.columns)), base)
    if owner is base:
        return base.table.remarks
    moments = _moments(owner, base)
    usable = np.flatnonzero(np.isfinite(moments))
    order = usable[np.argsort(moments[usable], kind="stable")]
    where, near = _nearest(moments[order], at, how.within)
    texts = owner.table.remarks
    return tuple(texts[order[row]] if good else "" for row, good in zip(where.tolist(), near.tolist(), strict=True))
