"""The words of the live line and of the summary at the end."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.readings.recording.recording import MOST_KEPT, Tally
from certgen.recorder.alarms import NEAR, standing, told
from certgen.recorder.live import Live

_RPM = 60.0 / (2.0 * math.pi)


def picture(live: Live | None, tally: Tally, elapsed: float, state: str) -> tuple[str, ...]:
    """The parts of the live line, the most important first."""
    return (*filter(None, [state]), *(_figures(live) if live is not None else ()), *_counts(tally, elapsed))


def _figures(live: Live) -> Iterator[str]:
    nearest = live.nearest
    pressing = nearest is not None and nearest.share >= NEAR
    if nearest is not None and pressing:
        yield told(nearest, 2 if nearest.share > 1.0 else 1).removesuffix(".")
    for value, text in (
        (live.speed, f"{live.speed * _RPM:.0f} rpm"),
        (live.torque, f"{live.torque:.2f} N*m"),
        (live.power, f"{live.power:.0f} W"),
        (live.load, f"{live.load * 100.0:.0f} % of rated load"),
    ):
        if math.isfinite(value):
            yield text
    if nearest is not None and not pressing:
        yield f"nearest limit: {standing(nearest)}"


def _counts(tally: Tally, elapsed: float) -> Iterator[str]:
    minutes, seconds = divmod(int(elapsed), 60)
    yield f"{minutes}:{seconds:02d}"
    yield _count(tally.rows, "row")
    if tally.marks:
        yield _count(tally.marks, "mark")
    if tally.unread:
        yield f"{tally.unread.total()} not read"


def summary(tally: Tally, path: str) -> Iterator[str]:
    """What was recorded and what was not, one a line."""
    yield f"{path}: {_count(tally.rows, 'row')} recorded, {_count(tally.marks, 'mark')}"
    if tally.gaps:
        yield f"{_count(tally.gaps, 'gap')}, {tally.away:.1f} s in all, in which the port was away"
    if tally.cut_at_opening:
        yield f"{_count(tally.cut_at_opening, 'line')} left out that was under way when the port opened"
    for why, times in tally.unread.most_common():
        yield f"{_count(times, 'line')} not read: {why}"
    if tally.unread:
        kept = "kept in the file as comments"
        more = tally.unread.total() - MOST_KEPT
        yield f"lines not read are {kept}" + (f", the last {more} only counted" if more > 0 else "")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
