"""What the full screen of a recording shows: figures read from afar, limits, the curve as it comes, the next load."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from certgen.messages.catalogue import Message, text_of
from certgen.recorder.live import Live, Margin, against_limit
from certgen.recorder.upset_watch import Sample

if TYPE_CHECKING:
    from rich.console import RenderableType

Words = Callable[[Message | str], str]


# When a load has been held long enough to count, while it is held.


@dataclass(frozen=True)
class Held:
    """How long the newest speed and torque have been steady [s], and how many loads have counted so far.

    ``torque`` and ``speed`` are the means over that time [N*m, rad/s]; ``new`` where this is the moment it counts.
    """

    time: float
    needed: float
    counted: int
    torque: float = math.nan
    speed: float = math.nan
    new: bool = False


_ROUNDING = 1e-6  # of times [s]
#: Part of the greatest torque whose band a smaller one has, as where logs are reduced.
_LEAST = 0.2


class SteadyWatch:
    """Follows speed and torque back from the newest row for as long as both stayed within their bands.

    It says when a load is likely to count and judges nothing: the log is judged when the job is.

    Parameters
    ----------
    hold : float
        How long both must hold. [s]
    speed_band, torque_band : float
        Part of the mean by which each may be off either way; of torque, of at least a fifth of the greatest. [1]
    """

    def __init__(self, hold: float, speed_band: float, torque_band: float) -> None:
        self._hold, self._bands = hold, (speed_band, torque_band)
        self._kept: deque[Sample] = deque(maxlen=4000)
        self._greatest, self._counted, self._told = 0.0, 0, False

    def of(self, samples: Iterable[Sample]) -> Held:
        """Where the newest load stands after these rows, oldest first."""
        new = False
        for sample in samples:
            if not (math.isfinite(sample.speed) and math.isfinite(sample.torque)):
                continue
            self._greatest = max(self._greatest, abs(sample.torque))
            self._kept.append(sample)
            while len(self._kept) > 1 and not self._within():
                self._kept.popleft()
                self._told = self._told and self._length() >= self._hold
            if self._length() >= self._hold - _ROUNDING and not self._told and self._turns():
                self._told = new = True
                self._counted += 1
            while len(self._kept) > 2 and self._kept[-1].time - self._kept[1].time > 2.0 * self._hold:
                self._kept.popleft()
        if not self._kept:
            return Held(0.0, self._hold, self._counted)
        count = len(self._kept)
        torque, speed = sum(one.torque for one in self._kept) / count, sum(one.speed for one in self._kept) / count
        return Held(min(self._length(), self._hold), self._hold, self._counted, torque, speed, new)

    def pause(self) -> None:
        """The port goes away: what happens meanwhile is not known."""
        self._kept.clear()
        self._told = False

    def _length(self) -> float:
        return self._kept[-1].time - self._kept[0].time if self._kept else 0.0

    def _turns(self) -> bool:
        return self._kept[-1].speed > 0.0

    def _within(self) -> bool:
        speeds, torques = [one.speed for one in self._kept], [abs(one.torque) for one in self._kept]
        speed_band, torque_band = self._bands
        torque = max(sum(torques) / len(torques), _LEAST * self._greatest)
        steady = max(speeds) - min(speeds) <= 2.0 * speed_band * abs(sum(speeds) / len(speeds))
        return steady and max(torques) - min(torques) <= 2.0 * torque_band * torque


# The loads of the plan, and which of them were taken.


@dataclass(frozen=True)
class PlannedLoad:
    """A load to take: its name, torque at the tested shaft [N*m], speed where it is known [rad/s], what to read then."""

    name: Message | str
    torque: float
    speed: float = math.nan
    scale: str = ""


class Loads:
    """The loads of a plan, and which of them were held."""

    def __init__(self, planned: Sequence[PlannedLoad]) -> None:
        self.planned, self._taken = tuple(planned), set[int]()
        self._near = 0.06 * max((abs(one.torque) for one in planned), default=0.0)  # common practice, no source

    def take(self, torque: float) -> None:
        """A load was held at this torque. [N*m]"""
        near = [at for at, one in enumerate(self.planned) if abs(one.torque - torque) <= self._near]
        if near:
            self._taken.add(min(near, key=lambda at: abs(self.planned[at].torque - torque)))

    @property
    def next(self) -> PlannedLoad | None:
        """The first load of the plan that was not held yet."""
        return next((one for at, one in enumerate(self.planned) if at not in self._taken), None)


# The picture as plain data, and as text for a terminal.


@dataclass(frozen=True)
class Face:
    """Everything the screen shows at one moment; speeds in rad/s, torques in N*m."""

    live: Live | None
    held: Held | None
    loads: Loads
    points: Sequence[tuple[float, float]]  # speed and torque, oldest first
    plate: tuple[float, float] | None
    line: tuple[Message | str, ...]  # state, counts and time, as the plain line has them
    happened: tuple[str, ...] = ()  # the newest notices, the newest last
    bell: bool = True


#: Figures of five rows, each row's dots from left to right as bits. Own drawing.
_FONT = {
    "0": (7, 5, 5, 5, 7), "1": (2, 6, 2, 2, 7), "2": (7, 1, 7, 4, 7), "3": (7, 1, 7, 1, 7), "4": (5, 5, 7, 1, 1),
    "5": (7, 4, 7, 1, 7), "6": (7, 4, 7, 5, 7), "7": (7, 1, 2, 2, 2), "8": (7, 5, 7, 5, 7), "9": (7, 5, 7, 1, 7),
    "-": (0, 0, 7, 0, 0), "−": (0, 0, 7, 0, 0), ".": (0, 0, 0, 0, 2), ",": (0, 0, 0, 2, 4), " ": (0, 0, 0, 0, 0),
}  # fmt: skip
_ROWS, _DOTS = 5, 3


def large(text: str) -> list[str]:
    """Figures as five rows of blocks, two columns a dot, so that they are read from two metres away."""
    rows = []
    for row in range(_ROWS):
        signs = (_FONT.get(sign, _FONT[" "])[row] for sign in text)
        dots = ("".join("██" if bits >> (_DOTS - 1 - dot) & 1 else "  " for dot in range(_DOTS)) for bits in signs)
        rows.append(" ".join(dots))
    return rows


def bar(share: float, width: int) -> str:
    """How near a value is to its limit, drawn; past it the bar is full and ends in an arrow."""
    if not math.isfinite(share):
        return "." * width
    filled = round(min(max(share, 0.0), 1.0) * width)
    return "#" * (width - 1) + ">" if share > 1.0 else "#" * filled + "." * (width - filled)


def chart(face: Face, width: int, height: int) -> list[str]:
    """Torque over speed in characters: rows as they came '.', the newest '@', loads of the plan 'o', the plate 'P'."""
    marks: list[tuple[float, float, str]] = [(speed, torque, ".") for speed, torque in face.points]
    marks += [(one.speed, one.torque, "o") for one in face.loads.planned]
    if face.plate is not None:
        marks.append((*face.plate, "P"))
    if face.points:
        marks.append((*face.points[-1], "@"))
    marks = [mark for mark in marks if math.isfinite(mark[0]) and math.isfinite(mark[1])]
    if not marks:
        return [" " * width] * height
    slowest, fastest, most = ends_of_chart(face)
    grid = [[" "] * width for _ in range(height)]
    for speed, torque, sign in marks:
        across = round((speed - slowest) / (fastest - slowest) * (width - 1))
        up = round(max(torque, 0.0) / most * (height - 1))
        grid[height - 1 - up][across] = sign
    return ["".join(row) for row in grid]


def ends_of_chart(face: Face) -> tuple[float, float, float]:
    """Least and greatest speed of the chart [rad/s], and its greatest torque [N*m]; zero where nothing is known."""
    planned = [(one.speed, one.torque) for one in face.loads.planned]
    spots = [*face.points, *planned, *([face.plate] if face.plate else [])]
    spots = [spot for spot in spots if all(map(math.isfinite, spot))]
    if not spots:
        return 0.0, 0.0, 0.0
    speeds, torques = zip(*spots, strict=True)
    fastest = max(*speeds, 1.0)
    return min(*speeds, 0.9 * fastest), fastest, max(*torques, 1e-6)


#: The least room for the full screen; below it the plain line stays. [columns, rows]
LEAST = (80, 24)
_FIGURES = ("speed", "torque", "power", "load")
_WIDTH_OF_BAR = 24


def drawn(face: Face, width: int, height: int, units: str) -> RenderableType:
    """The whole screen, for the rich library to write."""
    from rich.console import Group
    from rich.text import Text

    def words(message: Message | str) -> str:
        return text_of(message, units=units)

    lines = [*_figures(face, width, words), ""]
    below = [*_limits(face, words), "", *_state(face, words)]
    room = max(height - len(lines) - len(below) - 3, 4)
    slowest, fastest, most = ends_of_chart(face)
    lines.append(words(Message("recorder.screen.chart", torque=most)))
    lines += [f"|{row}" for row in chart(face, width - 2, room)]
    lines.append(words(Message("recorder.screen.speeds", slowest=slowest, fastest=fastest)))
    return Group(*(Text(line[:width], no_wrap=True) for line in (*lines, *below)[:height]))


def _figures(face: Face, width: int, words: Words) -> list[str]:
    """Speed, torque, power and part of the rated load side by side, in blocks, each with its unit above."""
    columns: list[list[str]] = []
    for name in _FIGURES:
        value = math.nan if face.live is None else getattr(face.live, name)
        if not math.isfinite(value):
            continue
        figure, _, unit = words(Message(f"recorder.live.{name}", value=value)).partition(" ")
        columns.append([unit.strip(), *large(figure)])
    while columns and sum(len(column[1]) + 4 for column in columns) > width:
        columns.pop()  # of the least weight
    if not columns:
        return [words(Message("recorder.screen.nothing"))]
    rows = []
    for row in range(_ROWS + 1):
        rows.append("    ".join(column[row].ljust(len(column[1]))[: len(column[1])] for column in columns))
    return rows


def _limits(face: Face, words: Words) -> list[str]:
    margins: Sequence[Margin] = () if face.live is None else face.live.margins
    ordered = sorted(margins, key=lambda one: one.share, reverse=True)[:4]
    return [f"[{bar(one.share, _WIDTH_OF_BAR)}] {words(against_limit(one))}" for one in ordered]


def _state(face: Face, words: Words) -> list[str]:
    """Whether the load is steady, which comes next, what happened, and the keys."""
    lines = []
    if face.held is not None and face.live is not None:
        key = "counted" if face.held.time >= face.held.needed else "steady"
        said = Message(f"recorder.screen.{key}", held=face.held.time, needed=face.held.needed, count=face.held.counted)
        lines.append(words(said))
    if face.loads.planned:
        load = face.loads.next
        if load is None:
            lines.append(words(Message("recorder.screen.all_taken")))
        else:
            key = "next" if load.scale else "next_torque"
            lines.append(words(Message(f"recorder.screen.{key}", name=load.name, torque=load.torque, scale=load.scale)))
    lines += face.happened[-3:]
    lines.append(" | ".join(map(words, face.line)))
    lines.append(words(Message("recorder.screen.keys_bell" if face.bell else "recorder.screen.keys_silent")))
    return lines


#: Rows of one batch that are followed for the picture, and the time from one to the next [s].
_MOST_FOLLOWED, _BETWEEN = 40, 0.05


class Dashboard:
    """Keeps what the screen shows from one batch of rows to the next."""

    def __init__(self, loads: Sequence[PlannedLoad], plate: tuple[float, float] | None, watch: SteadyWatch) -> None:
        self._loads, self._plate, self._watch = Loads(loads), plate, watch
        self._points: deque[tuple[float, float]] = deque(maxlen=1500)
        self._last = -math.inf
        self._held: Held | None = None

    def take(self, samples: Sequence[Sample]) -> bool:
        """New rows, oldest first; whether a load has just counted."""
        followed = []
        for sample in samples[:: max(len(samples) // _MOST_FOLLOWED, 1)]:  # a fast logger's rows are not all needed
            if sample.time - self._last >= _BETWEEN and math.isfinite(sample.speed * sample.torque):
                followed.append(sample)
                self._last = sample.time
        self._points.extend((sample.speed, sample.torque) for sample in followed)
        self._held = self._watch.of(followed)
        if self._held.new:
            self._loads.take(self._held.torque)
        return self._held.new

    def pause(self) -> None:
        """The port goes away."""
        self._watch.pause()
        self._held = None

    def face(self, live: Live | None, line: tuple[Message | str, ...]) -> Face:
        """What is to be seen now."""
        return Face(live, self._held, self._loads, tuple(self._points), self._plate, line)
