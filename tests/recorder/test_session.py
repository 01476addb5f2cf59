"""The loop of a recording, event by event."""

from __future__ import annotations

from pathlib import Path
from queue import SimpleQueue

import pytest
from builders import make_job, make_rig
from serial_logger import RIG, data_rows

from certgen.document.build import Reader
from certgen.document.source import Problems, parse
from certgen.job.load import LoadedJob
from certgen.job.rig import Rig, RigLimits
from certgen.messages.catalogue import Message
from certgen.readings.recording.file import RecordingFailed
from certgen.readings.recording.port import Arrived, Back, Ended, Events, Gone, Line, Waiting
from certgen.readings.recording.recording import begin
from certgen.readings.recording.rows import LineReader
from certgen.recorder.live import LiveView
from certgen.recorder.record import Session, Stop
from certgen.recorder.screen import Key, Screen
from certgen.recorder.upset_watch import Sample


class Heard(Screen):
    """A screen that keeps what it is told."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.urgent: list[str] = []
        self.pictures: list[tuple[str, ...]] = []

    def say(self, text: Message | str, *, urgent: bool = False) -> None:
        (self.urgent if urgent else self.said).append(str(text))

    def show(self, parts: tuple[str, ...]) -> None:
        self.pictures.append(tuple(map(str, parts)))


class Clock:
    """A clock that is set by hand. [s]"""

    now = 0.0

    def __call__(self) -> float:
        return self.now


class Bench:
    """A session on a file, with a clock and a screen to look at."""

    def __init__(self, folder: Path) -> None:
        self.path, self.clock, self.screen = folder / "run.csv", Clock(), Heard()
        problems = Problems()
        reader = Reader("rig.yaml", folder, problems)
        root = parse(RIG, "rig.yaml", problems)
        assert root is not None
        rig = reader.group(Rig, root)
        assert rig is not None and rig.logger is not None
        line_reader = LineReader(rig.logger, rig)
        recording = begin(self.path, line_reader, about=[], monotonic=0.0, wall=0.0)
        loaded = LoadedJob(make_job(), make_rig("arm", limits=RigLimits(torque=16.0)), folder, reader, reader)
        self.session = Session(recording, LiveView(loaded, None), self.screen, self.clock)

    def take(self, *events: object) -> None:
        queue: Events = SimpleQueue()
        for event in (*events, Stop()):
            queue.put(event)
        self.session.run(queue)

    def rows(self) -> list[str]:
        return data_rows(self.path.read_text(encoding="utf-8"))


def line(data: bytes, at: float = 0.0) -> Arrived:
    return Arrived(Line(data), at)


@pytest.fixture
def on_bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


def test_the_file_has_the_rows_before_the_picture_is_shown(on_bench: Bench) -> None:
    on_disk: list[int] = []
    on_bench.screen.show = lambda parts: on_disk.append(len(on_bench.rows()))  # type: ignore[method-assign]
    on_bench.take(Back(0.0), line(b"1492,0.1,1.9"), line(b"1420,2.0,3.4"))
    assert on_disk == [2]


def test_a_fault_in_the_live_view_stops_the_view_and_not_the_recording(
    on_bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(view: LiveView, rows: object) -> None:
        raise ZeroDivisionError("a mistake")

    monkeypatch.setattr(LiveView, "of", faulty)
    on_bench.take(line(b"1492,0.1,1.9"))
    on_bench.take(line(b"1420,2.0,3.4"))
    assert len(on_bench.rows()) == 2
    told = "the live figures stop (ZeroDivisionError: a mistake); the recording goes on"
    assert on_bench.screen.said == [told]


def test_a_peak_between_two_pictures_is_told(on_bench: Bench) -> None:
    """3.1 kg at 0.5 m is 15.2 N*m, near 16; the rows after it are light again."""
    on_bench.take(line(b"1420,1.0,3.4"), line(b"1400,3.1,5.4"), line(b"1420,1.0,3.4"))
    assert on_bench.screen.urgent == ["NEAR THE LIMIT: torque 15.2 of 16 N·m."]


def test_the_port_comes_late_goes_and_comes_again(on_bench: Bench) -> None:
    on_bench.take(Waiting("no such file"), Back(3.0), line(b"1492,0.1,1.9", 4.0), Gone(5.0, "gone"), Back(7.0))
    assert on_bench.screen.said == [
        "waiting for the port (no such file)",
        "the port is open",
        "the port is gone; waiting for it (gone)",
        "the port is back",
    ]
    tally = on_bench.session.recording.tally
    assert (tally.gaps, tally.away) == (1, 2.0)


def test_a_port_that_is_away_at_the_end_was_away_until_then(on_bench: Bench) -> None:
    on_bench.take(Back(0.0), line(b"1492,0.1,1.9", 4.0), Gone(5.0, "gone"))
    on_bench.session.recording.close(65.0)
    tally = on_bench.session.recording.tally
    assert (tally.gaps, tally.away) == (1, 60.0)
    assert on_bench.path.read_text(encoding="utf-8").endswith(
        "# gap from 5.000 s: gone\n# gap to the end, at 65.000 s\n"
    )


def test_a_load_that_is_lost_is_named_when_it_happens(on_bench: Bench) -> None:
    """2 kg at 0.5 m is 9.81 N*m; the scale shows next to nothing for two seconds, and the motor speeds up."""
    for second in range(10):
        on_bench.take(line(b"1420,2.0,3.4", float(second)))
    on_bench.take(line(b"1488,0.02,1.9", 10.0))
    assert on_bench.screen.urgent == []  # one row may be a fault of the logger
    on_bench.take(line(b"1489,0.02,1.9", 11.0))
    (said,) = on_bench.screen.urgent
    assert said.startswith("LOAD LOST: torque from 9.81 N·m to 0.10 N·m at 1489 rpm. If you did not take it off: ")
    on_bench.take(line(b"1420,2.0,3.4", 12.0))
    assert on_bench.screen.urgent[1:] == ["the load is back after 2.0 s"]


def test_a_disk_that_fills_up_says_how_much_is_safe(on_bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    for second in range(3):
        on_bench.take(line(b"1420,2.0,3.4", 12.5 + second))

    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.write", full)
    with pytest.raises(RecordingFailed, match=r"the 3 rows before it, up to 14\.5 s, are safe\. Make room"):
        on_bench.take(line(b"1421,2.0,3.4", 15.5))
    monkeypatch.undo()
    assert len(on_bench.rows()) == 3


def test_figures_of_a_moment_ago_are_not_shown_as_those_of_now(on_bench: Bench) -> None:
    on_bench.take(line(b"1420,2.0,3.4"))
    assert on_bench.screen.pictures[-1][0] == "1420 rpm"
    on_bench.take(Gone(1.0, "gone"))
    assert not any("rpm" in part for part in on_bench.screen.pictures[-1])
    on_bench.take(Back(2.0))
    assert not any("rpm" in part for part in on_bench.screen.pictures[-1])
    on_bench.take(line(b"1421,2.0,3.4", 2.5))
    assert on_bench.screen.pictures[-1][0] == "1421 rpm"
    on_bench.clock.now = 6.0
    on_bench.take()
    assert on_bench.screen.pictures[-1][:2] == ("no line for 4 s", "0:06")


@pytest.mark.parametrize("sign", ["q", "Q", "\x03", "\x04"])
def test_keys_end_it(on_bench: Bench, sign: str) -> None:
    queue: Events = SimpleQueue()
    queue.put(Key(sign))
    on_bench.session.run(queue)
    assert on_bench.session.failure == ""


def test_other_keys_do_nothing(on_bench: Bench) -> None:
    on_bench.take(Key("x"), Key("\x1b"), Key(" "), line(b"1492,0.1,1.9"))
    assert on_bench.rows() == ["0.000,1492,0.1,1.9,mark 1"]


def test_a_source_that_fails_says_why(on_bench: Bench) -> None:
    on_bench.take(Ended("it broke"))
    assert on_bench.session.failure == "it broke"


def test_silence_is_told_once(on_bench: Bench) -> None:
    on_bench.take(Back(0.0))
    on_bench.clock.now = 4.0
    on_bench.take()
    assert on_bench.screen.pictures[-1][0] == "no line for 4 s"
    for on_bench.clock.now in (12.0, 13.0):
        on_bench.take()
    silent = "no line for 12 s: is the logger sending, at the baud of the rig file?"
    assert on_bench.screen.said == ["the port is open", silent]


def test_a_flood_is_searched_for_upsets_in_part(on_bench: Bench) -> None:
    """What follows the test row by row costs as much a second however fast lines come, so the file is not kept waiting."""
    flood = (Sample(at / 50_000.0, 150.0, 10.0) for at in range(50_000))
    assert len(list(on_bench.session._followed(flood))) <= 200
