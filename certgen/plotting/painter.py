"""Panels of a chart onto matplotlib's axes; signs differ by shape and line as on the page, several tests by hue as well."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from certgen.sheet.charts import model
from certgen.sheet.charts.model import Axis, Band, Curve, Limit, Mark, Panel, Points, Range, Stack

if TYPE_CHECKING:
    from matplotlib.axes import Axes

GREY, PALE = "0.45", "0.9"


@dataclass(frozen=True)
class Look:
    """How one test among several differs from the others: hue, line and marker."""

    hue: str
    line: Any = "-"
    marker: str = "o"


#: Black for one test alone; further hues that colour-blind readers distinguish too. M. Okabe and K. Ito, Color
#: Universal Design (2008), figure 16.
LOOKS = (
    Look("black"),
    Look("#0072B2", "--", "s"),
    Look("#D55E00", "-.", "^"),
    Look("#009E73", ":", "D"),
    Look("#CC79A7", (0, (6, 1, 1, 1, 1, 1)), "v"),
    Look("#E69F00", (0, (8, 2)), "P"),
    Look("#56B4E9", (0, (3, 1)), "X"),
)
#: Hatchings of stretches left out, one a reason.
_HATCHES = ("////", "\\\\\\\\", "xxxx", "....", "||||", "----", "++++", "oooo")
#: Fills of the parts of a stack, from the bottom up, each with its hatching.
_FILLS = (("black", ""), ("white", "////"), ("0.75", ""), ("0.45", ""), ("0.9", "...."))
#: Height of the strip along the bottom that holds what any test leaves out, in parts of the frame.
_STRIP = 0.035
#: Room of a sign in a key, in letters.
_SIGN = 9


def look_of(index: int) -> Look:
    """The look of a test by its place among several."""
    return LOOKS[index % len(LOOKS)]


def dress(axes: Axes, across: Axis, panel: Panel, *, last: bool) -> None:
    """Name, unit and ends of both axes; the ticks follow when the reader zooms."""
    axes.set_xlim(across.low, across.high)
    axes.set_ylim(panel.up.low, panel.up.high)
    axes.set_ylabel(panel.up.label)
    if last:
        axes.set_xlabel(across.label)
    else:
        axes.tick_params(labelbottom=False)
    for axis, mark in ((axes.xaxis, across.mark), (axes.yaxis, panel.up.mark)):
        if mark != ".":
            axis.set_major_formatter(_with_mark(mark))
    axes.grid(axis="y", color=PALE, linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _with_mark(mark: str) -> Any:
    """Ticks with the decimal mark of the page's language."""
    from matplotlib.ticker import ScalarFormatter

    class Marked(ScalarFormatter):
        def __call__(self, x: float, pos: int | None = None) -> str:
            return str(super().__call__(x, pos)).replace(".", mark)

    return Marked(useOffset=False)


def fill(axes: Axes, panel: Panel, look: Look, *, name: str = "") -> None:
    """What stands in a panel, from the back to the front.

    With a ``name`` the panel is one of several laid over each other: the name stands in the key in place of what its
    curves are, and what holds for one test alone (ranges, limits, bands) is left out.
    """
    if not name:
        _behind(axes, panel)
    for curve in panel.curves:
        _curve(axes, curve, look, name)
    for points in panel.points:
        _points(axes, points, look, name)
    for mark in panel.marks:
        _mark(axes, mark, look, name)
    if not name:
        for limit in panel.limits:
            _limit(axes, limit)
        for one in panel.labels:
            axes.annotate(one.text, one.spot, (4.0, 4.0), textcoords="offset points", fontsize="x-small", clip_on=True)


