"""Steady stretches of a log as rows of a table: the mean of every column, and its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from certgen.physics.domain import Array, Index
from certgen.physics.samples import THRESHOLD, SampleMean, sample_mean, scatter_by_median
from certgen.readings.model import OfMeans, Table
from certgen.reduction.log.model import STEADIED, Plateau, Reason, Reasons, thinned

#: Fewer samples than this make no mean.
LEAST_SAMPLES = 3
#: A column with fewer of a stretch's samples than this part is one that was read less often, not one that dropped out.
_OFTEN = 0.5
#: Longest interval a sample stands for, in parts of the usual one: a gap is not represented by the samples at its ends.
_STANDS_FOR = 10.0
#: Samples that tell the median of a stretch and the scatter about it, to 2.5 %.
_ENOUGH = 2048
_LONGEST_REMARK = 80
#: Lone outliers of the columns that steadiness was judged by are known, so what strays within this part of the stretch
#: from an end belongs to a change of load.
_AT_ENDS = 0.15


@dataclass(frozen=True)
class Stretch:
    """A stretch of a log that becomes a point: first sample and sample after the last."""

    start: int
    stop: int
    pinned: bool = False
    steady: bool = True


def mark_strays(why: Reasons, table: Table, stretch: Stretch) -> Stretch:
    """Mark samples of a stretch in which any column drops out or lies far from its median.

    Those at its very ends belong to the change of load and are taken off the stretch, unless it is pinned.

    Parameters
    ----------
    why : array, shape (n,)
        Reasons so far; those of samples without one are set.
    table : Table
        The log, n rows. [SI]
    stretch : Stretch
        Where to look.

    Returns
    -------
    Stretch
        What is left of it.

    References
    ----------
    L. Davies and U. Gather, J. Amer. Statist. Assoc. 88 (1993) 782 (Hampel identifier).
    """
    for name, column in table.columns.items():
        if name == "time" or (stretch.pinned and not stretch.steady):
            continue  # a pinned stretch that is not steady has no usual value to stray from
        part, values = why[stretch.start : stretch.stop], column[stretch.start : stretch.stop]
        rows = _strays(part, values)
        if rows.size and not stretch.pinned:
            first, last = _ends(rows, values.size, _AT_ENDS if name in STEADIED else 0.0)
            stretch = replace(stretch, start=stretch.start + first, stop=stretch.start + last)
            rows = rows[(rows >= first) & (rows < last)]
        gone = ~np.isfinite(values[rows]) | (values[rows] == 0.0)
        part[rows] = np.where(gone, Reason.DROPPED_OUT, Reason.OUTLIER)
    return stretch


def _ends(rows: Index, count: int, part: float) -> tuple[int, int]:
    """First row behind those at the beginning, and the first of those at the end, of so many.

    At the beginning are those that follow one another from the first on, and all within a part of the whole.
    """
    leading = int(np.count_nonzero(rows == np.arange(rows.size)))
    trailing = int(np.count_nonzero(rows == np.arange(count - rows.size, count)))
    early, late = rows[rows < part * count], rows[rows >= (1.0 - part) * count]
    first = max([leading, *(early[-1:] + 1).tolist()])
    return first, max(min([count - trailing, *late[:1].tolist()]), first)


def _strays(why: Reasons, values: Array) -> Index:
    """Rows of one column, of those that may be used, that are missing or far from its median."""
    nothing = np.empty(0, dtype=np.intp)
    good = why == 0
    some = thinned(values if good.all() else values[good], _ENOUGH)
    known = some[np.isfinite(some)]
    if known.size < _OFTEN * some.size or not known.size:
        return nothing
    middle = float(np.median(known))
    scatter = scatter_by_median(known, middle)
    changes = np.abs(np.diff(known))
    changes = changes[changes > 0.0]
    step = float(changes.min()) if changes.size else 0.0
    limit = THRESHOLD * max(scatter, step, 1e-3 * abs(middle) / THRESHOLD)
    if values.min() >= middle - limit and values.max() <= middle + limit:  # nor is any missing
        return nothing
    return np.flatnonzero(~(np.abs(values - middle) <= limit) & (why == 0))


def plateau_of(
    why: Reasons, table: Table, time: Array, stretch: Stretch, without: Collection[str] = ()
) -> Plateau | None:
    """A stretch as the means of its columns; ``None`` where fewer than three samples of it may be used.

    Parameters
    ----------
    why : array, shape (n,)
        Reasons to leave samples out.
    table : Table
        The log, n rows. [SI]
    time : array, shape (n,)
        When each was taken. [s]
    stretch : Stretch
        Where the plateau lies.
    without : collection of str
        Columns whose mean would be too low, since their meter stood at full scale.

    Notes
    -----
    Where sampling is unequal, each sample counts by the time it stands for: half the intervals to its neighbours.
    """
    here = slice(stretch.start, stretch.stop)
    good = why[here] == 0
    used = int(np.count_nonzero(good))
    if used < LEAST_SAMPLES:
        return None
    whole = used == good.size
    times = time[here] if whole else time[here][good]
    weights = _weights(times)
    means: dict[str, SampleMean] = {}
    for name, column in table.columns.items():
        if name in without:
            continue
        values = column[here] if whole else column[here][good]
        known = np.isfinite(values)
        if name == "time":
            middle = 0.5 * float(times[0] + times[-1])
            means[name] = SampleMean(middle, 0.0, used, float(used))
        elif known.all():
            means[name] = sample_mean(values, weights)
        elif np.count_nonzero(known) >= LEAST_SAMPLES:
            means[name] = sample_mean(values[known], None if weights is None else weights[known])
    return Plateau(
        float(times[0]), float(times[-1]), good.size, used, means, stretch.pinned, stretch.steady, tuple(without)
    )


def _weights(time: Array) -> Array | None:
    """Time each sample stands for [s]; ``None`` where they are equally spaced, or all at one time."""
    steps = np.diff(time)
    if 0.0 < steps.max() <= 1.5 * steps.min():
        return None
    usual = float(np.median(steps))
    if usual <= 0.0 or (steps.max() <= 1.5 * usual and steps.min() >= 0.5 * usual):
        return None
    steps = np.minimum(steps, _STANDS_FOR * usual)
    either_side = np.concatenate((steps[:1], steps, steps[-1:]))
    return np.asarray(0.5 * (either_side[:-1] + either_side[1:]))


def table_of(plateaus: Sequence[Plateau], table: Table, stretches: Sequence[Stretch]) -> Table:
    """One row a plateau, with the uncertainty of its means by scatter; columns as in the log.

    Parameters
    ----------
    plateaus : sequence of Plateau
        The points.
    table : Table
        The log. [SI]
    stretches : sequence of Stretch
        Where each plateau lies, for the remarks written there.
    """
    columns: dict[str, Array] = {}
    of_means: dict[str, OfMeans] = {}
    for name in table.columns:
        of_column = [plateau.means.get(name) for plateau in plateaus]
        columns[name] = np.array([math.nan if mean is None else mean.value for mean in of_column], dtype=np.float64)
        if name != "time":
            of_means[name] = OfMeans(
                np.array([0.0 if mean is None else mean.standard_uncertainty for mean in of_column], dtype=np.float64),
                np.array(
                    [math.inf if mean is None else mean.degrees_of_freedom for mean in of_column], dtype=np.float64
                ),
            )
    written = table.remarked
    remarks = tuple(_remark(table.remarks[stretch.start : stretch.stop]) if written else "" for stretch in stretches)
    return Table(columns, remarks, of_means)


def _remark(texts: Sequence[str]) -> str:
    return "; ".join(dict.fromkeys(text for text in texts if text))[:_LONGEST_REMARK]
