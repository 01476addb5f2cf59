"""Times of a log put in order: midnight passed, stamps that repeat or go back, gaps; each is counted and told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from certgen.job.dialect import CONTINUE, SORT
from certgen.job.table_columns import CLOCK, STAMP
from certgen.readings.model import Array, NoRemarks, Table
from certgen.readings.times import DAY, told_moment

#: A step of the clock this far back is midnight.
_MIDNIGHT = 0.5 * DAY
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
    notes: tuple[str, ...] = ()
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
        ``clock``, ``stamp``, or the unit of a plain count, which keeps its zero.
    zoned : bool or None
        Whether stamps have a zone, for the telling.
    backwards : str or None
        ``sort``, ``continue``, or ``None`` where the job does not say.
    """
    time = table.columns["time"]
    known = np.isfinite(time)
    if not known.any():
        return Ordered(table)
    notes: list[str] = []
    if kind == CLOCK:
        time = _past_midnight(time, notes)
    first_late = None
    steps = np.diff(time if known.all() else time[known])
    repeated, back = int((steps == 0.0).sum()), int((steps < 0.0).sum())
    if repeated:
        notes.append(f"{_rows(repeated)} the time of the row before")
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
            notes.append(f"{_rows(int(late.sum()))} an earlier time than a row before; rows are sorted by time")
        steps = np.diff(time[np.isfinite(time)])
    start = float(np.nanmin(time)) if kind in (CLOCK, STAMP) else 0.0
    if kind in (CLOCK, STAMP):
        notes.insert(0, f"time counts from {told_moment(start, kind, zoned)}")
    notes.extend(_spacing(steps if not (repeated or back) else steps[steps > 0.0]))
    ordered = replace(table, columns={**table.columns, "time": time - start if start else time})
    return Ordered(ordered, tuple(notes), start, first_late)


def _rows(count: int) -> str:
    return "1 row has" if count == 1 else f"{count} rows have"


def _past_midnight(time: Array, notes: list[str]) -> Array:
    """Seconds since the midnight before the first sample."""
    if np.nanmax(time) >= DAY:
        return time  # hours that run on beyond 23 are no time of day
    filled = _filled(time)
    steps = np.diff(filled, prepend=filled[:1])
    days: NDArray[np.int_] = np.cumsum(steps < -_MIDNIGHT) - np.cumsum(steps > _MIDNIGHT)
    if days.any():
        notes.append("the clock passes midnight")
    return time + DAY * days


def _filled(time: Array) -> Array:
    """Each unknown time as the last known one before it."""
    known = np.isfinite(time)
    last = np.maximum.accumulate(np.where(known, np.arange(len(time)), -1))
    first = time[known][0]
    return np.where(last < 0, first, time[np.maximum(last, 0)])


def _first_long_run(late: NDArray[np.bool_]) -> int | None:
    """Where the first run of more than a few rows out of order begins."""
    edges = np.diff(np.concatenate(([0], late.astype(int), [0])))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    long = begins[ends - begins > _STAYS_BACK]
    return int(long[0]) if len(long) else None


def _carried_on(time: Array, notes: list[str]) -> Array:
    """The time with each step back replaced by the usual interval."""
    filled = _filled(time)
    steps = np.diff(filled)
    back = steps < 0.0
    usual = float(np.median(steps[~back])) if (~back).any() else 0.0
    offset = np.concatenate(([0.0], np.cumsum(np.where(back, usual - steps, 0.0))))
    notes.append(f"the clock was set back {_times(int(back.sum()))}; the time goes on from there by {usual:.4g} s")
    return time + offset


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _taken(table: Table, order: NDArray[np.intp]) -> Table:
    columns = {name: values[order] for name, values in table.columns.items()}
    remarks = tuple(table.remarks[row] for row in order.tolist()) if table.remarked else NoRemarks(table.rows)
    return Table(columns, remarks)


def _spacing(steps: Array) -> Iterator[str]:
    """Unequal sampling and pauses, in words, from the intervals between samples."""
    if len(steps) < _FEWEST_INTERVALS:
        return
    usual = float(np.median(steps[:: 1 + len(steps) // _ENOUGH]))
    longest = float(steps.max())
    even = steps
    if longest > _PAUSE * usual:
        even = steps[steps <= _PAUSE * usual]
        pauses = int((steps > _PAUSE * usual).sum())
        counted = "1 pause" if pauses == 1 else f"{pauses} pauses"
        yield f"{counted} longer than {_PAUSE:g} times the usual interval of {usual:.4g} s, the longest {longest:.4g} s"
    if float(even.max() - even.min()) > _UNEQUAL * usual:
        yield f"samples at unequal intervals, {even.min():.4g} to {even.max():.4g} s"


#: What to write where the time stays back.
HOW_TO_GO_ON = (
    f"write 'backwards: {SORT}' beside the file if its rows are out of order, "
    f"or 'backwards: {CONTINUE}' if the clock was set back"
)
