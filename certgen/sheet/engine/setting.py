"""A block set for one width and one text size: marks at fixed places, ready to be drawn.

Coordinates are points from the top left corner of the block, y downward; the baseline of a text is its y.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Any, NamedTuple

from certgen.job.pictures import Picture
from certgen.sheet.pdf.fonts import (
    BASELINE,
    BOLD,
    LARGE_LEADING,
    LEADING,
    REGULAR,
    Lines,
    Span,
    fitting_size,
    width,
    wrap,
)
from certgen.sheet.pdf.logo import DrawnLogo, Logo
from certgen.sheet.pdf.structure import HEADING, PARAGRAPH, Tag

MM = 72.0 / 25.4

#: Weights of rules. [pt]
HAIRLINE = 0.35
THIN = 0.6
HEAVY = 1.4
#: Size of the title of a sheet, in parts of the body text.
TITLE = 2.1
#: Part of the spare room of a line that stands before it.
_BEFORE = {"left": 0.0, "centre": 0.5, "right": 1.0}
#: Text from this size on is large, in parts of the body text.
_LARGE = 1.4


class TextMark(NamedTuple):
    """A text on one line."""

    x: float
    y: float
    text: str
    face: str
    size: float
    ink: str = "ink"
    tag: Tag | None = None  # the element of the structure that it belongs to


class RuleMark(NamedTuple):
    """A straight line, level or upright."""

    x: float
    y: float
    to_x: float
    to_y: float
    weight: float
    ink: str = "rule"
    dashes: tuple[float, ...] = ()


class FaceMark(NamedTuple):
    """A filled rectangle from its upper left corner."""

    x: float
    y: float
    width: float
    height: float
    ink: str = "ink"


class SignMark(NamedTuple):
    """A marker about a spot: its shape as a drawing knows it ('o', 's', 'D', 'x', '^', 'v'), filled or with an edge."""

    x: float
    y: float
    shape: str
    size: float
    fill: str = "ink"
    edge: str = ""
    weight: float = 0.0


class ChartMark(NamedTuple):
    """A chart: ``paint(canvas, x, y, width, height)`` draws it into a rectangle given from its lower left corner."""

    x: float
    y: float
    width: float
    height: float
    paint: Callable[[Any, float, float, float, float], None]
    alt: str | Callable[[], str] = ""  # what it shows, in words


class PictureMark(NamedTuple):
    """A picture in a rectangle from its upper left corner."""

    x: float
    y: float
    width: float
    height: float
    picture: Logo | DrawnLogo | Picture
    alt: str = ""  # what it shows, in words


Mark = TextMark | RuleMark | FaceMark | SignMark | ChartMark | PictureMark


@dataclass(frozen=True)
class Area:
    """What a block is set for: its width, the body text size and the smallest allowed, the height of a chart.

    ``page`` is the number of the page and how many there are.
    """

    width: float
    size: float
    smallest: float
    height: float | None = None
    page: tuple[int, int] = (1, 1)

    def scaled(self, factor: float) -> float:
        """A size relative to the body text, not below the smallest."""
        return max(self.smallest, self.size * factor)


class Later(NamedTuple):
    """Marks that are made when they are asked for, and then moved: a page is measured in several text sizes, and drawn
    in one."""

    make: Callable[[], Iterable[Mark]]
    x: float = 0.0
    y: float = 0.0


@dataclass(frozen=True)
class Setting:
    """A block as set: the height it needs, and what it is made of."""

    height: float
    parts: tuple[Mark | Later, ...]

    @cached_property
    def marks(self) -> tuple[Mark, ...]:
        """Its marks."""
        found: list[Mark] = []
        for part in self.parts:
            if not isinstance(part, Later):
                found.append(part)
            elif part.x or part.y:
                found.extend([moved(mark, part.x, part.y) for mark in part.make()])
            else:
                found.extend(part.make())
        return tuple(found)


@dataclass(frozen=True)
class Stretch:
    """Heights a stretchable block may take. [pt]"""

    minimum: float
    preferred: float
    maximum: float


@dataclass(frozen=True)
class Block:
    """A block with its content: sets itself for an area; stretchable blocks say how far.

    A block that may be cut at the end of a page gives, for an area and the room there, its first part and the rest,
    or ``None`` where not even the least part fits.
    """

    set: Callable[[Area], Setting]
    stretch: Stretch | None = None
    divide: Callable[[Area, float], tuple[Block, Block] | None] | None = None


@dataclass(frozen=True)
class BlockKind:
    """A kind of block: ``make(content, settings)`` gives the block, ``advice`` says what shortens it.

    ``make`` gives ``None`` where the test has nothing to show in it; the block then takes no room.
    """

    make: Callable[[Any, Any], Block | None]
    advice: str


class TooNarrow(Exception):
    """A block cannot be set in the width it was given, even in the smallest text; ``excess`` in points."""

    def __init__(self, excess: float) -> None:
        self.excess = excess
        super().__init__(f"{excess:.1f} pt too wide")


@dataclass
class Flow:
    """Sets one thing below the other within an area."""

    area: Area
    y: float = 0.0
    marks: list[Mark | Later] = field(default_factory=list)

    def space(self, lines: float) -> None:
        """Leave room, in parts of the body text size."""
        self.y += lines * self.area.size

    def rule(self, weight: float = THIN, ink: str = "rule", *, x: float = 0.0, to_x: float | None = None) -> None:
        """A level line over the whole width, or part of it; takes its own weight in height."""
        end = self.area.width if to_x is None else to_x
        self.marks.append(RuleMark(x, self.y + weight / 2, end, self.y + weight / 2, weight, ink))
        self.y += weight

    def text(self, text: str, **place: Any) -> None:
        """One text, wrapped; see ``spans`` for the place."""
        face, ink = place.pop("face", REGULAR), place.pop("ink", "ink")
        self.spans([Span(text, face, ink)], **place)

    def spans(
        self,
        spans: Iterable[Span],
        *,
        size: float | None = None,
        x: float = 0.0,
        room: float | None = None,
        align: str = "left",
        tag: Tag | None = None,
    ) -> None:
        """Spans as wrapped lines from ``x`` over ``room``, by default to the right edge, in a text size.

        They are a paragraph of the structure, or belong to the element given.
        """
        size = self.area.size if size is None else size
        room = self.area.width - x if room is None else room
        lines = wrap(spans, room, size)
        leading = (LARGE_LEADING if size > _LARGE * self.area.size else LEADING) * size
        self.marks.append(
            Later(
                partial(
                    _lines,
                    lines,
                    x,
                    self.y,
                    room,
                    before=_BEFORE[align],
                    size=size,
                    leading=leading,
                    tag=tag or Tag(PARAGRAPH),
                )
            )
        )
        for _ in lines:
            self.y += leading

    def large(self, text: str, scale: float, *, ink: str = "ink", align: str = "left", tag: Tag | None = None) -> None:
        """A bold text so many times as large as the body text, or as large as one line has room for."""
        size = fitting_size(text, BOLD, self.area.scaled(scale), self.area.width)
        self.text(text, face=BOLD, ink=ink, size=max(self.area.smallest, size), align=align, tag=tag)

    def title(self, text: str) -> None:
        """The title of a block under a rule; nothing where the layout gives none."""
        if text:
            self.rule(THIN, "bar")
            self.space(0.25)
            self.text(text, face=BOLD, ink="title", size=self.area.scaled(1.08), tag=Tag(HEADING))
            self.space(0.1)

    def place(self, setting: Setting, x: float = 0.0, *, advance: bool = True) -> None:
        """Put a part set elsewhere here, its left edge at ``x``."""
        self.marks.append(Later(lambda: setting.marks, x, self.y))
        if advance:
            self.y += setting.height

    def done(self) -> Setting:
        """What was set."""
        return Setting(self.y, tuple(self.marks))


def _lines(
    lines: Lines, x: float, y: float, room: float, *, before: float, size: float, leading: float, tag: Tag
) -> Iterator[TextMark]:
    """The texts of wrapped lines from a corner downwards, a part of the spare room before each."""
    for line in lines:
        last = line[-1] if line else None
        taken = last.x + width(last.span.text, last.span.face, size) if last else 0.0
        start = x + (room - taken) * before
        for piece in line:
            span = piece.span
            yield TextMark(start + piece.x, y + BASELINE * size, span.text, span.face, size, span.ink, tag)
        y += leading


def moved(mark: Mark, dx: float, dy: float) -> Mark:
    """The same mark elsewhere."""
    if isinstance(mark, TextMark):
        return TextMark(mark.x + dx, mark.y + dy, mark.text, mark.face, mark.size, mark.ink, mark.tag)
    if isinstance(mark, RuleMark):
        return RuleMark(mark.x + dx, mark.y + dy, mark.to_x + dx, mark.to_y + dy, mark.weight, mark.ink, mark.dashes)
    return mark._replace(x=mark.x + dx, y=mark.y + dy)


def side_by_side(area: Area, parts: Iterable[tuple[float, Callable[[Area], Setting]]], gap: float) -> Setting:
    """Parts set beside one another, each with a share of the width."""
    listed = list(parts)
    room = area.width - gap * (len(listed) - 1)
    total = sum(share for share, _ in listed)
    flow, x, lowest = Flow(area), 0.0, 0.0
    for share, set_part in listed:
        part_width = room * share / total
        part = set_part(replace(area, width=part_width))
        flow.place(part, x, advance=False)
        lowest = max(lowest, part.height)
        x += part_width + gap
    flow.y = lowest
    return flow.done()
