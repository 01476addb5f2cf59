"""The readings file as it grows, is cut short, goes on, and is read back as the readings of a job."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import numpy as np
import pytest
import yaml
from bench import BENCHES, Bench
from hypothesis import given, settings
from hypothesis import strategies as st
from serial_logger import RIG, data_rows

from certgen.document.build import Reader
from certgen.document.source import Problems, parse
from certgen.job.load import load_job
from certgen.job.rig import Rig
from certgen.readings.model import Table
from certgen.readings.read import read_readings
from certgen.readings.recording.file import RecordingFailed, comment_line, torn_end
from certgen.readings.recording.port import CUT_AT_OPENING, Line
from certgen.readings.recording.recording import MOST_KEPT, Recording, begin, go_on, job_lines
from certgen.readings.recording.rows import LineReader

pytestmark = pytest.mark.slow

_WALL = 1_772_000_000.0


def line_reader(rig_text: str = RIG) -> LineReader:
    problems = Problems()
    root = parse(rig_text, "rig.yaml", problems)
    assert root is not None
    rig = Reader("rig.yaml", Path(), problems).group(Rig, root)
    assert rig is not None
    assert rig.logger is not None
    return LineReader(rig.logger, rig)


def begun(path: Path, rig_text: str = RIG) -> Recording:
    return begin(path, line_reader(rig_text), about=["about it"], monotonic=100.0, wall=_WALL)


def read_back(folder: Path, recording: str, reader: LineReader) -> tuple[Table | None, list[str]]:
    """The load test of a job that names a recording as the snippet says."""
    (folder / "motor").mkdir(exist_ok=True)
    (folder / "motor" / "run.csv").write_text(recording, encoding="utf-8", newline="")
    bench = Bench(folder)
    job = bench.texts["job"]
    lines = [line for line in job_lines("run.csv", reader.headers) if "steady" not in line]
    typed = job[job.index("  load_test:") : job.index("criteria:")]
    problems = Problems()
    loaded = load_job(bench.edit("job", {typed: "\n".join(lines) + "\n"}).write(), problems)
    readings = None if loaded is None else read_readings(loaded)
    told = [f"{Path(one.file).name}:{one.line}:{one.column}: {one.what}" for one in problems.found]
    return None if readings is None else readings.load_test, told


_TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\r\n\0\x02\x03"), max_size=20)


@settings(max_examples=60)
@given(
    rows=st.lists(
        st.tuples(st.integers(0, 6000), st.decimals(-1, 5, places=3), st.decimals(0, 9, places=2)), min_size=1
    ),
    noise=st.lists(st.one_of(st.binary(max_size=40), _TEXT.map(str.encode)), max_size=6),
    words=st.lists(_TEXT, max_size=4),
)
def test_whatever_is_written_is_read_back(rows: list[tuple[object, ...]], noise: list[bytes], words: list[str]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        recording = begun(folder / "run.csv")
        sent = [",".join(map(str, row)).encode() for row in rows]
        for number, line in enumerate(sent):
            for one in noise[number : number + 1]:
                recording.take(Line(one), 100.0 + number)
            for one in words[number : number + 1]:
                recording.mark(one)
            recording.take(Line(line), 100.0 + number)
        recording.close()
        table, told = read_back(folder, (folder / "run.csv").read_text(encoding="utf-8"), line_reader())
    assert told == []
    assert table is not None
    assert table.rows == recording.tally.rows >= len(rows)
    if recording.tally.rows == len(rows):  # none of the noise happened to be a reading
        np.testing.assert_allclose(table.columns["scale"], [float(str(row[1])) for row in rows])
        np.testing.assert_allclose(table.columns["time"], np.arange(len(rows)))
    assert sum("mark" in remark for remark in table.remarks) >= min(len(words), len(rows), 1)


def test_a_file_cut_anywhere_never_gives_a_wrong_number(tmp_path: Path) -> None:
    """Every prefix of a recording is read as some of its rows, or refused; what a power cut leaves tells no lie."""
    recording = begun(tmp_path / "run.csv")
    for number, line in enumerate((b"1492,0.123,1.92", b"1420,2.067,3.45", b"1401,2.412,3.99")):
        if number == 1:
            recording.mark("held")
        recording.take(Line(line), 100.0 + number)
    recording.close()
    whole = (tmp_path / "run.csv").read_text(encoding="utf-8")
    assert whole.splitlines()[-2] == "1.000,1420,2.067,3.45,mark 1: held"
    full, _ = read_back(tmp_path, whole, line_reader())
    assert full is not None
    for end in range(whole.index("remark\n") + len("remark\n"), len(whole)):
        table, told = read_back(tmp_path, whole[:end], line_reader())
        if not told:
            assert table is not None
            for name, values in table.columns.items():
                np.testing.assert_array_equal(values, full.columns[name][: table.rows])


def test_a_cell_spoilt_by_hand_is_told_at_its_line_below_the_comments(tmp_path: Path) -> None:
    recording = begun(tmp_path / "run.csv")
    recording.take(Line(b"gibberish"), 100.0)
    recording.take(Line(b"1420,2.06,3.45"), 101.0)
    recording.close()
    text = (tmp_path / "run.csv").read_text(encoding="utf-8")
    assert text.splitlines()[4] == "1.000,1420,2.06,3.45,"
    _, told = read_back(tmp_path, text.replace("2.06", "two"), line_reader())
    assert told == ["run.csv:5:12: 'two' in column 'scale' is not a number"]


def test_a_file_says_when_it_began_and_how_to_use_it(tmp_path: Path) -> None:
    recording = begin(
        tmp_path / "run.csv",
        line_reader(),
        about=["readings:", *job_lines("run.csv", line_reader().headers)],
        monotonic=100.0,
        wall=_WALL,
    )
    recording.close()
    lines = (tmp_path / "run.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# started 2026-02-25T")
    assert lines[-1] == "time (s),speed (rpm),scale (kg),current (A),remark"
    readings = yaml.safe_load("\n".join(line.removeprefix("# ") for line in lines[1:-1]))["readings"]
    assert readings["load_test"]["columns"]["speed"] == {"from": "speed (rpm)", "unit": "rpm"}
    assert readings["load_test"]["file"] == "run.csv"


@pytest.mark.parametrize("unit", ["N*m", "%", "1", "°C", "1/min", "lbf*ft"])
def test_headings_of_any_unit_are_yaml(unit: str) -> None:
    rig = RIG.replace("name: current, unit: A", f"name: current, unit: '{unit}'")
    lines = job_lines("my run: 1.csv", line_reader(rig).headers)
    table = yaml.safe_load("\n".join(lines))["load_test"]
    assert table["columns"]["current"]["from"] == f"current ({unit})"
    assert str(table["columns"]["current"]["unit"]) == unit
    assert table["file"] == "my run: 1.csv"


CLOCK = RIG.replace("columns: [", "columns: [{name: time, unit: ms}, ")


def clocked(folder: Path, ratio: float) -> tuple[Recording, LineReader]:
    """Twenty seconds of a logger that sends its own clock, which runs so many times as fast as the computer's."""
    reader = line_reader(CLOCK)
    recording = begin(folder / "run.csv", reader, about=[], monotonic=100.0, wall=_WALL)
    for second in range(20):
        line = f"{1000.0 * ratio * second:.0f},{1492 - second},{0.1 * second:.2f},1.9".encode()
        recording.take(Line(line), 100.0 + second + 0.02 * (second % 3))
    recording.close(120.0)
    return recording, reader


