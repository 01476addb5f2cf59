"""Charts for screens and picture files: what is drawn is what the sheet's model says, of one test or several."""

from __future__ import annotations

import contextlib
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest

import certgen
from certgen.errors import CertgenError
from certgen.messages.catalogue import Message
from certgen.pipeline import read_job
from certgen.plotting.figure import drawing_style, figure_of, saved, shown_results, write_picture
from certgen.plotting.log_trace import left_out_stretches, raw_chart, raw_log_of
from certgen.plotting.subjects import Shown, pictures_of
from certgen.reduction.log.model import Reason
from certgen.sheet.charts import model
from certgen.sheet.content import Content

pytestmark = pytest.mark.slow

mpl.use("agg")

EXAMPLES = Path(__file__).parents[2] / "example_jobs"


def job(name: str) -> Path:
    return EXAMPLES / name / "job.yaml"


@pytest.fixture(scope="module")
def full() -> certgen.Results:
    return certgen.assess(job("three_phase_full_plate"))


@pytest.fixture(scope="module")
def geared() -> certgen.Results:
    return certgen.assess(job("geared_motor"))


def names_drawn(axes) -> list[str]:
    return axes.get_legend_handles_labels()[1]


def test_the_points_of_a_test_stand_where_they_were_measured(full) -> None:
    axes = certgen.plot(full)
    assert axes.get_xlabel() == "Speed, rpm"
    assert axes.get_ylabel() == "Torque, N·m"
    drawn = [line.get_xydata() for line in axes.lines if line.get_marker() == "o" and len(line.get_xdata()) > 1]
    expected = [(point.speed.value * 30.0 / np.pi, point.torque.value) for point in full.points]
    assert np.allclose(drawn[0], expected, rtol=1e-9)
    assert "plate 10.0 N·m at 1430 rpm" in names_drawn(axes)


def test_it_draws_on_the_axes_it_is_given(full) -> None:
    axes = mpl.figure.Figure().subplots()
    assert certgen.plot(full, ax=axes, what="efficiency") is axes
    assert axes.get_ylabel() == "Efficiency, %"
    panels = mpl.figure.Figure().subplots(3, 1)
    assert len(certgen.plot(full, ax=panels, what="load")) == 3
    with pytest.raises(ValueError, match="this drawing has 3 panels, 1 axes are given"):
        certgen.plot(full, ax=axes, what="load")
    with pytest.raises(ValueError, match="'torq' is nothing that can be plotted; choose one of torque, load"):
        certgen.plot(full, what="torq")


def test_us_units_are_drawn_on_the_axes(full) -> None:
    axes = certgen.plot(full, units="us")
    assert axes.get_ylabel() == "Torque, lbf·ft"
    drawn = next(line for line in axes.lines if line.get_marker() == "o" and len(line.get_xdata()) > 1)
    # 1 lbf*ft is 1.3558179483314004 N*m: NIST Special Publication 811 (2008), appendix B.8
    assert drawn.get_ydata()[-1] == pytest.approx(full.points[-1].torque.value / 1.3558179483314004, rel=1e-9)


def test_motors_laid_over_each_other_share_units_and_axes(full, geared) -> None:
    """One of 1.5 kW and one of less than 1 kW: alone they would be drawn in kilowatts and in watts."""
    small = certgen.assess(job("logged_load_test"))
    alone = {certgen.plot(one, what="current").get_xlabel() for one in (full, small)}
    assert alone == {"Shaft power, kW", "Shaft power, W"}
    axes = certgen.plot([full, small], what="current", names=["large", "small"])
    assert axes.get_xlabel() == "Shaft power, kW"
    powers = [point.shaft_power.value / 1000.0 for point in (*full.points, *small.points)]
    low, high = axes.get_xlim()
    assert low <= min(powers) and max(powers) <= high
    assert {name for name in names_drawn(axes) if ":" not in name} == {"large", "small"}
    looks = {(line.get_color(), line.get_linestyle()) for line in axes.lines if len(line.get_xdata()) > 20}
    assert len(looks) == 2


def test_what_was_not_measured_is_said(full) -> None:
    with pytest.raises(CertgenError, match=r"PMB-2026-0041: The load test is no log: its points were written down"):
        certgen.plot(full, what="log")
    with pytest.raises(ValueError, match="'log' shows one test at a time"):
        certgen.plot([certgen.assess(job("logged_load_test"))] * 2, what="log")


# The raw log.


