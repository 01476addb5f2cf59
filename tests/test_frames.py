"""Frames for analysts: the values of the results in the units their columns name, and lists as files."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from bench import Bench

import certgen
from certgen.cli import main
from certgen.frames import write_frame
from certgen.units import DIMENSIONS, read_quantity

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parent.parent / "example_jobs"
FULL = EXAMPLES / "three_phase_full_plate" / "job.yaml"


@pytest.fixture(scope="module")
def full() -> certgen.Results:
    return certgen.assess(FULL)


def test_every_unit_in_a_name_gives_the_value_of_the_results(full) -> None:
    """Each cell, written as a quantity of its column's unit, is read back as the SI value of the results."""
    dimensions = {si: name for name, (si, *_) in DIMENSIONS.items()}
    for units in ("si", "us"):
        frame = certgen.points_frame(full, units=units)
        for column in frame.columns:
            name, _, unit = column.removesuffix("]").partition(" [")
            if not unit or "uncertainty" in name:
                continue
            for place, point in enumerate(full.points, start=1):
                item = getattr(point, name.replace(" ", "_"))
                if item is None:
                    assert np.isnan(frame.loc[str(place), column])
                elif item.unit in dimensions and item.unit != "VA":
                    back = read_quantity(f"{float(frame.loc[str(place), column])!r} {unit}", dimensions[item.unit])
                    assert back == pytest.approx(item.value, rel=1e-12), column


def test_customary_units_by_their_definitions(full) -> None:
    """NIST Special Publication 811 (2008), appendix B: 1 lbf*ft = 1.355818 N*m, 1 hp (550 ft*lbf/s) = 745.6999 W."""
    si, us = certgen.points_frame(full), certgen.points_frame(full, units="us")
    assert np.allclose(si["torque [N*m]"] / us["torque [lbf*ft]"], 1.355818, rtol=1e-6)
    assert np.allclose(si["shaft power [W]"] / us["shaft power [hp]"], 745.6999, rtol=1e-6)
    assert np.allclose(si["input power [W]"], us["input power [W]"])
    for name in ("torque expanded uncertainty [N*m]",):
        known = si[name].notna()
        assert known.any()
        assert np.allclose(si[name][known] / us["torque expanded uncertainty [lbf*ft]"][known], 1.355818, rtol=1e-6)
    with pytest.raises(ValueError, match="units are 'si' or 'us', not 'metric'"):
        certgen.points_frame(full, units="metric")


def test_points_stand_before_the_points_read_off_their_curve(full) -> None:
    frame = certgen.points_frame(full)
    assert list(frame.index[:7]) == ["1", "2", "3", "4", "5", "6", "7"]
    assert set(frame.index[7:]) == {"at_rated_current", "at_rated_power", "at_service_factor", "at_rated_speed"}
    assert frame.loc["at_rated_power", "shaft power [W]"] == pytest.approx(1500.0)
    assert np.isnan(frame.loc["at_rated_power", "shaft power expanded uncertainty [W]"])  # it defines the point


def test_readings_are_those_of_the_file() -> None:
    job = EXAMPLES / "logged_load_test" / "job.yaml"
    frame, raw = certgen.readings_frame(job), pd.read_csv(job.parent / "load_test.csv", sep=None, engine="python")
    assert len(frame) == len(raw)
    assert {"time [s]", "speed [rpm]", "scale [N]", "current [A]"} <= set(frame.columns)
    with pytest.raises(certgen.CertgenError, match=r"this job has no readings 'heat_runs'; it has load_test"):
        certgen.readings_frame(job, table="heat_runs")


def test_other_tables_and_remarks(bench: Bench) -> None:
    job = bench.write()
    text = job.read_text(encoding="utf-8")
    assert len(certgen.readings_frame(job)) == text.count("\n      - [")


