"""A chart of plain data as shapes in the typeface of the sheet.

Nothing is written into a frame: each panel has a line above it with the name and unit of its axis and the key to its
signs, so that no label can stand on a curve, an axis or a hatching. Signs differ by shape and line, never by hue.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from certgen.sheet.charts import model
from certgen.sheet.charts.axes import Frame, Labels, Rectangle
from certgen.sheet.charts.model import Axis, Band, Bar, Chart, Curve, Limit, Mark, Panel, Points, Range, Spot
from certgen.sheet.pdf import drawing as shapes
from certgen.sheet.pdf.drawing import Area, Drawing, Letters, Line
from certgen.sheet.pdf.fonts import BOLD, REGULAR, width

INK, GRID, TRACE, PALE, PAPER = "ink", "hair", "muted", "pale", "paper"
#: Weights of lines. [pt]
_CURVE, _AXIS, _FINE, _BAR, _LIMIT, _UPRIGHT = 1.3, 0.7, 0.35, 0.5, 1.1, 0.6
_TRACE, _THINNER = 0.5, 0.9
#: Dashes of a curve beyond what was tested, of points joined, of an upright. [pt]
_BEYOND, _JOINED, _DASHED = (1.0, 1.8), (), (3.0, 1.6)
#: Size of a marker, and its part where many points stand close. [pt]
_MARK = 3.6
#: Ground kept clear about a point that stands alone, in its own size.
_CLEAR = 1.4
_CROWDED, _SMALLER = 20, 0.7
#: Size of the plate's mark: a point at the plate's value stands within it.
_PLATE = 1.75 * _MARK
#: Half the width of the ends of a bar of uncertainty. [pt]
_CAP = 1.3
_TICK, _PAD = 2.4, 2.0
_HATCH = 3.6
#: Least width of a range over the whole height. [pt]
_NARROWEST = 1.2
#: Half the length of a limit's stroke, and of the ticks that point to the side that is not allowed. [pt]
_REACH, _BARB = 12.0, 2.6
#: Least height of a box of tolerance. [pt]
_BOX = 5.0
#: Line height, height of figures, room of a sign in a key, gaps in and between keys, in parts of the text size.
_LEADING, _FIGURES, _SIGN, _GAP, _BETWEEN = 1.22, 0.71, 1.7, 0.35, 1.1
#: Least height of a frame beside all keys, in parts of the text size.
_LEAST_FRAME = 3.0
#: Length of an arrow at the edge of a frame. [pt]
_ARROW = 2.6
#: A label beside a spot: its size in parts of the text size, its height and where its letters stand in parts of its own, and
#: how far off it begins. [pt]
_LABEL, _LABEL_HIGH, _LABEL_BASE, _LABEL_REACH = 0.85, 0.96, 0.75, 2.5
#: Room above the title of each of several panels, in parts of the text size.
_BEFORE = 0.55
#: Inks and hatchings of the parts of a stack, from the bottom up.
_FILLS = ("ink", "paper", "hair", "muted", "pale")


@dataclass(frozen=True)
class Placed:
    """A frame in the drawing with its two axes: where a value pair lies. [pt]"""

    frame: Rectangle
    across: Axis
    up: Axis

    def x(self, value: float) -> float:
        """A value of the level axis."""
        return self.frame.left + self.across.part(value) * (self.frame.right - self.frame.left)

    def y(self, value: float) -> float:
        """A value of the upright axis."""
        return self.frame.bottom + self.up.part(value) * (self.frame.top - self.frame.bottom)

    def spot(self, at: Spot) -> Spot:
        """A value pair."""
        return self.x(at[0]), self.y(at[1])

    def held(self, spot: Spot) -> Spot:
        """A spot of the drawing, or the nearest on the edge of the frame."""
        frame = self.frame
        return min(max(spot[0], frame.left), frame.right), min(max(spot[1], frame.bottom), frame.top)


def paint(chart: Chart, canvas: Any, frame: Frame) -> None:
    """The chart onto a canvas."""
    drawn(chart, frame).onto(canvas, frame.x, frame.y)


def drawn(chart: Chart, frame: Frame) -> Drawing:
    """The chart as shapes, [pt] from the lower left corner of its frame."""
    drawing = Drawing(frame.width, frame.height)
    for placed, panel in laid_out(chart, frame, drawing):
        _dress(drawing, placed, frame.size)
        _fill(drawing, placed, panel)
        _labels(drawing, placed, panel, frame.size)
    return drawing


def laid_out(chart: Chart, frame: Frame, drawing: Drawing) -> list[tuple[Placed, Panel]]:
    """The frames of the panels, their titles and keys written above them and the level axis below the last."""
    size = frame.size
    line = _LEADING * size
    left = max(_widest(panel.up, size) for panel in chart.panels) + _TICK + _PAD
    right = frame.width - 0.5 * _widest(chart.across, size) - 1.0
    top = _head(drawing, chart, frame)
    several = len(chart.panels) > 1
    notes = [] if several else _notes(chart)
    heads = [
        _lines([*_keys(panel, shared=False), *notes], panel.title or panel.up.label, frame.width - left, size)
        for panel in chart.panels
    ]
    bottom = _PAD + _TICK + line
    if top - bottom - line * (1 + sum(map(len, heads))) < _LEAST_FRAME * size * len(heads):
        heads = [head[:1] for head in heads]  # no room for every key: the frames come first
    room = top - bottom - _axis_name(drawing, chart.across, Rectangle(left, 0.0, right, 0.0), size)
    gap, before = 0.4 * size, _BEFORE * size * several
    each = (room - sum(len(head) * line + before for head in heads) - gap * len(heads)) / len(heads)
    placed, y = [], top
    for panel, head in zip(chart.panels, heads, strict=True):
        y -= before
        for keys in head:
            y -= line
            _write_line(drawing, keys, left if several else 0.0, y + 0.3 * size, size)
        y -= gap
        inner = Rectangle(left, y - each, right, y)
        placed.append((Placed(inner, chart.across, panel.up), panel))
        y -= each
    _level_figures(drawing, placed[-1][0], size)
    return placed


# Titles, keys and the figures along the axes.


@dataclass(frozen=True)
class Key:
    """A sign with what it means; an empty sign for a remark, none for a title, which is bold."""

    text: str
    sign: Any = None

    def width(self, size: float) -> float:
        """Its width at a text size."""
        sign = (_SIGN + _GAP) * size if self.sign else 0.0
        return sign + width(self.text, REGULAR if self.sign is not None else BOLD, size)


def _keys(panel: Panel, *, shared: bool) -> list[Key]:
    """The signs of a panel with their names, each name once: those that all panels share, or its own."""
    boxes = [one for one in panel.ranges if one.low is not None]
    hatched = [one for one in panel.ranges if one.low is None]
    own: tuple[Any, ...] = (
        *panel.marks, *panel.levels, *boxes, *panel.limits, *panel.bands, *panel.curves, *panel.points,
    )  # fmt: skip
    listed: tuple[Any, ...] = (*panel.uprights, *hatched) if shared else own
    named: dict[str, Any] = {}
    for name, sign in [(sign.name, sign) for sign in listed]:
        if name:
            named.setdefault(name, sign)
    parts = () if shared else stack_keys(panel)
    return [*(Key(name, sign) for name, sign in named.items()), *parts]


def _notes(chart: Chart) -> list[Key]:
    """Remarks on the whole chart, which have no sign."""
    return [Key(note, "") for note in chart.notes]


def _head(drawing: Drawing, chart: Chart, frame: Frame) -> float:
    """The title with what all panels share, and remarks; returns where the panels begin."""
    size, y = frame.size, frame.height
    shared = _keys(chart.panels[0], shared=True)
    notes = _notes(chart) if len(chart.panels) > 1 else []
    for keys in _lines([*shared, *notes], chart.title, frame.width, size):
        y -= _LEADING * size
        _write_line(drawing, keys, 0.0, y + 0.3 * size, size)
    return y


def _lines(keys: Sequence[Key], title: str, room: float, size: float) -> list[list[Key]]:
    """A title and keys in as many lines as they take."""
    lines: list[list[Key]] = [[Key(title)] if title else []]
    used = lines[0][0].width(size) if title else 0.0
    for key in keys:
        needed = key.width(size) + (_BETWEEN * size if lines[-1] else 0.0)
        if lines[-1] and used + needed > room:
            lines.append([])
            used, needed = 0.0, key.width(size)
        lines[-1].append(key)
        used += needed
    return [line for line in lines if line]


def _write_line(drawing: Drawing, keys: Sequence[Key], x: float, y: float, size: float) -> None:
    """Titles and keys side by side on a baseline."""
    for key in keys:
        start = x
        if key.sign:
            _draw_sign(drawing, key.sign, (x, y + 0.34 * size), _SIGN * size)
            start += (_SIGN + _GAP) * size
        face = REGULAR if key.sign is not None else BOLD
        drawing.shapes.append(Letters((start, y), key.text, size, INK, face=face))
        x += key.width(size) + _BETWEEN * size


def _widest(axis: Axis, size: float) -> float:
    return max((width(text, REGULAR, size) for text in axis.texts), default=0.0)


def _axis_name(drawing: Drawing, axis: Axis, frame: Rectangle, size: float) -> float:
    """The name of the level axis below its figures; returns the height it takes."""
    middle = 0.5 * (frame.left + frame.right) - 0.5 * width(axis.label, REGULAR, size)
    drawing.shapes.append(Letters((middle, 0.26 * size), axis.label, size, INK))
    return _LEADING * size


def _level_figures(drawing: Drawing, placed: Placed, size: float) -> None:
    for tick, text in zip(placed.across.ticks, placed.across.texts, strict=True):
        x = placed.x(tick) - 0.5 * width(text, REGULAR, size)
        y = placed.frame.bottom - _TICK - _PAD - _FIGURES * size
        drawing.shapes.append(Letters((x, y), text, size, INK))


def _dress(drawing: Drawing, placed: Placed, size: float) -> None:
    """Hairlines at the ticks of the upright axis with their figures, the axes, the ticks of the level axis."""
    frame, listed = placed.frame, drawing.shapes
    if placed.up.names:  # bars: the lines to read them by are upright
        inner = [placed.x(tick) for tick in placed.across.ticks if placed.x(tick) > frame.left + 0.1]
        listed.extend(Line(((x, frame.bottom), (x, frame.top)), _FINE, GRID) for x in inner)
    for tick, text in zip(placed.up.ticks, placed.up.texts, strict=True):
        y = placed.y(tick)
        if y > frame.bottom + 0.1 and not placed.up.names:
            listed.append(Line(((frame.left, y), (frame.right, y)), _FINE, GRID))
        listed.append(Line(((frame.left - _TICK, y), (frame.left, y)), _AXIS, INK))
        x = frame.left - _TICK - _PAD - width(text, REGULAR, size)
        listed.append(Letters((x, y - 0.5 * _FIGURES * size), text, size, INK))
    listed.append(Line(((frame.left, frame.top), (frame.left, frame.bottom), (frame.right, frame.bottom)), _AXIS, INK))
    for tick in placed.across.ticks:
        x = placed.x(tick)
        listed.append(Line(((x, frame.bottom), (x, frame.bottom - _TICK)), _AXIS, INK))


# What stands in a frame, from the back to the front.


def _fill(drawing: Drawing, placed: Placed, panel: Panel) -> None:
    for found in panel.ranges:
        _range(drawing, placed, found)
    for upright in panel.uprights:
        x = placed.x(upright.x)
        drawing.shapes.append(Line(((x, placed.frame.bottom), (x, placed.frame.top)), _UPRIGHT, INK, _DASHED))
    for level in panel.levels:
        y = placed.y(level.at)
        drawing.shapes.append(Line(((placed.frame.left, y), (placed.frame.right, y)), _UPRIGHT, INK, _DASHED))
    for stack in panel.stacks:
        _stack(drawing, placed, stack)
    for bar in panel.bars:
        _bar(drawing, placed, bar)
    for band in panel.bands:
        _band(drawing, placed, band)
    for curve in sorted(panel.curves, key=lambda one: one.kind != model.TRACE):
        _curve(drawing, placed, curve)
    for limit in panel.limits:
        _limit(drawing, placed.spot(limit.spot), limit.allowed, _REACH)
    for mark in panel.marks:
        _mark(drawing, placed.spot(mark.spot), mark.kind)
    for points in panel.points:  # last: a point at the plate's value stands in its mark, not under it
        if not panel.curves:  # alone they stand clear of whatever they fall on
            for spot in points.spots:
                drawing.shapes.append(shapes.Mark(placed.spot(spot), "o", _CLEAR * _MARK, PAPER))
        _points(drawing, placed, points)


def _labels(drawing: Drawing, placed: Placed, panel: Panel, size: float) -> None:
    """Words beside their spots, clear of curves, points and one another."""
    if not panel.labels:
        return
    labels = Labels(placed.frame)
    for curve in panel.curves:
        labels.avoid_line([placed.held(placed.spot(spot)) for spot in curve.spots])
    for points in panel.points:
        for spot in points.spots:
            labels.avoid_mark(placed.held(placed.spot(spot)), _MARK / 2)
    small = _LABEL * size
    for label in panel.labels:
        at = placed.held(placed.spot(label.spot))
        place = labels.place([at], (width(label.text, REGULAR, small), _LABEL_HIGH * small), _LABEL_REACH)
        drawing.shapes.append(Letters((place.left, place.top - _LABEL_BASE * small), label.text, small, INK))


def _range(drawing: Drawing, placed: Placed, found: Range) -> None:
    left, right = (
        min(max(placed.x(edge), placed.frame.left), placed.frame.right) for edge in (found.left, found.right)
    )
    if found.low is None or found.high is None:
        right = max(right, left + _NARROWEST)
        _whole_height(drawing, Rectangle(left, placed.frame.bottom, right, placed.frame.top), found.kind)
        return
    low, high = placed.y(found.low), placed.y(found.high)
    beyond = max(0.0, _BOX - (high - low)) / 2.0
    _box(drawing, Rectangle(left, low - beyond, right, high + beyond))


def _box(drawing: Drawing, box: Rectangle) -> None:
    """A tolerance: a pale box with a black outline."""
    corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
    drawing.shapes.append(Area(corners, PALE))
    drawing.shapes.append(Line((*corners, corners[0]), _BAR, INK))


def _whole_height(drawing: Drawing, box: Rectangle, kind: str) -> None:
    """A range over the whole height: a steady stretch pale between fine uprights, any other hatched."""
    if kind != model.STEADY:
        _hatch(drawing, box)
        return
    corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
    drawing.shapes.append(Area(corners, PALE))
    drawing.shapes.extend(Line(((x, box.bottom), (x, box.top)), _FINE, INK) for x in (box.left, box.right))


def _hatch(drawing: Drawing, box: Rectangle) -> None:
    """Slanting hairlines between two uprights."""
    wide, high = box.right - box.left, box.top - box.bottom
    for step in range(1, int((high + wide) / _HATCH) + 1):
        y = box.bottom - wide + step * _HATCH  # where this line meets the left upright, or would
        low, top = max(y, box.bottom), min(y + wide, box.top)
        if top > low:
            spots = ((box.left + low - y, low), (box.left + top - y, top))
            drawing.shapes.append(Line(spots, _FINE, TRACE))


def _stack(drawing: Drawing, placed: Placed, stack: model.Stack) -> None:
    left, right = placed.x(stack.x - stack.width / 2), placed.x(stack.x + stack.width / 2)
    low = 0.0
    for index, part in enumerate(stack.parts):
        box = Rectangle(left, placed.y(low), right, placed.y(low + part))
        _part(drawing, box, index)
        low += part


def _bar(drawing: Drawing, placed: Placed, bar: Bar) -> None:
    left, right = placed.x(0.0), max(placed.x(bar.value), placed.x(0.0) + _NARROWEST)
    low, high = placed.y(bar.at - bar.height / 2), placed.y(bar.at + bar.height / 2)
    drawing.shapes.append(Area(((left, low), (right, low), (right, high), (left, high)), INK))


def _part(drawing: Drawing, box: Rectangle, index: int) -> None:
    corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
    drawing.shapes.append(Area(corners, _FILLS[index % len(_FILLS)]))
    if index % len(_FILLS) == 1:
        _hatch(drawing, box)
    drawing.shapes.append(Line((*corners, corners[0]), _BAR, INK))


def _band(drawing: Drawing, placed: Placed, band: Band) -> None:
    """The band as a pale area between fine edges, where it is wide enough to be seen."""
    low, high = ([placed.held(placed.spot(spot)) for spot in edge] for edge in (band.low, band.high))
    if max((up[1] - down[1] for down, up in zip(low, high, strict=True)), default=0.0) < _CURVE:
        return
    drawing.shapes.append(Area((*low, *reversed(high)), PALE))
    drawing.shapes.extend(Line(tuple(edge), _FINE, INK) for edge in (low, high))


def _curve(drawing: Drawing, placed: Placed, curve: Curve) -> None:
    spots = [placed.spot(spot) for spot in curve.spots]
    if curve.kind != model.TRACE:
        dashes = _BEYOND if curve.kind == model.BEYOND else _JOINED
        weight = _THINNER if curve.kind == model.JOINED else _CURVE
        drawing.shapes.append(Line(tuple(spots), weight, INK, dashes))
        return
    inside: list[Spot] = []
    for spot in [*spots, (-math.inf, 0.0)]:  # the last one ends what was begun
        if placed.held(spot) == spot:
            inside.append(spot)
            continue
        if len(inside) > 1:
            drawing.shapes.append(Line(tuple(inside), _TRACE, INK))
        inside = []


def _limit(drawing: Drawing, at: Spot, allowed: str, reach: float) -> None:
    """A heavy stroke with barbs towards the side that is not allowed."""
    (x, y), out = at, 1.0 if allowed == model.BELOW else -1.0
    drawing.shapes.append(Line(((x - reach, y), (x + reach, y)), _LIMIT, INK))
    for part in (-1.0, 1.0):
        foot = x + part * (reach - 0.5 * _AXIS)
        drawing.shapes.append(Line(((foot, y), (foot, y + out * (_BARB + _LIMIT / 2))), _AXIS, INK))


def _points(drawing: Drawing, placed: Placed, points: Points) -> None:
    crowded = len(points.spots) > _CROWDED
    for low, high in visible_bars(placed, points):
        _spread(drawing, low, high)
    arrows: list[Spot] = []
    for spot in points.spots:
        at = placed.spot(spot)
        if points.state == model.LEFT_OUT and (edge := placed.held(at)) != at:
            if all(math.dist(edge, other) > 2.0 * _ARROW for other in arrows):
                arrows.append(edge)
                _beyond(drawing, edge, at)
        else:
            _point(drawing, at, points.state, crowded=crowded)


def _beyond(drawing: Drawing, edge: Spot, at: Spot) -> None:
    """An arrow at the edge of the frame towards a spot beyond it: nothing stood at the edge itself."""
    aside, up = at[0] - edge[0], at[1] - edge[1]
    along = (math.copysign(1.0, aside), 0.0) if abs(aside) >= abs(up) else (0.0, math.copysign(1.0, up))
    back = edge[0] - _ARROW * along[0], edge[1] - _ARROW * along[1]
    for side in (-0.6, 0.6):
        foot = back[0] - side * _ARROW * along[1], back[1] + side * _ARROW * along[0]
        drawing.shapes.append(Line((foot, edge), 0.6, INK))


def _point(drawing: Drawing, at: Spot, state: str, *, crowded: bool = False) -> None:
    size, listed = _MARK * (_SMALLER if crowded else 1.0), drawing.shapes
    match state:
        case model.TESTED:
            listed.append(shapes.Mark(at, "o", size, INK))
        case model.EXTRAPOLATED:
            listed.append(shapes.Mark(at, "o", _MARK * 1.3, PAPER, INK, 0.8))
        case model.IMPOSSIBLE:
            listed.append(shapes.Mark(at, "o", _MARK, PAPER, INK, 0.8))
            listed.append(shapes.Mark(at, "x", _MARK * 1.9, "", INK, 0.9))
        case model.FULL_SPAN:
            y = at[1] + 0.5 * _MARK + _CAP
            listed.append(Line(((at[0] - _MARK, y), (at[0] + _MARK, y)), 0.9, INK))
        case _:
            listed.append(shapes.Mark(at, "x", 2.6, "", INK, 0.6))


def visible_bars(placed: Placed, points: Points) -> list[tuple[Spot, Spot]]:
    """Both ends of every bar of uncertainty that reaches beyond its marker."""
    least = 0.5 * _MARK + _CAP
    found = []
    for (x, y), (wide, high) in zip(points.spots, points.spreads, strict=False):
        for one, other in (((x, y - high), (x, y + high)), ((x - wide, y), (x + wide, y))):
            low, up = placed.spot(one), placed.spot(other)
            if max(up[0] - low[0], up[1] - low[1]) > 2 * least:
                found.append((placed.held(low), placed.held(up)))
    return found


def _spread(drawing: Drawing, low: Spot, high: Spot) -> None:
    """A bar with a stroke across each end."""
    drawing.shapes.append(Line((low, high), _BAR, INK))
    upright = high[1] > low[1]
    for x, y in (low, high):
        ends = ((x - _CAP, y), (x + _CAP, y)) if upright else ((x, y - _CAP), (x, y + _CAP))
        drawing.shapes.append(Line(ends, _BAR, INK))


def _mark(drawing: Drawing, at: Spot, kind: str) -> None:
    match kind:
        case model.PLATE:
            drawing.shapes.append(shapes.Mark(at, "D", _PLATE, "", INK, 1.0))
        case model.LEAD:
            drawing.shapes.append(shapes.Mark(at, "o", _MARK * 2.6, "", INK, 0.9))
        case _:
            drawing.shapes.append(shapes.Mark((at[0], at[1] + _MARK * 1.5), "v", _MARK * 1.2, INK))


# The signs of a key, each as it stands in the frame.


def _draw_sign(drawing: Drawing, sign: Any, start: Spot, wide: float) -> None:
    """One sign in a room of its own, from its left end in the middle of the line."""
    x, y = start
    middle, ends = (x + wide / 2, y), ((x, y), (x + wide, y))
    match sign:
        case Curve(kind=model.TRACE):
            drawing.shapes.append(Line(ends, _TRACE, INK))
        case Curve(kind=kind):
            drawing.shapes.append(Line(ends, _CURVE, INK, _BEYOND if kind == model.BEYOND else ()))
        case Band():
            drawing.shapes.append(Area(((x, y - 2.2), (x + wide, y - 2.2), (x + wide, y + 2.2), (x, y + 2.2)), PALE))
            drawing.shapes.extend(Line(((x, y + up), (x + wide, y + up)), _FINE, INK) for up in (-2.2, 2.2))
        case Range(low=None):
            _whole_height(drawing, Rectangle(x, y - 2.8, x + wide, y + 2.8), sign.kind)
        case Range():
            _box(drawing, Rectangle(x, y - 2.2, x + wide, y + 2.2))
        case Limit():
            _limit(drawing, middle, sign.allowed, wide / 2)
        case Points():
            _point(drawing, (middle[0], y - (_MARK if sign.state == model.FULL_SPAN else 0.0)), sign.state)
        case Mark(kind=model.PEAK):
            _mark(drawing, (middle[0], y - _MARK * 1.5), sign.kind)
        case Mark():
            _mark(drawing, middle, sign.kind)
        case str():
            box = Rectangle(x, y - 2.8, x + wide, y + 2.8)
            _part(drawing, box, int(sign))
        case _:
            drawing.shapes.append(Line(ends, _UPRIGHT, INK, _DASHED))


def stack_keys(panel: Panel) -> Iterator[Key]:
    """The parts of a stack by their names, the lowest first."""
    for index, name in enumerate(panel.parts):
        yield Key(name, str(index))
