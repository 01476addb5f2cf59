"""Times of a table put in order and counted from its first row, and whether a log over time can be used."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from certgen.document.build import Reader
from certgen.job.columns import CLOCK, MINUTES, STAMP
from certgen.job.dialect import CONTINUE, SORT
from certgen.job.table import MOST_ROWS, TableSource
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array, Index, Mask
from certgen.readings.model import NoRemarks, Table
from certgen.readings.time_cells import DAY, HOUR


def moment_text(seconds: float, kind: str, zoned: bool | None) -> str:
    """A moment as the clock showed it."""
    if kind == CLOCK:
        whole = int(seconds)
        return f"{whole // 3600:02}:{whole // 60 % 60:02}:{whole % 60:02}"
    if not math.isfinite(seconds):
        return "?"
    shown = datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M:%S")
    return f"{shown} UTC" if zoned else shown


# Times of a log put in order: midnight passed, stamps that repeat or go back, gaps; each is counted and reported.


#: A step of the clock back by more than this part of a day is midnight; of an hour, where no hours are shown, the next one.
_TURN = 0.5
#: So many samples in a row below the latest time are a clock set back, not late arrivals.
_STAYS_BACK = 10
#: A pause is an interval longer than this many usual ones.
_PAUSE = 5.0
#: Fewer intervals than these have no usual one.
_FEWEST_INTERVALS = 8
_UNEQUAL = 0.01
#: So many intervals, spread over the log, tell the usual one.
_ENOUGH = 100_000


@dataclass(frozen=True)
class Ordered:
    """A table whose time does not go back, what was found and done, and the moment its time counts from.

    ``first_late`` is the first row (from 0) with an earlier time than one before it, ``stays_back`` the row (from 0) at
    which the time goes back and stays there, where nobody said what that means.
    """

    table: Table
    notes: tuple[Message, ...] = ()
    start: float = 0.0
    first_late: int | None = None
    stays_back: int | None = None


def put_in_order(table: Table, kind: str, zoned: bool | None, backwards: str | None) -> Ordered:
    """Make a table's time count from its first sample and never go back.

    Parameters
    ----------
    table : Table
        Its column ``time`` in seconds as read: a count, seconds since midnight, or since 1970.
    kind : str
        ``clock``, ``stamp``, ``mm:ss``, or the unit of a plain count; the last two keep their zero.
    zoned : bool or None
        Whether stamps have a zone, for the notes.
    backwards : str or None
        ``sort``, ``continue``, or ``None`` where the job does not say.
    """
    time = table.columns["time"]
    known = np.isfinite(time)
    if not known.any():
        return Ordered(table)
    notes: list[Message] = []
    if kind in _TURNS:
        time = _past_turns(time, kind, notes)
    first_late = None
    steps = np.diff(time if known.all() else time[known])
    repeated, back = int((steps == 0.0).sum()), int((steps < 0.0).sum())
    if repeated:
        notes.append(_counted("repeated", repeated))
    if back:
        late = time < np.maximum.accumulate(np.where(known, time, -np.inf))
        first_late = int(np.flatnonzero(late)[0])
        stays = _first_long_run(late)
        if stays is not None and backwards is None:
            return Ordered(table, stays_back=stays)
        if backwards == CONTINUE:
            time = _carried_on(time, notes)
        else:
            order = np.argsort(_filled(time), kind="stable")
            table, time = _taken(table, order), time[order]
            notes.append(_counted("sorted", int(late.sum())))
        steps = np.diff(time[np.isfinite(time)])
    start = float(np.nanmin(time)) if kind in (CLOCK, STAMP) else 0.0
    if kind in (CLOCK, STAMP):
        notes.insert(0, Message("times.start", moment=moment_text(start, kind, zoned)))
    notes.extend(_spacing(steps if not (repeated or back) else steps[steps > 0.0]))
    ordered = replace(table, columns={**table.columns, "time": time - start if start else time})
    return Ordered(ordered, tuple(notes), start, first_late)


def _counted(what: str, count: int, **values: float) -> Message:
    """What was found so many times; found once, it has a sentence of its own."""
    return Message(f"times.{what}_once", **values) if count == 1 else Message(f"times.{what}", count=count, **values)


#: After how long a clock begins anew, and the key of what is said then.
_TURNS = {CLOCK: (DAY, "times.midnight"), MINUTES: (HOUR, "times.full_hour")}


def _past_turns(time: Array, kind: str, notes: list[Message]) -> Array:
    """Seconds since the midnight, or the full hour, before the first sample."""
    turn, key = _TURNS[kind]
    if np.nanmax(time) >= turn:
        return time  # hours that run on beyond 23 are no time of day, minutes beyond 59 no clock without hours
    filled = _filled(time)
    steps = np.diff(filled, prepend=filled[:1])
    turns: NDArray[np.int_] = np.cumsum(steps < -_TURN * turn) - np.cumsum(steps > _TURN * turn)
    if turns.any():
        notes.append(Message(key))
    return time + turn * turns


def _filled(time: Array) -> Array:
    """Each unknown time as the last known one before it."""
    known = np.isfinite(time)
    last = np.maximum.accumulate(np.where(known, np.arange(len(time)), -1))
    first = time[known][0]
    return np.where(last < 0, first, time[np.maximum(last, 0)])


def _first_long_run(late: Mask) -> int | None:
    """Where the first run of more than a few rows out of order begins."""
    edges = np.diff(np.concatenate(([0], late.astype(int), [0])))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    long = begins[ends - begins > _STAYS_BACK]
    return int(long[0]) if len(long) else None


def _carried_on(time: Array, notes: list[Message]) -> Array:
    """The time with each step back replaced by the usual interval."""
    filled = _filled(time)
    steps = np.diff(filled)
    back = steps < 0.0
    usual = float(np.median(steps[~back])) if (~back).any() else 0.0
    offset = np.concatenate(([0.0], np.cumsum(np.where(back, usual - steps, 0.0))))
    notes.append(_counted("set_back", int(back.sum()), interval=usual))
    return time + offset


def _taken(table: Table, order: Index) -> Table:
    columns = {name: values[order] for name, values in table.columns.items()}
    remarks = tuple(table.remarks[row] for row in order.tolist()) if table.remarked else NoRemarks(table.rows)
    return Table(columns, remarks)


def _spacing(steps: Array) -> Iterator[Message]:
    """Unequal sampling and pauses, from the intervals between samples."""
    if len(steps) < _FEWEST_INTERVALS:
        return
    usual = float(np.median(steps[:: 1 + len(steps) // _ENOUGH]))
    longest = float(steps.max())
    even = steps
    if longest > _PAUSE * usual:
        even = steps[steps <= _PAUSE * usual]
        pauses = int((steps > _PAUSE * usual).sum())
        yield _counted("pauses", pauses, part=_PAUSE, usual=usual, longest=longest)
    if float(even.max() - even.min()) > _UNEQUAL * usual:
        yield Message("times.unequal", shortest=float(even.min()), longest=float(even.max()))


#: What to write where the time stays back.
HOW_TO_GO_ON = (
    f"write 'backwards: {SORT}' beside the file if its rows are out of order, "
    f"or 'backwards: {CONTINUE}' if the clock was set back"
)


# Whether logs over time can be used: times that rise, and often enough for the low-pass of a sweep.


#: Rows fewer than this tell no fall of speed.
_LEAST_ROWS = 2
#: Part of the steps between rows that may be too long; the sweep has gaps there and no points.
_LONG_STEPS = 0.1


def check_points(source: TableSource | None, table: Table, reader: Reader) -> None:
    """Keep it as a mistake that a long log is taken for single readings, each of which would be computed by itself."""
    if source is not None and source.steady is None and source.sweep is None and table.rows > MOST_ROWS:
        what = f"the file has {table.rows} rows, and each would be a reading of its own"
        instead = f"give at most {MOST_ROWS}, or write 'steady:' below a load test that is a log"
        reader.wrong_at(source.path, what, instead)


def check_log(source: TableSource, table: Table | None, reader: Reader) -> None:
    """Keep what is wrong with the times of a sweep or a run-down."""
    if table is None or "time" not in table.columns:
        return
    time, path = table.column("time"), f"{source.path}.columns.time"
    if not np.isfinite(time).all():
        row = int(np.flatnonzero(~np.isfinite(time))[0]) + 1
        reader.wrong_at(path, f"row {row} has no time", "give every row its time, or leave the row out")
    elif not (np.diff(time) > 0.0).all():
        row = int(np.flatnonzero(np.diff(time) <= 0.0)[0]) + 2
        what = f"the time of row {row} is not later than that of the row before"
        reader.wrong_at(path, what, "put the rows into the order of their times, each time once")
    elif table.rows < _LEAST_ROWS:
        reader.wrong_at(source.path, "one row shows no change of speed", "give at least two rows")
    elif source.sweep is not None and source.sweep.bandwidth is not None:  # else reported already
        _check_rate(source, table, reader)


def _check_rate(source: TableSource, table: Table, reader: Reader) -> None:
    from certgen.physics.smoothing import longest_step

    assert source.sweep is not None  # the caller has seen it
    bandwidth = source.sweep.bandwidth
    steps, longest = np.diff(table.column("time")), longest_step(bandwidth)
    if np.mean(steps > longest * (1.0 + 1e-9)) <= _LONG_STEPS:
        return
    usual = float(np.quantile(steps, 1.0 - _LONG_STEPS))
    what = f"{bandwidth:g} Hz needs a row every {longest:.2g} s, and the log has one every {usual:.2g} s"
    most = longest_step(1.0) / usual
    instead = f"write a bandwidth of {most:.2g} Hz or less, and sweep slowly enough for it"
    reader.wrong_at(f"{source.path}.sweep.bandwidth", what, instead)