def test_a_list_of_jobs_says_what_could_not_be_judged(bench: Bench) -> None:
    good = bench.write()
    bad = Path("bad.yaml")
    bad.write_text(good.read_text(encoding="utf-8").replace("1.5 kW", "1.5"), encoding="utf-8")
    frame = certgen.summary_frame([good, bad, certgen.assess(good)])
    assert list(frame["verdict"].fillna("")) == [frame["verdict"][0], "", frame["verdict"][0]]
    assert "nameplate.power" in frame["problem"][1]
    assert frame["tested on"][0] == pd.Timestamp("2026-03-14")
    assert len(certgen.summary_frame(".")) == 2


def test_a_register_as_a_frame(bench: Bench) -> None:
    job = bench.write()
    Path("kept").mkdir()
    issued = certgen.issue(job, archive="kept")
    frame = certgen.register_frame("kept")
    assert list(frame["number"]) == [issued.number]
    point = issued.results.at_rated_power
    assert frame["torque [N*m]"][0] == pytest.approx(point.torque.value)
    assert frame["speed [rpm]"][0] == pytest.approx(point.speed.value * 30.0 / np.pi)
    assert str(frame["entered at"].dt.tz) == "UTC"
    assert certgen.register_frame("kept", units="us")["power [hp]"][0] == pytest.approx(
        point.shaft_power.value / 745.699872, rel=1e-8
    )


# Lists as files.


@pytest.mark.parametrize("ending", ["csv", "xlsx", "json", "parquet"])
def test_a_list_comes_back_from_its_file(bench: Bench, ending: str, capsys: pytest.CaptureFixture[str]) -> None:
    job = bench.write()
    out = Path(f"list.{ending}")
    assert main(["summary", str(job), "--out", str(out)]) == 0
    assert capsys.readouterr().out == f"list.{ending}: jobs in the list: 1\n"
    read = {
        "csv": pd.read_csv,
        "xlsx": lambda one: pd.read_excel(one, engine="openpyxl"),
        "json": pd.read_json,
        "parquet": pd.read_parquet,
    }[ending]
    back, frame = read(out), certgen.summary_frame([job]).drop(columns=["job", "problem"])
    assert list(back.columns) == list(frame.columns)
    assert back["number"][0] == "WS-2026-007"
    assert back["torque [N*m]"][0] == pytest.approx(frame["torque [N*m]"][0], rel=1e-9)
    assert main(["summary", str(job), "--out", str(out)]) == 0  # the same list is written again in its place


def test_a_list_is_sorted_as_the_sheet_is(bench: Bench) -> None:
    jobs = [str(EXAMPLES / name / "job.yaml") for name in ("geared_motor", "worn_rotor", "three_phase_full_plate")]
    assert main(["summary", *jobs, "--sort", "verdict", "--out", "list.csv"]) == 0
    verdicts = list(pd.read_csv("list.csv")["verdict"])
    assert verdicts[0] == "fail"
    assert verdicts == sorted(verdicts, key=["fail", "conditional fail", "conditional pass", "pass"].index)


def test_another_file_is_left_as_it_is(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    job = bench.write()
    for name in ("other.csv", "other.xlsx", "other.json", "other.parquet"):
        Path(name).write_text("my,own\n1,2\n", encoding="utf-8")
        assert main(["summary", str(job), "--out", name]) == 2
        assert f"{name}: a file of this name exists and is not a list with these columns" in capsys.readouterr().err
        assert Path(name).read_text(encoding="utf-8") == "my,own\n1,2\n"


def test_no_cell_of_a_list_is_a_formula(tmp_path: Path) -> None:
    frame = pd.DataFrame({"maker": ["=1+1", "Vantrell"], "power [W]": [-5.0, 2.0]})
    write_frame(frame, tmp_path / "a.csv")
    assert (tmp_path / "a.csv").read_text(encoding="utf-8-sig") == "maker,power [W]\n'=1+1,-5.0\nVantrell,2.0\n"


def test_a_missing_library_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for library in ("pyarrow", "fastparquet"):
        monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(certgen.CertgenError, match=r"pip install 'certgen\[tables\]'"):
        write_frame(pd.DataFrame({"a": [1.0]}), tmp_path / "a.parquet")
    assert not (tmp_path / "a.parquet").exists()
