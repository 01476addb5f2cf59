"""Files as loggers leave them: footers, lines cut short, repeated headers, words for nothing read, times of all kinds."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pandas
import pytest
from files_bench import Result, read
from hypothesis import given
from hypothesis import strategies as st

from certgen.readings.bulk import first_cells
from certgen.readings.text_file import Piece, without_blank_lines, without_last_lines
from certgen.readings.time_cells import TimeOfDay, clock, kind_of_time, minutes, stamp

pytestmark = pytest.mark.slow

ROWS = [f"{row * 0.5},1450.5,{row}.25" for row in range(40)]
HEADER = "time,speed,scale"


def a_log(folder: Path, lines: list[str], keys: str = "", time: str = "s", header: str = HEADER) -> Result:
    columns = f"columns: {{time: {time}, speed: rpm, scale: kg}}"
    text = "\n".join([header, *lines]) + "\n"
    return read(folder, f"{{file: a.csv, {keys} {columns}, steady: {{}}}}", {"a.csv": text})


def timed(folder: Path, times: list[str], keys: str = "", time: str = "") -> Result:
    return a_log(folder, [f"{text},1450.5,1.25" for text in times], keys, time)


def test_a_footer_is_skipped_by_a_key(tmp_path: Path) -> None:
    found = a_log(tmp_path, [*ROWS, "End of log,,", "Samples: 40", ""], "skip_footer: 2,")
    assert found.good.rows == 40
    assert found.file.skipped == 2
    assert not a_log(tmp_path, [*ROWS, "End of log,,"]).mistakes[0].startswith("job")


@pytest.mark.parametrize("end", [b"", b"\n", b"\n\n", b"\r\n \r\n"])
def test_blank_lines_behind_the_last_do_not_count_as_a_footer(end: bytes) -> None:
    assert without_last_lines(b"a\nb\nc\nd" + end, 2) == b"a\nb\n"
    assert without_last_lines(b"a\nb" + end, 5) == b""


def test_the_headers_may_stand_among_the_rows_again(tmp_path: Path) -> None:
    found = a_log(tmp_path, [*ROWS[:20], HEADER, *ROWS[20:]])
    assert found.good.rows == 40
    assert "the headers stand once more among the rows" in found.notes


def test_a_few_lines_cut_short_are_left_out_and_told(tmp_path: Path) -> None:
    found = a_log(tmp_path, [*ROWS[:20], "9.75,14", *ROWS[20:], "20.0,145"])
    assert found.good.rows == 40
    assert "2 lines are cut short and left out" in found.notes
    many = a_log(tmp_path, [*ROWS, *["1.0,2"] * 6])
    assert many.mistakes[0].startswith("a.csv:42:1: the line has too few cells for 3 columns")


@pytest.mark.parametrize("word", ["---", "#N/A", "OL", "overload", "n.a.", "Err", "****", "#DIV/0!"])
def test_a_word_for_nothing_read_is_a_sample_that_dropped_out(tmp_path: Path, word: str) -> None:
    found = a_log(tmp_path, [*ROWS[:20], f"9.75,{word},1.0", *ROWS[20:]]).good
    assert np.flatnonzero(np.isnan(found.column("speed"))).tolist() == [20]


@pytest.mark.parametrize("rows", [40, 30_000])
def test_what_the_job_says_is_missing_is_so_in_a_short_file_and_a_long_one(tmp_path: Path, rows: int) -> None:
    lines = [
        f"{row * 0.5},{'leer' if row % 7 == 3 else '-999' if row % 7 == 5 else 1450.5},1.25" for row in range(rows)
    ]
    found = a_log(tmp_path, lines, "missing: [Leer, -999],").good
    expected = np.isin(np.arange(rows) % 7, (3, 5))
    assert np.isnan(found.column("speed")).tolist() == expected.tolist()


@given(moment=st.datetimes(datetime(2001, 1, 1), datetime(2099, 12, 31)))
def test_dates_of_other_countries_are_the_moments_that_pandas_reads(moment: datetime) -> None:
    moment = moment.replace(microsecond=0)
    american, european = moment.strftime("%m/%d/%Y %I:%M:%S %p"), moment.strftime("%d/%m/%Y %H:%M:%S")
    expected = pandas.Timestamp(moment).timestamp()
    for text, month_first in ((american, True), (european, False)):
        found = stamp(text, month_first=month_first)
        assert found is not None
        assert found.seconds == expected
    for form in ("%d.%m.%y %H:%M:%S", "%Y/%m/%d %H:%M:%S"):
        found = stamp(moment.strftime(form))
        assert found is not None
        assert found.seconds == expected
    half = clock(moment.strftime("%I:%M:%S %p"))
    assert half == moment.hour * 3600 + moment.minute * 60 + moment.second


def test_a_date_that_reads_in_two_ways_needs_a_word_of_the_job(tmp_path: Path) -> None:
    times = ["03/04/2026 14:02:00", "03/04/2026 14:02:01"]
    assert timed(tmp_path, times).mistakes[0] == (
        "a.csv:2:1: the date of '03/04/2026 14:02:00' can be read with the day or with the month first; "
        "write 'date_order: day_first' or 'date_order: month_first' beside the file in the job."
    )
    assert timed(tmp_path, times, "date_order: day_first,").notes[0] == "time counts from 2026-04-03 14:02:00"
    assert timed(tmp_path, times, "date_order: month_first,").notes[0] == "time counts from 2026-03-04 14:02:00"


@pytest.mark.parametrize(
    ("times", "first"),
    [
        (["03/14/2026 2:02:00 PM", "03/14/2026 2:02:01 PM"], "2026-03-14 14:02:00"),
        (["04/03/2026 2:02:00 PM", "04/03/2026 2:02:01 PM"], "2026-04-03 14:02:00"),
        (["14/03/2026 14:02", "14/03/2026 14:03"], "2026-03-14 14:02:00"),
        (["12:00:01 am", "12:00:02 am"], "00:00:01"),
    ],
)
def test_other_signs_tell_how_a_date_reads(tmp_path: Path, times: list[str], first: str) -> None:
    assert timed(tmp_path, times).notes[0] == f"time counts from {first}"


def test_a_time_of_two_numbers_is_read_as_the_job_says(tmp_path: Path) -> None:
    times = ["14:02", "14:03"]
    assert "'14:02' can be hours and minutes or minutes and seconds" in timed(tmp_path, times).mistakes[0]
    assert timed(tmp_path, times, time="clock").good.column("time").tolist() == [0.0, 60.0]
    assert timed(tmp_path, times, time="mm:ss").good.column("time").tolist() == [842.0, 843.0]


def test_minutes_and_seconds_pass_the_full_hour(tmp_path: Path) -> None:
    found = timed(tmp_path, ["59:58.5", "59:59.5", "00:00.5"])
    assert found.good.column("time").tolist() == [3598.5, 3599.5, 3600.5]
    assert "the clock passes the full hour" in found.notes
    assert kind_of_time("59:58.5") == "mm:ss"
    assert minutes("59:61") is None


@given(counts=st.lists(st.sampled_from([0, 1, 199, 200, 450]), min_size=1, max_size=5), quote=st.booleans())
def test_rows_between_long_runs_of_blank_lines_keep_their_lines(counts: list[int], quote: bool) -> None:
    cell = '"a\n\nb"' if quote else "ab"
    text = "".join(f"{number},{cell}\n" + "\n" * count for number, count in enumerate(counts))
    expected = {number: text[: text.index(f"{number},{cell}")].count("\n") + 1 for number in range(len(counts))}
    found = {}
    for piece in without_blank_lines(Piece(text.encode(), 1)):
        for number in expected:
            at = piece.data.find(f"{number},{cell}".encode())
            if at >= 0:
                found[number] = piece.first + piece.data.count(b"\n", 0, at)
    assert found == expected


def test_a_long_log_with_stamps_reads_as_a_short_one_does(tmp_path: Path) -> None:
    begin = datetime(2026, 3, 14, 23, 59)
    lines = [
        f"{begin + timedelta(seconds=0.25 * row):%Y-%m-%d %H:%M:%S.%f},{1450 + row % 9},{row}" for row in range(20_000)
    ]
    found = a_log(tmp_path, lines, time="").good
    assert found.column("time").tolist() == (0.25 * np.arange(20_000)).tolist()
    assert found.column("scale").tolist() == list(range(20_000))
    lines[15_000] = lines[15_000].rsplit(",", 1)[0]  # a cell too few, and one too many, are seen as in any file
    assert "1 line is cut short and left out" in a_log(tmp_path, lines, time="").notes
    lines[15_000] += ",1,2"
    assert "the line has 4 cells for 3 columns" in a_log(tmp_path, lines, time="").mistakes[0]


def test_first_cells_are_cut_only_where_all_have_one_length() -> None:
    cells = first_cells(b"10:00:00,1\n10:00:01,2", b",")
    assert cells is not None
    assert [row.tobytes() for row in cells] == [b"10:00:00", b"10:00:01"]
    for data in (b"10:00:00,1\n9:00:01,2\n", b"10:00:00,1\n\n10:00:01,2\n", b"10:00:00,1\n1", b",1\n,2\n", b"12"):
        assert first_cells(data, b",") is None


def test_characters_that_are_no_time_are_read_cell_by_cell() -> None:
    cells = first_cells(b"10:00:0x,1\n10:00:01,2\n", b",")
    assert cells is not None
    assert TimeOfDay("clock").read_all(cells) is None


@pytest.mark.parametrize("rows", [40, 30_000])
@pytest.mark.parametrize("word", ["OL", "overload", "Over", "inf"])
def test_an_overload_of_the_scale_is_more_than_it_shows(tmp_path: Path, word: str, rows: int) -> None:
    """The same word in the speed says nothing of it; the log is long enough to be read in pieces, or not."""
    lines = [f"{row * 0.5},{word if row == 7 else 1450.5},{word if row % 9 == 5 else 1.25}" for row in range(rows)]
    found = a_log(tmp_path, lines).good
    assert np.flatnonzero(np.isinf(found.column("scale"))).tolist() == list(range(5, rows, 9))
    assert np.flatnonzero(np.isnan(found.column("speed"))).tolist() == [7]
    assert not np.isnan(found.column("scale")).any()
