"""What stands in the terminal, and that a terminal that does not listen holds up nothing."""

from __future__ import annotations

import contextlib
import io
import math
import os
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.messages.catalogue import Message
from certgen.readings.recording.recording import MOST_KEPT, Tally
from certgen.recorder.live import Live, Margin, picture, summary
from certgen.recorder.screen import Screen, fitted

pytestmark = pytest.mark.slow


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def shown(stream: io.StringIO, parts: tuple[str, ...], message: str = "") -> str:
    screen = Screen(stream)
    screen.start()
    screen.show(parts)
    if message:
        screen.say(message, urgent=True)
    time.sleep(0.5)
    screen.close()
    assert not screen.is_alive()
    return stream.getvalue()


def test_a_terminal_has_one_line_that_changes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "30")
    told = shown(Terminal(), ("1420 rpm", "9.87 N*m", "98 % of rated load"), "NEAR THE LIMIT")
    assert "\a\r\x1b[KNEAR THE LIMIT\n" in told
    assert "\r\x1b[K1420 rpm | 9.87 N*m" in told
    assert "rated load" not in told
    assert "\x1b[3" not in told  # no colour, so none that carries a meaning


def test_a_terminal_that_rewrites_no_line_gets_plain_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "dumb")
    told = shown(Terminal(), ("1420 rpm", "9.87 N*m"))
    assert told == "1420 rpm | 9.87 N*m\n"


def test_a_pipe_gets_messages_and_no_picture() -> None:
    assert shown(io.StringIO(), ("1420 rpm",), "the port is open") == "the port is open\n"


def test_a_pipe_nobody_reads_from_or_that_is_closed_holds_up_nothing() -> None:
    read_end, write_end = os.pipe()
    os.set_blocking(write_end, True)
    with os.fdopen(write_end, "w", encoding="utf-8") as stream:
        screen = Screen(stream)
        screen.start()
        for _ in range(300):
            screen.say("x" * 1000)
        began = time.monotonic()
        screen.say("and another")
        assert time.monotonic() - began < 1.0
        os.close(read_end)
        screen.close()
        with contextlib.suppress(BrokenPipeError):
            stream.flush()
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


@given(parts=st.lists(st.text("abc", min_size=1, max_size=30), min_size=1, max_size=6), width=st.integers(0, 80))
def test_a_picture_is_never_wider_than_the_terminal(parts: list[str], width: int) -> None:
    line = fitted(tuple(parts), width)
    assert len(line) <= width
    assert " | ".join(parts).startswith(line)


def test_the_picture_tells_the_figures_and_the_nearest_limit() -> None:
    live = Live(
        148.7, 9.87, 1468.0, 0.978, (Margin("torque", 9.87, 16.0, "torque"), Margin("scale", 2.06, 5.0, "mass"))
    )
    parts = picture(live, Tally(rows=1, marks=2), 751.0, None)
    assert tuple(map(str, parts)) == (
        "1420 rpm", "9.87 N·m", "1468 W", "98 % of rated load", "nearest limit: torque 9.87 of 16 N·m", "12:31", "1 row",
        "2 marks",
    )  # fmt: skip


def test_a_limit_that_presses_stands_first() -> None:
    live = Live(math.nan, 14.6, math.nan, math.nan, (Margin("torque", 14.6, 16.0, "torque"),))
    assert tuple(map(str, picture(live, Tally(), 0.0, None)[:2])) == (
        "NEAR THE LIMIT: torque 14.6 of 16 N·m",
        "14.60 N·m",
    )
    assert str(picture(None, Tally(), 0.0, Message("recorder.silence", time=4.0))[0]) == "no line for 4 s"


def test_the_summary_counts_what_was_not_read() -> None:
    tally = Tally(rows=12, marks=1, gaps=2, away=4.25, cut_at_opening=1)
    tally.unread.update({"not text": 1, "with NUL bytes": MOST_KEPT + 1})
    assert list(map(str, summary(tally, "run.csv"))) == [
        "run.csv: 12 rows recorded, 1 mark",
        "2 gaps, 4.2 s in all, without the port",
        "1 line cut short at the start, left out",
        f"{MOST_KEPT + 1} lines not read: with NUL bytes",
        "1 line not read: not text",
        "lines not read are kept in the file as comments, the last 2 only counted",
    ]
