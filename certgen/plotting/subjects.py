"""What can be plotted of a test, and tests laid over each other on the same axes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from certgen.errors import CertgenError
from certgen.messages.catalogue import Message
from certgen.results.model import Results
from certgen.sheet.blocks.charts import unmeasured_load, unmeasured_torque
from certgen.sheet.charts import evidence_charts, load_charts
from certgen.sheet.charts.model import Axis, Chart, Panel, round_ticks
from certgen.sheet.content import Content

if TYPE_CHECKING:
    from certgen.plotting.log_trace import RawLog

TORQUE, LOAD, HEAT, LOSSES, LOG = "torque", "load", "heat", "losses", "log"
#: What can be asked for, in the order it is drawn.
WHAT = (TORQUE, LOAD, HEAT, LOSSES, LOG)
#: Panels of the load chart by what they show, for axes of the caller's own.
PANELS = ("current", "efficiency", "power_factor")
#: What several tests are drawn over each other for; anything else is drawn a test each.
_OVERLAID = (TORQUE, LOAD, HEAT)


@dataclass(frozen=True)
class Shown:
    """One test to be plotted: its results, what it is called, and the raw log behind it where there is one at hand."""

    results: Results
    name: str
    raw: RawLog | None = None


@dataclass(frozen=True)
class Layer:
    """One test in a drawing: its name, empty where it is alone, and its panels; ``None`` where it has not this one."""

    name: str
    panels: tuple[Panel | None, ...]


@dataclass(frozen=True)
class Picture:
    """One drawing: panels over one level axis, each with a layer for every test laid over the others."""

    title: str
    across: Axis
    ups: tuple[Panel, ...]  # the upright axis and the title of each panel
    layers: tuple[Layer, ...]
    notes: tuple[str, ...] = ()


def pictures_of(tests: Sequence[Shown], what: Sequence[str], units: str) -> list[Picture]:
    """The drawings of some tests.

    Parameters
    ----------
    tests : sequence of Shown
        One or more.
    what : sequence of str
        Names out of ``WHAT``.
    units : str
        'si', 'us' or 'both'.

    Raises
    ------
    CertgenError
        Nothing of what was asked for was measured.
    """
    found: list[Picture] = []
    reasons: list[str] = []
    for name in what:
        charts = []
        for test in tests:
            chart, reason = _chart_of(name, test, _content(test, tests, units))
            if chart is None:
                reasons.append(f"{test.name}: {reason}")
            else:
                charts.append((test.name if len(tests) > 1 else "", chart))
        found += _pictures(charts, overlaid=name in _OVERLAID)
    if not found:
        raise CertgenError("\n".join(dict.fromkeys(reasons)))
    return found


def _content(test: Shown, tests: Sequence[Shown], units: str) -> Content:
    beside = tuple(other.results for other in tests if other is not test)
    return Content(test.results, units, beside=beside)


def _pictures(charts: Sequence[tuple[str, Chart]], *, overlaid: bool) -> list[Picture]:
    if not charts:
        return []
    if overlaid and len(charts) > 1:
        return [laid_over(charts)]
    return [alone(chart, name) for name, chart in charts]


def _chart_of(name: str, test: Shown, content: Content) -> tuple[Chart | None, str]:
    """A chart, or why there is none."""
    results, words = test.results, content.words
    if name == TORQUE:
        reason = unmeasured_torque(results, words)
        return (None, reason) if reason else (load_charts.torque_chart(content), "")
    if name == LOAD:
        reason = unmeasured_load(results, words)
        return (None, reason) if reason else (load_charts.load_chart(content), "")
    if name == LOG:
        return _log_chart(test, content)
    build = _evidence(name, content)
    return (build(), "") if build is not None else (None, content.says(Message(f"plot.none.{name}")))


def _log_chart(test: Shown, content: Content) -> tuple[Chart | None, str]:
    """The raw log where it is at hand, else its trace as the results carry it."""
    from certgen.plotting.log_trace import raw_chart

    results = test.results
    if test.raw is not None:
        return raw_chart(test.raw, content), ""
    if results.log is not None and results.curves.trace is not None:
        return evidence_charts.log_chart(results.log, content), ""
    return None, content.says(Message("plot.none.log"))


def _evidence(name: str, content: Content) -> Callable[[], Chart] | None:
    thermal, losses = content.results.thermal, content.results.losses
    if name == HEAT and thermal is not None and thermal.heat_run is not None:
        return lambda: evidence_charts.heat_chart(thermal, content)
    if name == LOSSES and losses is not None and losses.at_loads:
        return lambda: evidence_charts.loss_chart(losses, content)
    return None


def alone(chart: Chart, name: str = "") -> Picture:
    """The drawing of one test's chart."""
    title = ": ".join(text for text in (name, chart.title) if text)
    return Picture(title, chart.across, chart.panels, (Layer("", chart.panels),), chart.notes)


def laid_over(charts: Sequence[tuple[str, Chart]]) -> Picture:
    """Charts of several tests over each other: panels of one quantity are one, their axes hold all of them."""
    by_quantity: dict[str, list[Panel | None]] = {}
    for index, (_, chart) in enumerate(charts):
        for panel in chart.panels:
            by_quantity.setdefault(panel.up.label, [None] * len(charts))[index] = panel
    across = _over_all([chart.across for _, chart in charts])
    ups = []
    for panels in by_quantity.values():
        there = [panel for panel in panels if panel is not None]
        ups.append(replace(there[0], up=_over_all([panel.up for panel in there])))
    layers = tuple(
        Layer(name, tuple(panels[index] for panels in by_quantity.values())) for index, (name, _) in enumerate(charts)
    )
    return Picture(charts[0][1].title, across, tuple(ups), layers)


def _over_all(axes: Sequence[Axis]) -> Axis:
    """The axis that holds what several hold."""
    low, high = min(axis.low for axis in axes), max(axis.high for axis in axes)
    return replace(axes[0], low=low, high=high, ticks=round_ticks(low, high, 8))
