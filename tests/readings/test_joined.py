"""Files of one test with clocks and rates of their own, joined on time."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pandas
import pytest
from files_bench import Result, read
from hypothesis import given, settings
from hypothesis import strategies as st

from certgen.readings.marks import NumberMarks

pytestmark = pytest.mark.slow


def written(times: list[float], values: list[float], name: str) -> str:
    return f"time,{name}\n" + "".join(f"{t!r},{v!r}\n" for t, v in zip(times, values, strict=True))


def joined(folder: Path, how: str, brake: str, meter: str, *, time: str = "s", more: str = "") -> Result:
    declared = (
        f"{{files: [{{file: brake.csv, columns: {{time: {time}, speed: rpm}}}}, "
        f"{{file: meter.csv, columns: {{time: {time}, voltage: V}}{more}}}], join: {how}}}"
    )
    return read(folder, declared, {"brake.csv": brake, "meter.csv": meter})


_TIMES = st.lists(st.integers(0, 2000).map(lambda n: n / 100), min_size=1, max_size=12, unique=True).map(sorted)


@given(ours=_TIMES, theirs=_TIMES, within=st.integers(1, 300).map(lambda n: n / 100 + 0.001), seed=st.integers(0, 9))
@settings(max_examples=80, deadline=None)
def test_the_nearest_sample_is_the_one_pandas_finds(
    ours: list[float], theirs: list[float], within: float, seed: int
) -> None:
    """pandas.merge_asof(direction='nearest') as the reference; at equal distance it takes the later, here the earlier."""
    values = np.random.default_rng(seed).uniform(1, 400, len(theirs)).tolist()
    with tempfile.TemporaryDirectory() as name:
        how = f"{{by: nearest, within: {within} s}}"
        found = joined(
            Path(name), how, written(ours, [1450.0] * len(ours), "speed"), written(theirs, values, "voltage")
        )
    expected = pandas.merge_asof(
        pandas.DataFrame({"time": ours}),
        pandas.DataFrame({"time": theirs, "voltage": values, "at": theirs}),
        on="time", direction="nearest", tolerance=within,
    )  # fmt: skip
    got = found.good.column("voltage")
    assert np.isnan(got).tolist() == expected["voltage"].isna().tolist()
    for at, value, row in zip(ours, got, expected.itertuples(), strict=True):
        tie = any(abs(abs(one - at) - abs(row.at - at)) < 1e-9 and one != row.at for one in theirs)
        assert np.isnan(value) or tie or value == row.voltage


@given(ours=_TIMES, theirs=_TIMES, seed=st.integers(0, 9))
@settings(max_examples=60, deadline=None)
def test_a_straight_line_is_numpys_and_never_goes_beyond_the_ends(
    ours: list[float], theirs: list[float], seed: int
) -> None:
    values = np.random.default_rng(seed).uniform(1, 400, len(theirs)).tolist()
    with tempfile.TemporaryDirectory() as name:
        speed, voltage = written(ours, [1450.0] * len(ours), "speed"), written(theirs, values, "voltage")
        found = joined(Path(name), "{by: linear, within: 99 s}", speed, voltage)
    expected = np.interp(ours, theirs, values, left=np.nan, right=np.nan)
    np.testing.assert_allclose(found.good.column("voltage"), expected, rtol=1e-12)


def test_what_was_joined_is_reported_and_a_wide_gap_is_not_bridged(tmp_path: Path) -> None:
    brake, meter = written([0, 1, 2, 9], [1, 2, 3, 4], "speed"), written([0.5, 1.5, 10.5], [100, 200, 300], "voltage")
    found = joined(tmp_path, "{by: linear, within: 2 s}", brake, meter, more=", shift: -0.5 s")
    np.testing.assert_array_equal(found.good.column("voltage"), [100, 200, np.nan, np.nan])
    assert [str(file.joined) for file in found.files] == [
        "sets the times",
        "straight line between samples at most 2 s apart, its times shifted by −0.5 s: matched for 2 of 4 rows",
    ]
    near = joined(tmp_path, "{by: nearest, within: 0.5 s}", brake, meter)
    assert str(near.files[1].joined) == "nearest sample within 0.5 s: matched for 3 of 4 rows, at most 0.5 s apart"


def test_rows_that_lack_what_no_load_point_can_do_without_are_left_out_and_counted(tmp_path: Path) -> None:
    brake, meter = written([0, 1, 2], [10, 20, 30], "speed"), written([0.9, 2.1, 7.0], [100, 200, 300], "voltage")
    found = joined(tmp_path, "{on: meter.csv, by: nearest, within: 0.2 s}", brake, meter)
    assert found.good.column("voltage").tolist() == [100, 200]
    assert found.good.column("time").tolist() == [0.9, 2.1]
    assert tuple(map(str, found.files[1].notes)) == ("1 of 3 rows left out: no sample of another file is near enough",)


def test_clocks_on_either_side_of_midnight_belong_together(tmp_path: Path) -> None:
    brake = "time,speed\n23:59:59,10\n00:00:01,20\n"
    meter = "time,voltage\n00:00:01,100\n00:00:02,200\n"
    found = joined(tmp_path, "{by: nearest, within: 0.1 s}", brake, meter, time="clock")
    np.testing.assert_array_equal(found.good.column("voltage"), [np.nan, 100])


@pytest.mark.parametrize(
    ("how", "brake", "meter", "told"),
    [
        ("{on: other.csv, by: nearest, within: 1 s}", "time,speed\n1,2\n", "time,voltage\n1,2\n",
         "load_test.join.on: 'other.csv' is none of the files; did you mean 'meter.csv'."),
        ("{on: meter.csv, by: nearest, within: 1 s}", "time,speed\n1,2\n", "time,voltage\n5,2\n",
         "load_test.join: no time of 'meter.csv' has a sample of every other file within 1 s; "
         "check the clocks, write 'shift:' beside a file, or widen 'within:'."),
        ("{by: nearest}", "time,speed\n1,2\n", "time,voltage\n5,2\n",
         "load_test.join.within: this key is missing; "
         "write a number with a unit of time, more than zero, for example '0.5 s'."),
    ],
)  # fmt: skip
def test_what_cannot_be_joined_is_told(tmp_path: Path, how: str, brake: str, meter: str, told: str) -> None:
    (mistake,) = joined(tmp_path, how, brake, meter).mistakes
    assert mistake.split(": ", 1)[1] == told


def test_times_of_different_kinds_do_not_join(tmp_path: Path) -> None:
    (told,) = joined(
        tmp_path, "{by: nearest, within: 1 s}", "time,speed\n10:00:00,2\n", "time [s],voltage\n5,2\n", time=""
    ).mistakes
    assert "the times of the files are of different kinds: 'brake.csv' has clock, 'meter.csv' has a count" in told


def test_a_column_in_two_files_and_a_file_without_time_are_told(tmp_path: Path) -> None:
    declared = (
        "{files: [{file: a.csv, columns: {time: s, speed: rpm}}, {file: b.csv, columns: {speed: rpm}}], "
        "join: {by: nearest, within: 1 s}}"
    )
    told = [one.split(": ", 1)[1] for one in read(tmp_path, declared).mistakes]
    assert told == [
        "load_test.files[2].columns: this file has no column 'time' to be joined on; name it, 'time: s'.",
        "load_test.files[2].columns.speed: 'speed' is already read from 'a.csv'; keep one of them.",
    ]


def test_marks_read_only_what_is_grouped_in_threes() -> None:
    marks = NumberMarks(",", ".")
    assert marks.read("1.234,5") == 1234.5
    assert marks.read("12.5") is None
    assert marks.read("1.2345,0") is None
