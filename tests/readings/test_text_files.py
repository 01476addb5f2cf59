"""Delimited files as loggers, spreadsheets and people write them."""

from __future__ import annotations

import csv
import tempfile
from pathlib import Path

import numpy as np
import pandas
import pytest
from files_bench import Result, read
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from certgen.readings import text_file

pytestmark = pytest.mark.slow

RPM = 2.0 * np.pi / 60.0
SIGNS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|", "spaces": "  "}
COLUMNS = "columns: {speed: rpm, scale: kg, voltage: V}"


def one(folder: Path, text: str | bytes, keys: str = COLUMNS) -> Result:
    return read(folder, f"{{file: log.csv, {keys}}}", {"log.csv": text})


def written(value: float, decimal: str, thousands: str) -> str:
    text = f"{value:,.2f}"
    return text.replace(",", "\0").replace(".", decimal).replace("\0", thousands)


@st.composite
def files(draw: st.DrawFn) -> tuple[bytes, str, list[list[float]], dict[str, object]]:
    """The bytes of a table in one of the supported dialects, what the job says of it, the values, what is to be told."""
    delimiter = draw(st.sampled_from(sorted(SIGNS)))
    decimal = draw(st.sampled_from([".", ","]))
    thousands = draw(st.sampled_from(["", "", "'", " ", "," if decimal == "." else "."]))
    if delimiter == "spaces" and thousands == " ":
        thousands = ""
    quoted = draw(st.booleans()) or SIGNS[delimiter] in (decimal, thousands)
    rows = draw(
        st.lists(st.lists(st.integers(0, 10**8).map(lambda n: n / 100), min_size=3, max_size=3), min_size=2, max_size=6)
    )
    units = draw(st.sampled_from(["header", "row", "job"]))
    names = ["speed", "scale", "voltage"]
    header = (
        [f"{name} [{unit}]" for name, unit in zip(names, ["rpm", "kg", "V"], strict=True)]
        if units == "header"
        else names
    )
    lines = [header] + ([["rpm", "kg", "V"]] if units == "row" else [])
    lines += [[written(value, decimal, thousands) for value in row] for row in rows]
    quote = '"' if quoted else ""
    texts = [SIGNS[delimiter].join(f"{quote}{cell}{quote}" for cell in line) for line in lines]
    banner = draw(
        st.lists(st.sampled_from(["# logger no. 4", "% 50 Hz, 1 s", "Prüfstand Werkstatt", "", "#"]), max_size=4)
    )
    texts = banner + texts
    if draw(st.booleans()):
        texts.insert(draw(st.integers(len(texts) - len(rows), len(texts))), "# a remark in between")
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"]))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    data = (end.join(texts) + end * draw(st.integers(0, 1))).encode(encoding)
    job = "columns: {speed: rpm, scale: kg, voltage: V}" if units == "job" else "columns: {speed: , scale: , voltage: }"
    if thousands and not any(
        len(written(v, decimal, thousands)) > 6 and thousands in written(v, decimal, thousands)
        for row in rows
        for v in row
    ):
        thousands = ""
    told = {"delimiter": delimiter, "decimal": {".": "point", ",": "comma"}[decimal], "rows": len(rows)}
    return data, job, rows, told