def test_the_job_takes_its_time_from_the_logger_s_own_clock(tmp_path: Path) -> None:
    recording, reader = clocked(tmp_path, 1.0)
    assert recording.clocks.disagreement is None
    table, told = read_back(tmp_path, (tmp_path / "run.csv").read_text(encoding="utf-8"), reader)
    assert told == [] and table is not None
    assert table.column("time") == pytest.approx(np.arange(20.0))  # without the jitter of arrival


def test_a_logger_s_clock_that_disagrees_is_said_and_not_used(tmp_path: Path) -> None:
    recording, reader = clocked(tmp_path, 3.0)
    disagreement = recording.clocks.disagreement
    assert disagreement is not None
    (time,) = [line for line in job_lines("run.csv", reader.headers, disagreement) if " time:" in line]
    assert time.startswith("      time: {from: time (s), unit: s}    # the logger's clock runs 3 times as fast")
    last = (tmp_path / "run.csv").read_text(encoding="utf-8").splitlines()[-1]
    assert last.startswith("# the logger's clock runs 3 times as fast as the computer's: check its unit")


def test_an_existing_file_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text("precious")
    with pytest.raises(RecordingFailed, match="never overwritten"):
        begun(path)
    assert path.read_text() == "precious"


@pytest.mark.parametrize("torn", [b"", b"1.000,14", b"\0\0\0\0", b"1.0\0\0\0", b"1.000,1420,2.06,3.4,"])
def test_going_on_repairs_a_torn_line_and_keeps_the_time_rising(tmp_path: Path, torn: bytes) -> None:
    path = tmp_path / "run.csv"
    recording = begun(path)
    recording.take(Line(b"1492,0.1,1.9"), 107.5)
    recording.close()
    with path.open("ab") as file:
        file.write(torn)
    again, cut = go_on(path, line_reader(), about=[], monotonic=9000.0, wall=_WALL + 60.0)
    assert cut == torn
    again.take(Line(b"1420,2.0,3.4"), 9002.0)
    again.close()
    text = path.read_text(encoding="utf-8")
    assert data_rows(text) == ["7.500,1492,0.1,1.9,", "62.000,1420,2.0,3.4,"]
    assert ("# cut short before: " in text) is bool(torn)
    assert "\n# continued 2026-02-25T" in text
    table, told = read_back(tmp_path, text, line_reader())
    assert not told
    assert table is not None
    assert table.rows == 2


