"""The full screen of a recording: steady loads, loads of the plan, figures and chart; and the terminal it stands on."""

from __future__ import annotations

import fcntl
import io
import math
import os
import struct
import termios
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.messages.catalogue import Message, text_of
from certgen.messages.format import SI
from certgen.recorder.dashboard import (
    Dashboard,
    Face,
    Loads,
    PlannedLoad,
    SteadyWatch,
    bar,
    chart,
    drawn,
    large,
)
from certgen.recorder.live import Live, Margin
from certgen.recorder.screen import Screen
from certgen.recorder.upset_watch import Sample

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
PLAN = (PlannedLoad("full load", 10.0, 1430 * RPM, "2.04 kg"), PlannedLoad("half load", 5.0, 1468 * RPM, "1.02 kg"))


def run(*stretches: tuple[float, float, float], rate: float = 10.0) -> list[Sample]:
    """Rows of stretches, each its length [s], speed [rpm] and torque [N*m]."""
    rows, now = [], 0.0
    for length, speed, torque in stretches:
        for _ in range(round(length * rate)):
            rows.append(Sample(now, speed * RPM, torque))
            now += 1.0 / rate
    return rows


def test_a_load_counts_after_the_hold_once_and_the_next_one_again() -> None:
    watch, new = SteadyWatch(5.0, 0.005, 0.02), []
    for sample in run((8.0, 1430, 10.0), (8.0, 1468, 5.0)):
        held = watch.of([sample])
        if held.new:
            new.append((round(sample.time, 1), round(held.torque, 2)))
    assert new == [(5.0, 10.0), (13.0, 5.0)]
    assert held.counted == 2


def test_while_it_is_on_the_way_the_time_held_is_told() -> None:
    watch = SteadyWatch(5.0, 0.005, 0.02)
    held = watch.of(run((4.1, 1430, 10.0)))
    assert held.time == pytest.approx(4.0)
    assert (held.needed, held.counted, held.new) == (5.0, 0, False)
    assert watch.of([Sample(4.2, 1330 * RPM, 10.0)]).time == 0.0  # the speed fell out of its band


@pytest.mark.parametrize("drift", [0.019, 0.021])
def test_the_band_of_torque_is_that_of_logs(drift: float) -> None:
    """2 % of its mean either way, as a log's steady stretches have it."""
    watch = SteadyWatch(5.0, 0.005, 0.02)
    rows = [Sample(at / 10.0, 1430 * RPM, 10.0 * (1.0 + (drift if at % 2 else -drift))) for at in range(60)]
    assert watch.of(rows).counted == (1 if drift < 0.02 else 0)


def test_a_motor_at_rest_counts_nothing() -> None:
    assert SteadyWatch(5.0, 0.005, 0.02).of(run((20.0, 0, 0.0))).counted == 0


def test_the_next_load_is_the_first_of_the_plan_not_held() -> None:
    loads = Loads(PLAN)
    assert loads.next == PLAN[0]
    loads.take(7.6)  # near none
    assert loads.next == PLAN[0]
    loads.take(9.7)
    assert loads.next == PLAN[1]
    loads.take(5.1)
    assert loads.next is None


def face(**given: object) -> Face:
    dashboard = Dashboard(PLAN, (1430 * RPM, 10.0), SteadyWatch(5.0, 0.005, 0.02))
    dashboard.take(run((4.1, 1468, 5.0)))
    margins = (Margin("torque", 5.0, 16.0, "torque"), Margin("rated_current", 3.6, 3.4, "current", of_rig=False))
    live = Live(1468 * RPM, 5.0, 768.6, 0.51, margins)
    return Face(**{**vars(dashboard.face(live, ("0:04", "41 rows"))), **given})


def text(of: Face, width: int = 100, height: int = 32, units: str = SI) -> str:
    from rich.console import Console

    stream = io.StringIO()
    Console(file=stream, width=width, height=height, color_system=None, highlight=False, markup=False).print(
        drawn(of, width, height, units)
    )
    return stream.getvalue()


def test_everything_stands_on_the_screen() -> None:
    shown = text(face(happened=("The load fell from 9.9 N·m",)))
    for part in (
        "steady 4.0 s of 5.0 s; loads counted: 0",
        "next load: full load, scale 2.04 kg, 10.00 N·m", "The load fell from 9.9 N·m", "0:04 | 41 rows", "b bell off",
        "[########................]", "[#######################>]", "torque up to 10.00 N·m", "1321 rpm to 1468 rpm",
    ):  # fmt: skip
        assert part in shown, part
    for row in large("1468"):
        assert row.rstrip() in shown