@given(file=files())
@settings(max_examples=90, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_table_written_in_any_dialect_reads_back_the_same(
    file: tuple[bytes, str, list[list[float]], dict[str, object]],
) -> None:
    data, job, rows, told = file
    with tempfile.TemporaryDirectory() as name:
        found = one(Path(name), data, job)
    values = np.array(rows)
    np.testing.assert_array_equal(found.good.column("scale"), values[:, 1])
    np.testing.assert_array_equal(found.good.column("voltage"), values[:, 2])
    np.testing.assert_allclose(found.good.column("speed"), values[:, 0] * RPM, rtol=1e-15)
    assert {key: getattr(found.file, key) for key in told} == told


@given(
    values=st.lists(
        st.tuples(*[st.floats(0.0, 1e6, allow_subnormal=False).filter(lambda v: v == 0.0 or v > 1e-9)] * 3),
        min_size=1,
        max_size=5,
    ),
    sep=st.sampled_from([",", ";", "\t", "|"]),
    decimal=st.sampled_from([".", ","]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
)
@settings(max_examples=80, deadline=None)
def test_what_pandas_writes_reads_back_to_the_last_digit(values, sep, decimal, quoting, encoding) -> None:  # type: ignore[no-untyped-def]
    """pandas is the independent writer; the marks are fixed in the job because random digits may be ambiguous."""
    frame = pandas.DataFrame(values, columns=["Drehzahl (rpm)", "scale [kg]", "Spannung °"])
    marks = f"decimal: {'point' if decimal == '.' else 'comma'}, thousands: none"
    keys = f"{marks}, columns: {{speed: {{from: Drehzahl}}, scale: , voltage: {{from: Spannung °, unit: V}}}}"
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "log.csv"
        frame.to_csv(path, sep=sep, decimal=decimal, quoting=quoting, encoding=encoding, index=False)
        found = read(Path(name), f"{{file: log.csv, {keys}}}")
    np.testing.assert_array_equal(found.good.column("voltage"), frame["Spannung °"])
    np.testing.assert_array_equal(found.good.column("scale"), frame["scale [kg]"])


_CELLS = st.sampled_from(
    ["1", "1.5", "-2", "1e3", "", "-", "x", "nan", "inf", "1e999", "1_000", " 7 ", "1,5", '"3"', '"3', "#", "0x1F", "1e-17",
     "99999999999999999999", "0.1000000000000000055511151231257827", "٣", "TRUE", "1 2", "~", "null", "NA", "-0"]
)  # fmt: skip


_WORDS = {";": "semicolon", "\t": "tab", " ": "spaces"}


def test_words_of_truth_are_no_numbers_in_a_long_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(text_file, "HEAD", 60)
    monkeypatch.setattr(text_file, "PIECE", 20)
    lines = ["speed,voltage", *["10,20"] * 12, *["10,TRUE"] * 4]
    told = one(tmp_path, "\n".join(lines), "columns: {speed: rpm, voltage: V}").mistakes
    assert [mistake.split(";")[0] for mistake in told] == [
        f"log.csv:{line}:4: 'TRUE' in column 'voltage' is not a number" for line in range(14, 18)
    ]


@given(
    rows=st.lists(st.lists(_CELLS, min_size=2, max_size=4), min_size=1, max_size=6),
    extra=st.booleans(),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    sign=st.sampled_from([";", "\t", " "]),
    comment=st.sampled_from(["", "", "-", "1e", "%"]),
)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_parsed_in_bulk_and_cell_by_cell_a_file_gives_the_same_table_and_mistakes(
    rows: list[list[str]], extra: bool, end: str, sign: str, comment: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only a file longer than the head is parsed in bulk; here the head is made short."""
    good = [["10", "20", "30"]] * 12
    text = end.join(sign.join(row) for row in [["speed", "voltage", "frame_temperature"], *good, *rows, *good])
    fixed = f"delimiter: {_WORDS[sign]}, decimal: point, thousands: none"  # the short head would show less of it
    fixed += f", comment: '{comment}'" if comment else ""
    keys = f"{fixed}, columns: {{speed: rpm, voltage: V" + (", frame_temperature: degC" if extra else "") + "}"
    with tempfile.TemporaryDirectory() as name:
        by_cell = one(Path(name), text, keys)
        with monkeypatch.context() as patch:
            patch.setattr(text_file, "HEAD", 120)
            patch.setattr(text_file, "PIECE", 60)
            in_bulk = one(Path(name), text, keys)
    assert in_bulk.mistakes == by_cell.mistakes
    if by_cell.mistakes:
        return
    for column, values in by_cell.good.columns.items():
        np.testing.assert_array_equal(values, in_bulk.good.columns[column])
    assert in_bulk.file == by_cell.file


def test_a_long_log_is_parsed_in_bulk_and_a_mistake_in_it_still_has_its_line(tmp_path: Path) -> None:
    lines = ["# a log", "time,speed,scale", *(f"{n / 10},1450,{n % 7}" for n in range(40_000))]
    lines[30_001] = "2999.9,1450,1O"
    assert one(tmp_path, "\n".join(lines), "columns: {time: s, speed: rpm, scale: kg}").mistakes == (
        "log.csv:30002:13: '1O' in column 'scale' is not a number; "
        "write a plain number in kg with a decimal point, for example 12.5.",
    )
    lines[30_001] = "2999.9,1450,10"
    lines.insert(20_000, "# in between")
    found = one(tmp_path, "\n".join(lines), "columns: {time: s, speed: rpm, scale: kg}")
    assert found.good.rows == 40_000
    assert found.file.skipped == 2
    np.testing.assert_array_equal(found.good.column("time"), np.arange(40_000) / 10)


def test_a_latin_letter_far_down_changes_the_encoding_and_no_number(tmp_path: Path) -> None:
    lines = ["speed;scale;remark", *["1450;1;"] * 60_000, "1450;2;Lüfter"]
    found = one(tmp_path, "\n".join(lines).encode("latin-1"), "columns: {speed: rpm, scale: kg, remark: }")
    assert found.file.encoding == "latin-1"
    assert found.good.remarks[-1] == "Lüfter"
    assert found.good.rows == 60_001


@pytest.mark.parametrize("text", ["1,234", "12,345", "-999,999"])
def test_a_number_that_can_be_read_in_two_ways_is_shown_in_both(tmp_path: Path, text: str) -> None:
    ask = f"speed;scale\n1450;{text}\n1440;2\n"
    told = one(tmp_path, ask, "columns: {speed: rpm, scale: kg}").mistakes
    assert told == (
        f"log.csv:2:6: '{text}' in column 'scale' can be read as {text.replace(',', '.')} or as {text.replace(',', '')}; "
        "write 'decimal: comma' or 'thousands: comma' beside the file in the job.",
    )
    as_decimal = one(tmp_path, ask, "decimal: comma, columns: {speed: rpm, scale: kg}")
    assert as_decimal.good.column("scale")[0] == float(text.replace(",", "."))
    as_thousands = one(tmp_path, ask, "thousands: comma, columns: {speed: rpm, scale: kg}")
    assert as_thousands.good.column("scale")[0] == float(text.replace(",", ""))


@pytest.mark.parametrize(
    ("numbers", "read_as"),
    [
        (["1,234", "0,5"], [1.234, 0.5]),
        (["1.234,5", "1"], [1234.5, 1.0]),
        (["1,234.5", "1,234"], [1234.5, 1234.0]),
        (["1.234", "2"], [1.234, 2.0]),
        (["1 234,5", "1"], [1234.5, 1.0]),
        (["1'234.5", "1"], [1234.5, 1.0]),
        (["1.234.567", "1"], [1234567.0, 1.0]),
    ],
)
def test_other_numbers_of_the_file_settle_the_marks(tmp_path: Path, numbers: list[str], read_as: list[float]) -> None:
    text = "speed;scale\n" + "".join(f"1450;{number}\n" for number in numbers)
    assert one(tmp_path, text, "columns: {speed: rpm, scale: kg}").good.column("scale").tolist() == read_as


def test_points_that_may_part_thousands_are_no_less_ambiguous_than_commas(tmp_path: Path) -> None:
    text = "speed;scale\n1.490;0\n1.450;1\n"
    assert one(tmp_path, text, "columns: {speed: rpm, scale: kg}").mistakes == (
        "log.csv:2:1: '1.490' in column 'speed' can be read as 1.490 or as 1490; "
        "write 'decimal: point' or 'thousands: point' beside the file in the job.",
    )
    for key, value in (("decimal", 1.49), ("thousands", 1490.0)):
        found = one(tmp_path, text, f"{key}: point, columns: {{speed: rpm, scale: kg}}").good
        assert found.column("speed")[0] == pytest.approx(value * RPM)
    commas_part = one(tmp_path, text.replace(";", ","), "columns: {speed: rpm, scale: kg}").good
    assert commas_part.column("speed")[0] == pytest.approx(1.49 * RPM)


def test_a_number_in_the_other_way_of_writing_is_a_mistake_and_no_other_number(tmp_path: Path) -> None:
    text = "speed;scale\n1450,5;1,5\n1440,5;12.5\n"
    assert one(tmp_path, text, "columns: {speed: rpm, scale: kg}").mistakes == (
        "log.csv:3:8: '12.5' in column 'scale' is not a number; "
        "write a plain number in kg with a decimal comma, for example 12,5.",
    )


def test_a_unit_that_contradicts_the_job_names_both(tmp_path: Path) -> None:
    text = "speed,I (mA),scale\n1450,900,1\n"
    keys = "columns: {speed: rpm, current: {from: I, unit: A}, scale: kg}"
    assert one(tmp_path, text, keys).mistakes == (
        "job.yaml:1:64: load_test.columns.current: the job says 'A', but the unit of 'I (mA)' in the file is 'mA'; "
        "correct the job, or write 'header_units: ignore' beside the file if the file is wrong.",
    )
    assert one(tmp_path, text, f"header_units: ignore, {keys}").good.column("current")[0] == 900.0


def test_a_unit_left_out_in_the_job_comes_from_the_file_and_must_fit_the_column(tmp_path: Path) -> None:
    text = "n;I;F\n1/min;mA;V\n1450;900;1\n"
    keys = "columns: {speed: {from: n}, current: {from: I}, scale: {from: F}}"
    assert one(tmp_path, text, keys).mistakes == (
        "job.yaml:1:72: load_test.columns.scale: the header is 'F', and 'V' is a unit of voltage, not of mass or force; "
        "write 'unit: kg' beside it in the job, or the unit the file has.",
    )
    found = one(tmp_path, text.replace(";V", ";kp"), keys)
    assert found.file.units == {"speed": "1/min", "current": "mA", "scale": "kp"}
    assert found.file.unit_row == 2
    assert found.good.column("scale")[0] == pytest.approx(9.80665)  # NIST SP 811: 1 kgf
    assert found.good.column("current")[0] == 0.9


def test_a_header_without_a_unit_asks_for_one(tmp_path: Path) -> None:
    assert one(tmp_path, "n,scale (kg)\n1,2\n", "columns: {speed: {from: n}, scale: }").mistakes == (
        "job.yaml:1:34: load_test.columns.speed: the header 'n' names no unit known here; "
        "write 'unit: rpm' beside it in the job, or the unit the file has.",
    )


def test_a_file_without_headers_is_read_by_number(tmp_path: Path) -> None:
    keys = "columns: {speed: {from: 2, unit: rpm}, scale: {from: 1, unit: kg}}"
    found = one(tmp_path, "1;1450\n2;1440\n", keys)
    assert found.good.column("scale").tolist() == [1.0, 2.0]
    assert found.file.header_row is None
    assert one(tmp_path, "1;1450\n2;1440\n", "columns: {speed: rpm}").mistakes == (
        "log.csv:1:1: there is no column 'speed' for 'speed', and the file has no headers; known here: 1, 2, "
        "or name its header in the job with 'from:'.",
    )


def test_every_detection_can_be_fixed_in_the_job(tmp_path: Path) -> None:
    """A file that would be taken otherwise in every respect."""
    text = "speed;scale\nspeed;scale\nkg;kg\n~ note\n1.450;2\n1.440;1\n".encode("utf-16-le")
    keys = (
        "encoding: utf-16, delimiter: semicolon, thousands: point, comment: '~', header_row: 2, unit_row: 3, "
        "header_units: ignore, columns: {speed: rpm, scale: kg}"
    )
    found = one(tmp_path, text, keys)
    assert found.good.column("speed") == pytest.approx([1450 * RPM, 1440 * RPM])
    assert (found.file.header_row, found.file.unit_row, found.file.thousands, found.file.skipped) == (2, 3, "point", 2)


def test_keys_of_a_file_have_no_place_beside_rows(tmp_path: Path) -> None:
    assert read(tmp_path, "{decimal: comma, columns: {speed: rpm}, rows: [[1]]}").mistakes == (
        "job.yaml:1:2: load_test.decimal: this says how a file is written; "
        "write it beside 'file:', or in an entry of 'files:'.",
    )


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"PK\x03\x04\0\0\0", "log.csv: the file holds zero bytes, so it is no text; "),
        (b"speed;scale\n1;2;3\n", "log.csv:2:1: the line has 3 cells for 2 columns; "),
        (b"speed scale\n1 2\n1\n", "log.csv:3:1: the line has 1 cells for 2 columns; "),
        (b"speed;scale\n12:00:00;1\n", "log.csv:2:1: '12:00:00' in column 'speed' is not a number; "),
    ],
)
def test_what_is_no_table_is_told_with_its_place(tmp_path: Path, data: bytes, told: str) -> None:
    (mistake,) = one(tmp_path, data, "columns: {speed: rpm, scale: kg}").mistakes
    assert mistake.startswith(told)


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_a_remark_behind_an_empty_cell_is_no_comment(tmp_path: Path, sign: str) -> None:
    rows = [["time", "remark", "speed", "scale"], ["", "% of load", "1450", "2"], ["2", "", "1440", "3"]]
    text = "\n".join(sign.join(row) for row in [["  # a comment"], *rows])
    found = one(tmp_path, text, "columns: {time: s, remark: , speed: rpm, scale: kg}")
    assert found.good.remarks == ("% of load", "")


def test_a_remark_that_begins_like_a_comment_is_no_comment(tmp_path: Path) -> None:
    text = "remark,speed,scale\n#1 warm,1450,2\n# a comment\n% of load,1440,3\n"
    found = one(tmp_path, text, "columns: {remark: , speed: rpm, scale: kg}")
    assert found.good.remarks == ("#1 warm", "% of load")
    assert found.file.skipped == 1


def test_a_delimiter_at_the_end_of_every_line_is_no_column(tmp_path: Path) -> None:
    assert one(tmp_path, "speed;scale\n1;2;\n3;4;\n", "columns: {speed: rpm, scale: kg}").good.rows == 2
