"""The raw log of a load test over its time: what was read, steady stretches, stretches left out with their reasons."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from certgen.messages.catalogue import Message
from certgen.messages.format import US, Form, as_units, forms
from certgen.physics.domain import Array
from certgen.reduction.log.model import FAULTS, Plateau, Reason, Reasons, marked, runs_of
from certgen.reduction.log.reduce import reduced_log
from certgen.sheet.charts import model
from certgen.sheet.charts.model import Axis, Chart, Curve, Panel, Points, Range, axis_of
from certgen.sheet.content import Content

if TYPE_CHECKING:
    from certgen.pipeline import ReadTest

#: Columns drawn, a panel each line: those of one line share a panel.
_PANELS = (("speed",), ("scale", "scale_2"), ("torque",), ("current", "current_a", "current_b", "current_c"))
#: Samples drawn of a longer log: the least and the greatest of each of so many pieces.
_PIECES = 4000
#: Least width of a stretch, and the gap across which two of one reason are drawn as one, in parts of the whole time.
_NARROWEST, _GAP = 1.0 / 600.0, 1.0 / 1200.0
#: Times up to this are printed in seconds, longer ones in minutes. [s]
_IN_SECONDS = 600.0


@dataclass(frozen=True)
class LeftOutStretch:
    """One stretch of a log left out for one reason, from its first sample to its last. [s]"""

    reason: Message
    start: float
    end: float
    fault: bool


@dataclass(frozen=True, eq=False)
class RawLog:
    """A log as it was read: time [s] and columns [SI], each shape (n,); ``scale_reads`` is 'mass' or 'force'.

    ``plateaus`` are the steady stretches that became load points, in their order.
    """

    time: Array
    columns: Mapping[str, Array]
    scale_reads: str
    plateaus: tuple[Plateau, ...] = ()
    left_out: tuple[LeftOutStretch, ...] = ()


def raw_log_of(test: ReadTest) -> RawLog | None:
    """The raw log behind the load test of a job; ``None`` where its points were written down one by one.

    Parameters
    ----------
    test : ReadTest
        The job with its readings. [SI]

    Returns
    -------
    RawLog or None
        Of a sweep, which has no steady stretches, the columns alone.
    """
    job, rig, table = test.loaded.job, test.loaded.rig, test.readings.load_test
    source = job.readings.load_test if job.readings is not None else None
    if source is None or (source.steady is None and source.sweep is None) or "time" not in table.columns:
        return None
    time = table.column("time")
    shown = {name: table.columns[name] for names in _PANELS for name in names if name in table.columns}
    reads = rig.scale.reads if rig.scale is not None else "mass"
    reduced = reduced_log(job, rig, test.readings)
    if reduced is None:
        return RawLog(time, shown, reads)
    return RawLog(time, shown, reads, reduced.plateaus, left_out_stretches(time, reduced.reasons))


def left_out_stretches(time: Array, why: Reasons) -> tuple[LeftOutStretch, ...]:
    """Every stretch left out, in order of time, neighbours of one reason joined where the eye could not part them.

    Parameters
    ----------
    time : array, shape (n,)
        When each sample was taken. [s]
    why : array, shape (n,)
        The number of the ``Reason`` of each sample, 0 where it is used.

    Returns
    -------
    tuple of LeftOutStretch
        From the first to the last sample of each. [s]
    """
    whole = float(np.nanmax(time) - np.nanmin(time)) if time.size else 0.0
    found = [
        LeftOutStretch(reason.message, start, end, reason in FAULTS)
        for reason in Reason
        if reason != Reason.USED
        for start, end in _stretches(time, why, reason, _GAP * whole)
    ]
    return tuple(sorted(found, key=lambda one: (one.start, one.end)))


def _stretches(time: Array, why: Reasons, reason: Reason, gap: float) -> Iterator[tuple[float, float]]:
    runs = runs_of(marked(why, reason))
    if not runs.count:
        return
    starts, ends = time[runs.starts], time[runs.stops - 1]
    apart = np.flatnonzero(starts[1:] - ends[:-1] > gap)
    first, last = np.concatenate(([0], apart + 1)), np.append(apart, runs.count - 1)
    for start, end in zip(starts[first].tolist(), ends[last].tolist(), strict=True):
        if np.isfinite(start) and np.isfinite(end):
            yield start, end


# The chart.


def raw_chart(raw: RawLog, content: Content) -> Chart:
    """Speed, load and current as they were read, over time; everything that became no load point is marked."""
    seconds = float(np.nanmax(raw.time) - np.nanmin(raw.time))
    form = Form("s", "s", decimals=0) if seconds <= _IN_SECONDS else Form("min", "min", decimals=0)
    ends = [form.value(float(end(raw.time))) for end in (np.nanmin, np.nanmax)]
    across = axis_of(content.words("chart.time"), form.sign, ends, most=10, mark=content.figures.mark)
    ranges = tuple(_ranges(raw, form, content, seconds))
    panels = tuple(
        _panel(names, raw, form, content, ranges)
        for names in ([name for name in listed if name in raw.columns] for listed in _PANELS)
        if names
    )
    return Chart(content.words("plot.log"), across, panels)


def _ranges(raw: RawLog, form: Form, content: Content, seconds: float) -> Iterator[Range]:
    """Steady stretches, faults, and what any test passes over; none narrower than can be seen."""
    for plateau in raw.plateaus:
        yield Range(
            form.value(plateau.start), form.value(plateau.end), model.STEADY, name=content.words("chart.steady")
        )
    for stretch in raw.left_out:
        widen = max(0.0, _NARROWEST * seconds - (stretch.end - stretch.start)) / 2.0
        kind = model.FAULTY if stretch.fault else model.PASSED_OVER
        name = content.words("plot.left_out", reason=content.says(stretch.reason))
        yield Range(form.value(stretch.start - widen), form.value(stretch.end + widen), kind, name=name)


def _panel(names: list[str], raw: RawLog, time: Form, content: Content, ranges: tuple[Range, ...]) -> Panel:
    """One quantity over time, with the mean of each load point in the middle of its stretch."""
    greatest = max(float(np.nanmax(np.abs(raw.columns[name]), initial=0.0)) for name in names)
    form = _form(names[0], greatest, raw, content)
    curves, points, values = [], [], []
    for name in names:
        spots = _thinned(raw.time, raw.columns[name], time, form)
        curves.append(Curve(spots, model.JOINED, content.words(f"plot.{name}") if len(names) > 1 else ""))
        means = tuple(
            (time.value((one.start + one.end) / 2.0), form.value(one.means[name].value))
            for one in raw.plateaus
            if name in one.means
        )
        if means:
            points.append(Points(means, name=content.words("plot.points")))
        values += [y for _, y in (*spots, *means)]
    up = _axis(names[0], form, values, content)
    return Panel(up, tuple(curves), tuple(points), ranges=ranges)


def _axis(name: str, form: Form, values: list[float], content: Content) -> Axis:
    called = "current" if name.startswith("current") else name
    key = f"plot.{called}" if called.startswith("scale") else f"chart.{called}"
    return axis_of(content.words(key), form.sign, values, most=5, mark=content.figures.mark)


def _form(name: str, greatest: float, raw: RawLog, content: Content) -> Form:
    """How a column is printed; a scale in kilograms or newtons, or their customary units."""
    if not name.startswith("scale"):
        return forms("current" if name.startswith("current") else name, content.units, greatest)[0]
    units = (("kg", "kg"), ("lb", "lb")) if raw.scale_reads == "mass" else (("N", "N"), ("lbf", "lbf"))
    return Form(*units[as_units(content.units) == US])


def _thinned(time: Array, values: Array, time_form: Form, form: Form) -> tuple[tuple[float, float], ...]:
    """Every sample that was read, of a long log the least and the greatest of each of many pieces."""
    read = np.isfinite(time) & np.isfinite(values)
    time, values = time[read], values[read]
    if time.size > 2 * _PIECES:
        rows = _extremes(values)
        time, values = time[rows], values[rows]
    x = time * (time_form.value(1.0) - time_form.value(0.0)) + time_form.value(0.0)
    y = values * form.spread(1.0) + form.value(0.0)
    return tuple(zip(x.tolist(), y.tolist(), strict=True))


def _extremes(values: Array) -> Array:
    """Rows of the least and the greatest value of each piece, in their order."""
    edges = np.linspace(0, values.size, _PIECES + 1).astype(int)[:-1]
    piece = np.searchsorted(edges, np.arange(values.size), side="right") - 1
    order = np.lexsort((values, piece))
    last = np.append(edges[1:], values.size) - 1
    return np.unique(np.concatenate((order[edges], order[last])))