def test_without_figures_it_says_so_and_with_all_loads_held_too() -> None:
    loads = Loads(PLAN)
    loads.take(10.0)
    loads.take(5.0)
    shown = text(face(live=None, loads=loads, bell=False))
    assert "no figures yet" in shown
    assert "all loads of the plan were held" in shown
    assert "b bell on" in shown


@given(st.text(alphabet="0123456789.,-− ", min_size=1, max_size=8))
def test_large_figures_are_five_rows_of_one_width(figure: str) -> None:
    rows = large(figure)
    assert len(rows) == 5
    assert {len(row) for row in rows} == {7 * len(figure) - 1}


def test_no_two_digits_look_alike() -> None:
    assert len({tuple(large(digit)) for digit in "0123456789"}) == 10


@given(st.floats(-1, 3) | st.just(math.nan), st.integers(2, 60))
def test_a_bar_is_as_wide_as_asked_and_full_only_at_its_limit(share: float, width: int) -> None:
    shown = bar(share, width)
    assert len(shown) == width
    assert (">" in shown) == (share > 1.0)


@given(
    st.lists(st.tuples(st.floats(-500, 500), st.floats(-50, 50)), max_size=20), st.integers(5, 120), st.integers(2, 40)
)
def test_a_chart_fits_its_room_whatever_comes(points: list[tuple[float, float]], width: int, height: int) -> None:
    rows = chart(face(points=points), width, height)
    assert len(rows) == height
    assert {len(row) for row in rows} == {width}
    assert any("o" in row for row in rows) or any(sign in row for row in rows for sign in "@P")


@pytest.mark.parametrize(("width", "height"), [(80, 24), (100, 30), (237, 60)])
def test_no_screen_is_larger_than_the_terminal(width: int, height: int) -> None:
    lines = text(face(happened=("x" * 400,) * 9), width, height).splitlines()
    assert len(lines) <= height
    assert max(map(len, lines)) <= width


def test_thousands_of_rows_a_second_are_followed_in_part() -> None:
    dashboard = Dashboard(PLAN, None, SteadyWatch(5.0, 0.005, 0.02))
    rows = run((6.0, 1430, 10.0), rate=5000.0)
    counted = sum(dashboard.take(rows[at : at + 500]) for at in range(0, len(rows), 500))
    assert counted == 1
    assert len(dashboard.face(None, ()).points) <= 130


def on_terminal(columns: int, rows: int, monkeypatch: pytest.MonkeyPatch, said: str = "") -> str:
    """What a terminal of this size is sent while a face is shown for a moment."""
    monkeypatch.setenv("TERM", "xterm")
    outer, inner = os.openpty()
    fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    with os.fdopen(inner, "w", encoding="utf-8", buffering=1) as stream:
        screen = Screen(stream)
        screen.start()
        screen.show(("1468 rpm", "5.00 N·m"))
        screen.see(face())
        time.sleep(0.5)
        if said:
            screen.say(said, urgent=True)
        screen.ring()
        time.sleep(0.5)
        screen.see(None)
        screen.close()
        told = b""
        os.set_blocking(outer, False)
        while True:
            try:
                told += os.read(outer, 65536)
            except OSError:
                break
    os.close(outer)
    return told.decode("utf-8")


def test_a_large_terminal_has_the_full_screen_and_gets_the_notices_back(monkeypatch: pytest.MonkeyPatch) -> None:
    told = on_terminal(100, 30, monkeypatch, "NEAR THE LIMIT")
    entered, _, rest = told.partition("\x1b[?1049h")  # xterm's own screen for such programs, and back
    shown, _, after = rest.partition("\x1b[?1049l")
    assert "next load: full load" in shown
    assert "NEAR THE LIMIT" in shown
    assert "\a" in shown
    assert "NEAR THE LIMIT" in after
    assert "next load" not in entered + after


def test_a_small_terminal_keeps_the_plain_line(monkeypatch: pytest.MonkeyPatch) -> None:
    told = on_terminal(79, 23, monkeypatch, "NEAR THE LIMIT")
    assert "\x1b[?1049h" not in told
    assert "1468 rpm | 5.00 N·m" in told
    assert "NEAR THE LIMIT" in told


def test_without_the_library_the_plain_line_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("certgen.recorder.screen._stage_on", lambda stream: None)
    assert "1468 rpm | 5.00 N·m" in on_terminal(100, 30, monkeypatch)


def test_every_language_fits_the_least_terminal() -> None:
    from certgen.messages.format import Units
    from certgen.messages.languages import shipped

    for tag in ("en", "de", "es", "fr"):
        units = Units(SI, language=shipped(tag))
        keys = text_of(Message("recorder.screen.keys_bell"), units=units)
        assert keys in text(face(), 80, 24, units)