def key_above(axes: Axes, title: str, *, room: int, known: set[str]) -> None:
    """The title of a panel and the key to its signs, above its frame so that they cover nothing.

    ``room`` is how many letters fit the width; ``known`` are the names that another panel of the drawing has in its key,
    to which those of this one are added.
    """
    if title:
        axes.set_title(title, loc="left", fontsize="medium", fontweight="bold")
    listed = {label: handle for label, handle in _named(axes) if label not in known}
    known.update(listed)
    if listed:
        widest = max(map(len, listed)) + _SIGN
        axes.legend(
            list(listed.values()),
            list(listed),
            loc="lower left",
            bbox_to_anchor=(0.0, 1.09 if title else 1.0),
            ncols=max(1, min(len(listed), room // widest)),
            fontsize="small",
            frameon=False,
            borderaxespad=0.0,
        )


def _named(axes: Axes) -> Iterator[tuple[str, Any]]:
    """Each name of the key with its first sign."""
    named: dict[str, Any] = {}
    for handle, label in zip(*axes.get_legend_handles_labels(), strict=True):
        named.setdefault(label, handle)
    return iter(named.items())


# What stands behind the curves: ranges, uprights, levels, stacks, bands of uncertainty.


def _behind(axes: Axes, panel: Panel) -> None:
    for found, hatch in zip(panel.ranges, _hatches(panel.ranges), strict=True):
        _range(axes, found, hatch)
    for upright in panel.uprights:
        axes.axvline(upright.x, color="black", linewidth=0.9, linestyle=(0, (5, 3)), label=upright.name)
    for level in panel.levels:
        axes.axhline(level.at, color="black", linewidth=0.9, linestyle=(0, (5, 3)), label=level.name)
    for stack in panel.stacks:
        _stack(axes, stack, panel.parts)
    for band in panel.bands:
        _band(axes, band)


def _hatches(ranges: Sequence[Range]) -> Iterator[str]:
    """The hatching of each range: one a name."""
    names = list(dict.fromkeys(one.name for one in ranges if one.kind == model.FAULTY))
    for one in ranges:
        yield _HATCHES[names.index(one.name) % len(_HATCHES)] if one.kind == model.FAULTY else "////"


def _range(axes: Axes, found: Range, hatch: str) -> None:
    if found.low is not None and found.high is not None:
        _box(axes, found)
    elif found.kind == model.STEADY:
        axes.axvspan(found.left, found.right, color=PALE, linewidth=0.0, label=found.name)
    elif found.kind == model.PASSED_OVER:
        axes.axvspan(found.left, found.right, 0.0, _STRIP, color=GREY, alpha=0.5, linewidth=0.0, label=found.name)
    else:
        axes.axvspan(found.left, found.right, facecolor="none", edgecolor=GREY, hatch=hatch, label=found.name)


def _box(axes: Axes, found: Range) -> None:
    """A tolerance that is a line in one direction is drawn as a heavy stroke between two barbs."""
    assert found.low is not None and found.high is not None
    if found.high > found.low:
        axes.axhspan(found.low, found.high, color=PALE, label=found.name)
        return
    axes.plot(
        [found.left, found.right],
        [found.low, found.low],
        color=GREY,
        linewidth=5.0,
        solid_capstyle="butt",
        alpha=0.6,
        marker="|",
        markersize=11.0,
        label=found.name,
    )


def _stack(axes: Axes, stack: Stack, names: Sequence[str]) -> None:
    low = 0.0
    for index, part in enumerate(stack.parts):
        colour, hatch = _FILLS[index % len(_FILLS)]
        label = names[index] if index < len(names) else ""
        axes.bar(
            stack.x, part, stack.width, bottom=low, color=colour, hatch=hatch, edgecolor="black", linewidth=0.6, label=label
        )  # fmt: skip
        low += part


def _band(axes: Axes, band: Band) -> None:
    """Both edges stand at the same places, as the model has them."""
    x = [spot[0] for spot in band.low]
    low, high = ([spot[1] for spot in edge] for edge in (band.low, band.high))
    axes.fill_between(x, low, high, color=PALE, linewidth=0.0, label=band.name)


# Curves, points and marks.


def _curve(axes: Axes, curve: Curve, look: Look, name: str) -> None:
    x, y = ([spot[place] for spot in curve.spots] for place in (0, 1))
    label = name or curve.name
    if curve.kind == model.TRACE:
        axes.plot(x, y, color=look.hue if name else GREY, linewidth=0.5, alpha=0.6, label="" if name else label)
    elif curve.kind == model.BEYOND:
        axes.plot(x, y, color=look.hue, linewidth=1.0, linestyle=":", label="" if name else label)
    else:
        thin = curve.kind == model.JOINED
        axes.plot(x, y, color=look.hue, linewidth=0.9 if thin else 1.6, linestyle=look.line, label=label)


def _points(axes: Axes, points: Points, look: Look, name: str) -> None:
    x, y = ([spot[place] for spot in points.spots] for place in (0, 1))
    label = name or points.name
    match points.state:
        case model.TESTED:
            _with_bars(axes, points, look, label)
        case model.EXTRAPOLATED:
            axes.plot(x, y, look.marker, markerfacecolor="white", color=look.hue, label="" if name else label)
        case model.FULL_SPAN:
            axes.plot(x, y, "_", color=look.hue, markersize=10.0, label="" if name else label)
        case _:
            axes.plot(x, y, "x", color=look.hue, markersize=5.0, label="" if name else label)


def _with_bars(axes: Axes, points: Points, look: Look, label: str) -> None:
    """Points with their expanded uncertainty along both axes, where it is known."""
    x, y = ([spot[place] for spot in points.spots] for place in (0, 1))
    wide, high = ([abs(spread[place]) for spread in points.spreads] for place in (0, 1))
    axes.errorbar(
        x,
        y,
        xerr=wide or None,
        yerr=high or None,
        fmt=look.marker,
        color=look.hue,
        markersize=4.0,
        elinewidth=0.7,
        capsize=1.5,
        label=label,
    )


def _mark(axes: Axes, mark: Mark, look: Look, name: str) -> None:
    x, y = mark.spot
    marker, size = {model.PLATE: ("D", 8.0), model.LEAD: ("o", 11.0)}.get(mark.kind, ("v", 7.0))
    label = f"{name}: {mark.name}" if name and mark.name else mark.name
    axes.plot([x], [y], marker, markerfacecolor="none", color=look.hue, markersize=size, label=label)


def _limit(axes: Axes, limit: Limit) -> None:
    """A heavy stroke; the marker's tip points to the side that is not allowed."""
    x, y = limit.spot
    upward = limit.allowed == model.BELOW
    axes.plot([x], [y], "_", color="black", markersize=18.0, markeredgewidth=2.0)
    axes.plot([x], [y], 6 if upward else 7, color="black", markersize=6.0, label=limit.name)