def test_a_clock_set_back_does_not_turn_the_time_back(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    recording = begun(path)
    recording.take(Line(b"1492,0.1,1.9"), 400.0)
    recording.close()
    again, _ = go_on(path, line_reader(), about=[], monotonic=0.0, wall=_WALL - 86400.0)
    again.take(Line(b"1420,2.0,3.4"), 1.0)
    again.close()
    assert [row.split(",")[0] for row in data_rows(path.read_text())] == ["300.000", "301.000"]


def test_a_file_that_got_no_further_than_its_first_lines_is_begun_properly(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(b"# started 2026-02-25T06:13:20+00:00\n# cert")
    again, torn = go_on(path, line_reader(), about=[], monotonic=0.0, wall=_WALL)
    again.take(Line(b"1420,2.0,3.4"), 1.0)
    again.close()
    assert torn == b"# cert"
    assert data_rows(path.read_text()) == ["1.000,1420,2.0,3.4,"]


def test_going_on_with_other_columns_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    begun(path).close()
    before = path.read_bytes()
    with pytest.raises(RecordingFailed, match="its columns are not those"):
        go_on(path, line_reader(RIG.replace("unit: A", "unit: mA")), about=[], monotonic=0.0, wall=_WALL)
    assert path.read_bytes() == before


def test_two_recorders_do_not_write_one_file(tmp_path: Path) -> None:
    recording = begun(tmp_path / "run.csv")
    with pytest.raises(RecordingFailed, match="another recorder"):
        go_on(tmp_path / "run.csv", line_reader(), about=[], monotonic=0.0, wall=_WALL)
    recording.close()


def test_each_row_is_on_the_disk_before_the_next_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever is written is one whole line or several, and nothing follows before the disk has it."""
    recording = begun(tmp_path / "run.csv")
    done: list[str] = []
    write = os.write

    def written(descriptor: int, data: bytes) -> int:
        done.append(f"write {data.decode()}")
        return write(descriptor, data)

    monkeypatch.setattr("certgen.readings.recording.file.os.write", written)
    monkeypatch.setattr("certgen.readings.recording.file.sync", lambda descriptor: done.append("sync"))
    for number in range(3):
        recording.take(Line(b"1420,2.0,3.4"), 100.0 + number)
        recording.save()
    recording.save()
    rows = [f"write {number}.000,1420,2.0,3.4,\n" for number in range(3)]
    assert done == [step for row in rows for step in (row, "sync")]
    monkeypatch.undo()
    recording.close()


def test_a_full_disk_stops_the_recording_and_leaves_whole_lines(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    recording = begun(tmp_path / "run.csv")
    before = (tmp_path / "run.csv").read_bytes()

    def full(descriptor: int, data: bytes) -> int:
        monkeypatch.undo()
        os.write(descriptor, data[:5])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("certgen.readings.recording.file.os.write", full)
    recording.take(Line(b"1420,2.0,3.4"), 101.0)
    with pytest.raises(RecordingFailed, match=r"No space left on device.*--append"):
        recording.save()
    assert (tmp_path / "run.csv").read_bytes() == before


def test_lines_not_read_are_kept_up_to_a_number_and_all_counted(tmp_path: Path) -> None:
    recording = begun(tmp_path / "run.csv")
    recording.take(Line(b"20,2.0,3.4", CUT_AT_OPENING), 100.0)
    for _ in range(MOST_KEPT + 5):
        recording.take(Line(b"\x1b]0;\xff"), 101.0)
    recording.close()
    text = (tmp_path / "run.csv").read_text(encoding="utf-8")
    assert recording.tally.unread == {"not text": MOST_KEPT + 5}
    assert recording.tally.cut_at_opening == 1
    assert text.count("# not read, not text: \\x1b]0;\\xff\n") == MOST_KEPT


def test_a_gap_is_told_in_the_file(tmp_path: Path) -> None:
    recording = begun(tmp_path / "run.csv")
    recording.gone(105.0, "it was pulled out")
    recording.back(107.25)
    recording.close()
    assert "# gap from 5.000 s: it was pulled out\n# gap ends at 7.250 s\n" in (tmp_path / "run.csv").read_text()
    assert (recording.tally.gaps, recording.tally.away) == (1, 2.25)


def test_a_mark_after_the_last_row_is_not_lost(tmp_path: Path) -> None:
    recording = begun(tmp_path / "run.csv")
    recording.mark("end")
    recording.close()
    assert (tmp_path / "run.csv").read_text().endswith("# mark 1: end, after the last row\n")


@given(text=st.text(max_size=400))
def test_a_comment_is_one_line_of_visible_signs(text: str) -> None:
    line = comment_line(text)
    assert line.startswith("# ")
    assert line.isprintable()
    assert len(line) <= 302


@given(data=st.binary(max_size=60))
def test_what_stands_before_a_torn_end_ends_a_line(data: bytes) -> None:
    torn = torn_end(data)
    assert data.endswith(torn)
    kept = data[: len(data) - len(torn)]
    assert not kept or kept.endswith(b"\n")


def test_the_job_that_the_snippet_goes_into_is_one_of_the_benches() -> None:
    assert "  load_test:" in BENCHES["arm"]["job"]
