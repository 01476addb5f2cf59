"""Times of logs: clock, stamps, order, gaps."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pandas
import pytest
from files_bench import Result, read
from hypothesis import given, settings
from hypothesis import strategies as st

from certgen.readings.time_cells import TimeOfDay, clock, stamp

pytestmark = pytest.mark.slow


def log(folder: Path, times: list[str], keys: str = "", unit: str = "") -> Result:
    text = "time;speed;scale\n" + "".join(f"{one};1450;{row}\n" for row, one in enumerate(times))
    return read(folder, f"{{file: a.csv, {keys} columns: {{time: {unit}, speed: rpm, scale: kg}}}}", {"a.csv": text})


@given(seconds=st.integers(0, 86_399), part=st.integers(0, 999))
def test_a_time_of_day_counts_from_midnight(seconds: int, part: int) -> None:
    text = (datetime(2026, 1, 1) + timedelta(seconds=seconds, milliseconds=part)).strftime("%H:%M:%S.%f")[:-3]
    assert clock(text) == pytest.approx(seconds + part / 1000, abs=1e-9)


@given(moment=st.datetimes(datetime(1980, 1, 1), datetime(2100, 1, 1)), zone=st.integers(-14 * 60, 14 * 60))
def test_a_stamp_is_the_moment_that_pandas_reads(moment: datetime, zone: int) -> None:
    text = moment.isoformat(timespec="microseconds")
    found = stamp(text)
    assert found is not None
    assert not found.zoned
    assert found.seconds == pytest.approx(pandas.Timestamp(text).timestamp(), abs=1e-6)
    zoned = f"{text}{'-' if zone < 0 else '+'}{abs(zone) // 60:02}:{abs(zone) % 60:02}"
    found = stamp(zoned)
    assert found is not None
    assert found.zoned
    assert found.seconds == pytest.approx(pandas.Timestamp(zoned).timestamp(), abs=1e-6)


@pytest.mark.parametrize(
    "text", ["2026-02-30 10:00:00", "2026-03-14", "24.13.2026 10:00:00", "10:61:00", "13:00 PM", "x", ""]
)
def test_what_is_no_time_is_none(text: str) -> None:
    assert stamp(text) is None
    assert clock(text) is None


@given(
    kind=st.sampled_from(["clock", "stamp"]),
    texts=st.lists(
        st.sampled_from(["10:00:00", "23:59:59", "10:00:00.25", "99:00:01", "2026-03-14 10:00:00",
                         "2026-03-14T10:00:00.125",
                         "2026-13-14 10:00:00", "2026-03-14 24:00:00", "2026-03-14 10:00:00Z", "14.03.2026 10:00:00", "x",
                         "10:00:6O"]),
        min_size=1, max_size=4,
    ),
)  # fmt: skip
@settings(max_examples=200)
def test_a_long_column_of_times_reads_as_its_cells_do(kind: str, texts: list[str]) -> None:
    together, alone = TimeOfDay(kind), TimeOfDay(kind)
    expected = [alone.read(text) for text in texts]
    found = together.read_all(texts)
    assert (found is None) if None in expected else found.tolist() == expected


def test_a_clock_passes_midnight(tmp_path: Path) -> None:
    found = log(tmp_path, ["23:59:58", "23:59:59.5", "00:00:01", "0:00:02,25"])
    assert found.good.column("time").tolist() == [0.0, 1.5, 3.0, 4.25]
    assert found.file.units["time"] == "clock"
    assert found.notes[:2] == ("time counts from 23:59:58", "the clock passes midnight")


def test_stamps_count_from_the_first_and_know_their_zone(tmp_path: Path) -> None:
    found = log(tmp_path, ["2026-03-29T01:59:59+01:00", "2026-03-29T03:00:00+02:00", "2026-03-29T03:00:01+02:00"])
    assert found.good.column("time").tolist() == [0.0, 1.0, 2.0]  # summer time begins between the first two
    assert found.notes == ("time counts from 2026-03-29 00:59:59 UTC",)


def test_stamps_with_and_without_a_zone_do_not_mix(tmp_path: Path) -> None:
    assert log(tmp_path, ["2026-03-14T10:00:00Z", "2026-03-14T10:00:01"]).mistakes == (
        "a.csv:3:1: '2026-03-14T10:00:01' in column 'time' has a zone and others have none, or the other way round; "
        "write date and time as 2026-03-14T14:02:07, with or without a zone such as +01:00.",
    )


def test_a_clock_where_the_job_says_seconds_is_told_how_to_be_read(tmp_path: Path) -> None:
    assert log(tmp_path, ["10:00:00"], unit="s").mistakes == (
        "a.csv:2:1: '10:00:00' in column 'time' is not a number; "
        "write 'unit: clock' for this column where it is a time of day.",
    )


def test_repeated_late_and_missing_samples_are_counted_and_kept(tmp_path: Path) -> None:
    times = ["0", "1", "2", "2", "4", "3", "5", "6", "7", "8", "60", "61.5"]
    found = log(tmp_path, times, unit="s")
    assert found.good.column("time").tolist() == sorted(map(float, times))
    assert found.good.column("scale").tolist() == [0, 1, 2, 3, 5, 4, 6, 7, 8, 9, 10, 11]
    assert found.notes == (
        "1 row has the time of the row before",
        "1 row has an earlier time than a row before; rows are sorted by time",
        "1 pause longer than 5 times the usual interval of 1 s, the longest 52 s",
        "samples at unequal intervals, 1 to 1.5 s",
    )
    assert found.file.rows == 12


def test_a_time_that_stays_back_asks_what_it_means(tmp_path: Path) -> None:
    times = [*map(str, range(20)), *map(str, range(5, 25))]
    assert log(tmp_path, times, unit="s").mistakes == (
        "a.csv: the time goes back in row 21 of the numbers and stays back; write 'backwards: sort' beside the file if "
        "its rows are out of order, or 'backwards: continue' if the clock was set back.",
    )
    sorted_ = log(tmp_path, times, "backwards: sort,", "s").good.column("time")
    assert sorted_.tolist() == sorted(map(float, times))
    found = log(tmp_path, times, "backwards: continue,", "s")
    assert found.good.column("time").tolist() == [float(row) for row in range(40)]
    assert found.notes[0] == "the clock was set back once; from there the time goes on by 1 s"


def test_what_was_found_several_times_is_counted(tmp_path: Path) -> None:
    again = log(
        tmp_path, [*map(str, range(12)), *map(str, range(12)), *map(str, range(12))], "backwards: continue,", "s"
    )
    assert again.notes == ("the clock was set back 2 times; from there the time goes on by 1 s",)
    late = log(tmp_path, ["0", "1", "1", "1", "4", "3", "2", "5", "6", "7", "8", "60", "120"], unit="s")
    assert late.notes[:3] == (
        "2 rows have the time of the row before",
        "2 rows have an earlier time than a row before; rows are sorted by time",
        "2 pauses longer than 5 times the usual interval of 1 s, the longest 60 s",
    )


@given(
    steps=st.lists(st.floats(-0.4, 5.0), min_size=1, max_size=60),
    kind=st.sampled_from(["s", "min"]),
)
@settings(max_examples=60)
def test_whatever_the_stamps_the_time_never_goes_back_and_no_row_is_lost(steps: list[float], kind: str) -> None:
    import tempfile

    times = np.round(np.cumsum(steps) - min(0.0, float(np.cumsum(steps).min())), 3)
    with tempfile.TemporaryDirectory() as name:
        found = log(Path(name), [str(one) for one in times.tolist()], "backwards: sort,", kind)
    assert (np.diff(found.good.column("time")) >= 0.0).all()
    assert sorted(found.good.column("scale").tolist()) == list(range(len(steps)))


def test_typed_rows_may_have_the_time_of_day_and_must_be_in_order(tmp_path: Path) -> None:
    typed = "{columns: {time: clock, speed: rpm}, rows: [['9:58:00', 1450], ['10:01:30', 1440]]}"
    assert read(tmp_path, typed).good.column("time").tolist() == [0.0, 210.0]
    back = typed.replace("10:01:30", "9:57:00")
    assert read(tmp_path, back).mistakes == (
        "job.yaml:1:65: this time is before that of a row above; put the rows in order.",
    )
