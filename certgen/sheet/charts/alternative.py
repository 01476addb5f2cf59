"""A chart in words, for who cannot see it: what stands on which axes, where its curves begin, end and are highest.

The figures are those of the chart's own data, in the units printed; a raw trace and what has no name of its own stay out.
"""

from __future__ import annotations

from collections.abc import Iterator

from certgen.sheet.charts import model
from certgen.sheet.charts.model import Axis, Chart, Panel, Points, Spot
from certgen.sheet.words import Words

#: Digits of a figure, and the most points listed one by one.
_DIGITS, _MOST = 4, 24


def in_words(chart: Chart, words: Words) -> str:
    """What a chart shows, panel by panel.

    Parameters
    ----------
    chart : Chart
        Its data, in the units printed.
    words : Words
        The words of the page.

    Returns
    -------
    str
        The alternative text (ISO 14289-1, 7.3).
    """
    panels = " ".join(_panel(panel, chart.across, words) for panel in chart.panels)
    said = " ".join((panels, *chart.notes))
    return words("alt.titled", title=chart.title, panels=said) if chart.title else words("alt.chart", panels=said)


def _panel(panel: Panel, across: Axis, words: Words) -> str:
    parts = [part for listed in (_drawn, _marked, _summed) for part in listed(panel, across, words)]
    return words("alt.panel", up=panel.title or panel.up.label, across=across.label, parts=words.joined(parts))


def _drawn(panel: Panel, across: Axis, words: Words) -> Iterator[str]:
    """Curves and points."""
    for curve in panel.curves:
        if curve.kind == model.TRACE or not curve.spots:
            continue
        highest = max(curve.spots, key=lambda spot: spot[1])
        ends = (curve.spots[0], curve.spots[-1], highest)
        first, last, top = (_spot(spot, panel.up, across, words) for spot in ends)
        if curve.name:
            yield words("alt.named_curve", name=curve.name, first=first, last=last, highest=top)
        else:
            yield words("alt.curve", first=first, last=last, highest=top)
    for points in panel.points:
        spots = _spots(points, panel.up, across, words)
        yield (
            words("alt.named_points", name=points.name, spots=spots)
            if points.name
            else words("alt.points", spots=spots)
        )


def _spots(points: Points, up: Axis, across: Axis, words: Words) -> str:
    shown = [_spot(spot, up, across, words) for spot in points.spots[:_MOST]]
    rest = len(points.spots) - len(shown)
    return " ".join([*shown, words("alt.more", count=rest)] if rest else shown)


def _marked(panel: Panel, across: Axis, words: Words) -> Iterator[str]:
    """Marks, limits, ranges, and what is marked over the whole height or width, each by its name."""
    for mark in panel.marks:
        yield words("alt.mark", name=mark.name, spot=_spot(mark.spot, panel.up, across, words))
    for label in panel.labels:
        yield words("alt.mark", name=label.text, spot=_spot(label.spot, panel.up, across, words))
    for limit in panel.limits:
        figure = _figure(limit.spot[1], panel.up)
        if limit.allowed == model.BELOW:
            yield words("alt.most", name=limit.name, limit=figure)
        else:
            yield words("alt.least", name=limit.name, limit=figure)
    for found in panel.ranges:
        low, high = _figure(found.left, across), _figure(found.right, across)
        yield words("alt.range", name=found.name, low=low, high=high)
    for upright in panel.uprights:
        yield words("alt.at", name=upright.name, at=_figure(upright.x, across))
    for level in panel.levels:
        yield words("alt.at", name=level.name, at=_figure(level.at, panel.up))


def _summed(panel: Panel, across: Axis, words: Words) -> Iterator[str]:
    """Bars by their names, which hold their values; stacks part by part."""
    if panel.bars:
        yield words("alt.bars", bars=words.joined(panel.up.texts))
    for stack in panel.stacks:
        parts = [
            words("alt.part", name=name, value=_figure(value, panel.up))
            for name, value in zip(panel.parts, stack.parts, strict=True)
        ]
        yield words("alt.stack", at=_figure(stack.x, across), parts=", ".join(parts))


def _spot(spot: Spot, up: Axis, across: Axis, words: Words) -> str:
    return words("alt.spot", across=_figure(spot[0], across), up=_figure(spot[1], up))


def _figure(value: float, axis: Axis) -> str:
    """A figure of an axis with four digits that count."""
    shown = f"{value:.{_DIGITS}g}"
    plain = f"{float(shown):.0f}" if "e" in shown and abs(value) >= 1.0 else shown
    return plain.replace("-", "−").replace(".", axis.mark)
