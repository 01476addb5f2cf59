"""The charts of a record: what they show is what the results say, and what was read."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from sheet.results_factory import make_results, with_uncertainties

from certgen.pipeline import assess_job
from certgen.results.model import Results
from certgen.sheet.blocks.losses import budget_drawn
from certgen.sheet.charts import evidence_charts, model
from certgen.sheet.charts.axes import Frame
from certgen.sheet.charts.model import Chart
from certgen.sheet.charts.painter import drawn, laid_out
from certgen.sheet.content import Content
from certgen.sheet.pdf.drawing import Area, Drawing, Letters, Mark

EXAMPLES = Path(__file__).parents[2] / "example_jobs"
FRAME = Frame(0.0, 0.0, 260.0, 140.0, 8.0)


@cache
def results_of(name: str) -> Results:
    return assess_job(EXAMPLES / name / "job.yaml").results


def heat() -> Chart:
    results = results_of("three_phase_full_plate")
    assert results.thermal is not None
    return evidence_charts.heat_chart(results.thermal, Content(results))


def log() -> Chart:
    results = results_of("logged_load_test")
    assert results.log is not None
    return evidence_charts.log_chart(results.log, Content(results))


def test_what_went_wrong_in_a_log_is_named_beside_its_cross() -> None:
    """Each fault of the log once, at a cross within its time and in the panel where it shows."""
    left_out = [one for one in results_of("logged_load_test").log.left_out if one.fault]
    panels = log().panels
    labels = [(label, panel) for panel in panels for label in panel.labels]
    assert labels and len(labels) <= len(left_out)
    in_seconds = 60.0 if panels and log().across.unit == "min" else 1.0
    for label, panel in labels:
        assert label.spot in panel.points[0].spots
        at = in_seconds * label.spot[0]
        assert any(one.from_ - 0.01 <= at <= one.to + 0.01 for one in left_out)
    named = [label.text for label, _ in labels]
    assert [text for text in drawn_texts(log()) if text in named] == named


def drawn_texts(chart: Chart) -> list[str]:
    return [shape.text for shape in drawn(chart, FRAME).shapes if isinstance(shape, Letters)]


def test_the_fitted_curve_runs_through_the_heat_run_towards_its_final_rise() -> None:
    thermal = results_of("three_phase_full_plate").thermal
    assert thermal is not None
    assert thermal.final_rise is not None and thermal.time_constant is not None
    panel = heat().panels[0]
    fitted, carried_on = panel.curves
    assert (fitted.kind, carried_on.kind) == (model.FITTED, model.BEYOND)
    read = panel.points[0].spots
    at = np.interp([x for x, _ in read], *np.array(fitted.spots).T)
    assert at == pytest.approx([y for _, y in read], abs=1.0)
    assert panel.levels[0].at == thermal.final_rise.value
    # In one time constant the way left shrinks to 1/e.
    x, y = np.array(fitted.spots).T
    left = thermal.final_rise.value - np.interp([0.0, thermal.time_constant.value / 60.0], x, y)
    assert left[1] / left[0] == pytest.approx(math.exp(-1.0), abs=0.01)
    assert carried_on.spots[-1][0] > read[-1][0] and carried_on.spots[-1][1] < thermal.final_rise.value


def test_without_a_fit_the_heat_run_is_drawn_as_read() -> None:
    results = results_of("three_phase_full_plate")
    assert results.thermal is not None
    thermal = replace(results.thermal, heat_run_fit=None, final_rise=None)
    chart = evidence_charts.heat_chart(thermal, Content(results))
    assert chart.notes and not chart.panels[0].curves and not chart.panels[0].levels


def test_the_line_of_the_no_load_test_meets_zero_voltage_at_friction_and_windage() -> None:
    """IEC 60034-2-1:2014, method 2-1-1B, from memory: constant loss over voltage squared, carried on to zero."""
    results = results_of("three_phase_full_plate")
    losses = results.losses
    assert losses is not None
    panel = evidence_charts.no_load_chart(losses, Content(results)).panels[0]
    ((start, friction), (end, _)) = panel.curves[0].spots
    assert start == 0.0 and losses.friction_windage is not None
    # Friction at synchronous speed; at rated slip it is a little less.
    assert losses.friction_windage.value < friction < 1.15 * losses.friction_windage.value
    low = [spot for spot in panel.points[0].spots if spot[0] <= end * 1.0001]
    line = stats.linregress(*np.array(low).T)
    assert line.intercept == pytest.approx(friction, rel=1e-6)


def test_the_residual_losses_lie_about_the_regression() -> None:
    results = results_of("three_phase_full_plate")
    assert results.losses is not None
    fit = results.losses.stray_regression
    assert fit is not None
    panel = evidence_charts.stray_chart(fit, Content(results)).panels[0]
    line = stats.linregress(*np.array(panel.points[0].spots).T)
    assert line.slope == pytest.approx(fit.slope.value, rel=1e-6)
    assert line.rvalue == pytest.approx(fit.correlation.value, abs=1e-6)
    ((x, y), (to_x, to_y)) = panel.curves[0].spots
    assert (to_y - y) / (to_x - x) == pytest.approx(fit.slope.value)


def test_the_stack_of_losses_is_as_high_as_they_are_together() -> None:
    results = results_of("three_phase_full_plate")
    assert results.losses is not None
    stacks = evidence_charts.loss_chart(results.losses, Content(results)).panels[0].stacks
    for stack, point in zip(stacks, results.losses.at_loads, strict=True):
        assert sum(stack.parts) == pytest.approx(point.input_power.value - point.shaft_power.value, rel=1e-6)


def test_the_log_shows_every_steady_stretch_and_every_fault() -> None:
    results = results_of("logged_load_test")
    assert results.log is not None
    chart = log()
    assert [panel.up.quantity for panel in chart.panels] == ["Speed", "Torque"]
    for panel in chart.panels:
        steady = [one for one in panel.ranges if one.kind == model.STEADY]
        assert len(steady) == len(results.points)
        spans = [(one.from_, one.to) for one in results.log.plateaus]
        assert np.array([(one.left, one.right) for one in steady]) == pytest.approx(np.array(spans))
        faulty = [one for one in panel.ranges if one.kind == model.FAULTY]
        assert len(faulty) == sum(one.fault and one.to > one.from_ for one in results.log.left_out)
        assert panel.points[0].state == model.LEFT_OUT
    x, speed = np.array(chart.panels[0].curves[0].spots).T
    first = results.log.plateaus[0]
    inside = (x >= first.from_) & (x <= first.to)
    assert results.points[0].speed is not None
    rpm = results.points[0].speed.value * 60.0 / math.tau
    assert speed[inside].mean() == pytest.approx(rpm, rel=0.005)


def test_a_long_log_is_drawn_over_minutes() -> None:
    results = results_of("logged_load_test")
    assert results.log is not None
    assert log().across.unit == "s"
    assert evidence_charts.log_chart(replace(results.log, seconds=7200.0), Content(results)).across.unit == "min"


@pytest.mark.parametrize("chart", [heat, log])
def test_what_is_drawn_lies_within_its_frame(chart: Callable[[], Chart]) -> None:
    built = chart()
    for placed, panel in laid_out(built, FRAME, Drawing(FRAME.width, FRAME.height)):
        frame = placed.frame
        for x, y in (placed.spot(spot) for curve in panel.curves for spot in curve.spots):
            assert frame.left - 0.01 <= x <= frame.right + 0.01
            assert frame.bottom - 0.01 <= y <= frame.top + 0.01
    assert drawn(built, FRAME).shapes


def test_the_budget_is_a_bar_for_each_input_named_with_its_share() -> None:
    """Shares of a variance are parts of one whole: over an axis of 0 to 100 %, the largest on top."""
    results = with_uncertainties(make_results())
    chart = budget_drawn(Content(results))
    assert (chart.across.low, chart.across.high, chart.across.label) == (0.0, 100.0, "Share of the variance, %")
    assert [panel.title for panel in chart.panels] == [
        "Shaft power at rated current: 1.494 ± 0.012 kW", "Efficiency at rated current: 86.18 ± 0.95 %",
    ]  # fmt: skip
    for panel, name in zip(chart.panels, ("shaft_power", "efficiency"), strict=True):
        shares = sorted((line.share for line in results.budget if line.quantity == name), reverse=True)[:5]
        assert [bar.value for bar in panel.bars] == pytest.approx([100.0 * share for share in shares])
        assert sorted((bar.at for bar in panel.bars), reverse=True) == [bar.at for bar in panel.bars]
        named = [text.rsplit(", ", 1)[1] for text in panel.up.texts]
        assert named == [f"{100 * share:.0f} %" for share in shares]
    frame = Frame(0.0, 0.0, 500.0, 160.0, 8.0)
    drawing = drawn(chart, frame)
    areas = iter([one for one in drawing.shapes if isinstance(one, Area)])
    for placed, panel in laid_out(chart, frame, Drawing(500.0, 160.0)):
        for bar in panel.bars:
            area = next(areas)
            assert max(x for x, _ in area.corners) == pytest.approx(placed.x(bar.value))
            assert min(x for x, _ in area.corners) == pytest.approx(placed.frame.left)
    assert next(areas, None) is None


def test_what_was_left_out_beyond_the_frame_is_an_arrow_and_no_cross_at_a_false_speed() -> None:
    """Halved speeds of the log lie far below its axis of speed."""
    chart = log()
    panel = chart.panels[0]
    (left_out,) = [one for one in panel.points if one.state == model.LEFT_OUT]
    assert any(not panel.up.low <= y <= panel.up.high for _, y in left_out.spots)
    assert left_out.name == "left out (arrows: beyond the edge)"
    inside = sum(
        panel.up.low <= y <= panel.up.high for panel in chart.panels for one in panel.points for _, y in one.spots
    )
    crosses = [one for one in drawn(chart, FRAME).shapes if isinstance(one, Mark) and one.shape == "x"]
    keys = sum(any(one.state == model.LEFT_OUT for one in panel.points) for panel in chart.panels)
    assert inside <= len(crosses) <= inside + keys