def test_every_sample_of_a_log_is_drawn_with_its_load_points_and_what_was_left_out() -> None:
    test = read_job(job("logged_load_test")).test
    raw = raw_log_of(test)
    assert raw is not None
    results = certgen.assess(job("logged_load_test"))
    chart = raw_chart(raw, Content(results))
    speed = chart.panels[0]
    table = test.readings.load_test
    drawn = np.array(speed.curves[0].spots)
    assert np.allclose(drawn[:, 0], table.column("time")[np.isfinite(table.column("speed"))])
    assert len(speed.points[0].spots) == len(results.points)
    steady = [one for one in speed.ranges if one.kind == model.STEADY]
    assert [(one.left, one.right) for one in steady] == [(one.from_, one.to) for one in results.log.plateaus]
    faults = {one.name for one in speed.ranges if one.kind == model.FAULTY}
    assert f"left out: {Message('left_out.load_lost')}" in faults
    assert f"left out: {Message('left_out.dropped_out')}" in faults
    assert [panel.up.label for panel in chart.panels] == ["Speed, rpm", "Scale, N", "Current, A"]


def test_stretches_of_one_reason_stay_apart_and_single_samples_are_not_lost() -> None:
    time = np.arange(1000.0)
    why = np.zeros(1000, dtype=np.int8)
    why[100:150] = why[400:450] = Reason.LOAD_LOST
    why[700] = Reason.OUTLIER
    why[900:] = Reason.UNSTEADY
    found = [(str(one.reason), one.start, one.end, one.fault) for one in left_out_stretches(time, why)]
    lost, outlier, unsteady = (
        str(Message(f"left_out.{name}")) for name in ("load_lost", "outlier", "unsteady")
    )  # fmt: skip
    assert found == [
        (lost, 100.0, 149.0, True),
        (lost, 400.0, 449.0, True),
        (outlier, 700.0, 700.0, True),
        (unsteady, 900.0, 999.0, False),
    ]


def test_the_least_and_the_greatest_of_a_long_log_are_drawn(full) -> None:
    from certgen.plotting.log_trace import RawLog

    rng = np.random.default_rng(7)
    time = np.linspace(0.0, 500.0, 200_000)
    speed = 150.0 + rng.normal(0.0, 0.2, time.size)
    speed[[12_345, 150_001]] = 20.0, 290.0
    (panel,) = raw_chart(RawLog(time, {"speed": speed}, "mass"), Content(full)).panels
    drawn = np.array(panel.curves[0].spots)
    assert len(drawn) <= 8000
    assert np.all(np.diff(drawn[:, 0]) >= 0.0)
    assert drawn[:, 1].min() == pytest.approx(20.0 * 30.0 / np.pi)
    assert drawn[:, 1].max() == pytest.approx(290.0 * 30.0 / np.pi)


def test_a_test_written_down_point_by_point_has_no_raw_log() -> None:
    assert raw_log_of(read_job(job("three_phase_full_plate")).test) is None


# Files.


@pytest.mark.parametrize("ending", [".png", ".svg", ".pdf"])
def test_the_same_test_gives_the_same_picture(full, ending: str) -> None:
    def drawn() -> bytes:
        with drawing_style():
            return saved(figure_of(pictures_of(shown_results(full, None), ["torque"], "si")), Path(f"a{ending}"))

    one = drawn()
    assert one == drawn()
    assert b"certgen plot" in one


def test_another_file_is_never_overwritten(tmp_path: Path) -> None:
    other = tmp_path / "photo.png"
    other.write_bytes(b"\x89PNG of a motor")
    with pytest.raises(CertgenError, match="was not drawn by certgen"):
        write_picture(other, b"certgen plot 1")
    write_picture(tmp_path / "a.svg", b"certgen plot 1")
    write_picture(tmp_path / "a.svg", b"certgen plot 2")
    assert (tmp_path / "a.svg").read_bytes() == b"certgen plot 2"
    assert other.read_bytes() == b"\x89PNG of a motor"


@pytest.mark.parametrize(
    "name", ["permanent_magnet_dc", "one_point_test", "swept_motor", "unmarked_motor", "home_bench"]
)
def test_every_kind_of_test_can_be_drawn(name: str) -> None:
    read = read_job(job(name))
    results = certgen.assess(job(name))
    tests = [Shown(results, name, raw_log_of(read.test))]
    with drawing_style():
        drawn = []
        for what in ("torque", "load", "heat", "losses", "log"):
            with contextlib.suppress(CertgenError):
                pictures = pictures_of(tests, [what], "us")
                assert len(saved(figure_of(pictures), Path("a.svg"))) > 5000
                drawn.append(what)
    assert "torque" in drawn
