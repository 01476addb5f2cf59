"""Charts: what their data say, and that they are painted where the data say, straight onto the page."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream
from reportlab.pdfgen.canvas import Canvas
from scipy import constants
from sheet.results_factory import PLATE, RPM, make_results, with_uncertainties

from certgen.quantity import Quantity
from certgen.results.model import Characteristic, Curve, Finding, Limits, Results, Sweep
from certgen.sheet.blocks.charts import unmeasured_load, unmeasured_torque
from certgen.sheet.charts import model
from certgen.sheet.charts.axes import Frame
from certgen.sheet.charts.load_charts import load_chart, printed, rated_range, torque_chart
from certgen.sheet.charts.model import Chart, axis_of, round_ticks
from certgen.sheet.charts.painter import drawn as painted
from certgen.sheet.charts.painter import laid_out, paint
from certgen.sheet.content import Content
from certgen.sheet.pdf.drawing import Drawing, Mark

pytestmark = pytest.mark.slow

Build = Callable[[Content], Chart]
FRAME = Frame(50.0, 400.0, 260.0, 210.0, 8.0)


def drawn(build: Build, results: Results, units: str = "si") -> tuple[str, list[tuple[list[Any], str]]]:
    """The texts of a chart, and everything drawn."""
    paper = io.BytesIO()
    canvas = Canvas(paper, invariant=1)
    paint(build(Content(results, units)), canvas, FRAME)
    canvas.save()
    page = PdfReader(paper).pages[0]
    found = ContentStream(page.get_contents(), page.pdf).operations
    return " ".join(page.extract_text().split()), [(list(operands), operator.decode()) for operands, operator in found]


def dashes(found: list[tuple[list[Any], str]]) -> set[tuple[float, ...]]:
    return {
        tuple(float(part) for part in operands[0]) for operands, operator in found if operator == "d" and operands[0]
    }


def without(results: Results, *names: str) -> Results:
    return replace(results, points=tuple(replace(point, **dict.fromkeys(names)) for point in results.points))


def judged(results: Results, *findings: Finding) -> Results:
    return replace(results, findings=findings)


def test_torque_chart_names_its_axes_and_the_plate() -> None:
    text, _ = drawn(torque_chart, make_results(8))
    for wanted in ("Speed, rpm", "Torque, N·m, against speed", "plate 10.1 N·m at 1420 rpm", "at rated power"):
        assert wanted in text


def test_load_chart_names_each_panel_and_what_they_share() -> None:
    text, _ = drawn(load_chart, make_results(8))
    for wanted in (
        "Against shaft power", "Shaft power, kW", "Current, A", "Power factor", "Efficiency, %", "plate 3.4 A",
        "rated 1.5 kW", "to service factor 1.15",
    ):  # fmt: skip
        assert wanted in text


def test_three_panels_stand_over_one_axis_of_power() -> None:
    chart = load_chart(Content(make_results(8)))
    assert [panel.up.quantity for panel in chart.panels] == ["Current", "Efficiency", "Power factor"]
    assert (chart.across.quantity, chart.across.low) == ("Shaft power", 0.0)
    places = laid_out(chart, FRAME, Drawing(FRAME.width, FRAME.height))
    assert len({(placed.frame.left, placed.frame.right) for placed, _ in places}) == 1
    for (upper, _), (lower, _) in pairwise(places):
        assert upper.frame.bottom > lower.frame.top


def test_past_breakdown_the_panels_stand_over_speed() -> None:
    """Beyond the breakdown torque power falls while the load grows: over power the curve would double back."""
    results = make_results(8)
    speeds = sorted(point.speed.value for point in results.points if point.speed)
    found = Characteristic(breakdown_speed=Quantity(speeds[2], "rad/s"), breakdown_torque=Quantity(20.0, "N*m"))
    chart = load_chart(Content(replace(results, characteristic=found)))
    assert chart.across.quantity == "Speed"
    assert chart.panels[0].curves[0].kind == model.JOINED
    assert [x for x, _ in chart.panels[0].curves[0].spots] == pytest.approx([one / RPM for one in speeds])
    peak = torque_chart(Content(replace(results, characteristic=found))).panels[0].marks
    assert [mark.spot for mark in peak if mark.kind == model.PEAK] == [pytest.approx((speeds[2] / RPM, 20.0))]


def test_past_the_greatest_power_the_panels_stand_over_speed_too() -> None:
    """A series motor gives its greatest power at some speed, and less at every greater torque."""
    results = make_results(8)
    falling = [
        replace(point, shaft_power=Quantity(1500.0 - 40.0 * abs(index - 5), "W"))
        for index, point in enumerate(results.points)
    ]
    assert load_chart(Content(replace(results, points=tuple(falling)))).across.quantity == "Speed"
    assert load_chart(Content(results)).across.quantity == "Shaft power"


def test_us_units_on_the_axes() -> None:
    assert "Torque, lbf·ft" in drawn(torque_chart, make_results(8), "us")[0]
    assert "rated 2.012 hp" in drawn(load_chart, make_results(8), "us")[0]
    assert 1500.0 / constants.hp == pytest.approx(2.012, abs=0.0005)


@pytest.mark.parametrize("build", [torque_chart, load_chart])
def test_too_few_points_for_a_curve_is_said(build: Build) -> None:
    assert "Too few points for a curve." in drawn(build, make_results(2))[0]
    assert "Too few" not in drawn(build, make_results(3))[0]


@pytest.mark.parametrize("build", [torque_chart, load_chart])
def test_doubtful_points_are_named_and_drawn_apart(build: Build) -> None:
    text, found = drawn(build, make_results(8, flagged=True))
    assert "extrapolated" in text
    assert "impossible" in text
    assert (1.0, 1.8) in dashes(found)  # the stub to an extrapolated point
    sound, plain = drawn(build, make_results(8))
    assert "extrapolated" not in sound
    assert (1.0, 1.8) not in dashes(plain)


def test_everything_is_drawn_inside_its_frame() -> None:
    for build in (torque_chart, load_chart):
        _, found = drawn(build, make_results(40, flagged=True))
        matrix, stack, spots = np.eye(3), [], []
        for operands, operator in found:
            numbers = [float(part) for part in operands] if operator in ("cm", "m", "l", "c", "re") else []
            if operator == "q":
                stack.append(matrix)
            elif operator == "Q":
                matrix = stack.pop()
            elif operator == "cm":
                a, b, c, d, e, f = numbers
                matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
            elif operator in ("m", "l"):
                spots.append((np.array([*numbers, 1.0]) @ matrix)[:2])
        x, y = np.array(spots).T
        assert len(spots) > 50
        assert x.min() >= FRAME.x - 1.0
        assert x.max() <= FRAME.x + FRAME.width + 1.0
        assert y.min() >= FRAME.y - 1.0
        assert y.max() <= FRAME.y + FRAME.height + 1.0


def test_service_factor_of_one_leaves_no_range() -> None:
    power = printed(Content(make_results(8)), "shaft_power", "shaft_power")
    assert rated_range(replace(PLATE, service_factor=None), power) == pytest.approx((1.5,))
    assert rated_range(PLATE, power) == pytest.approx((1.5, 1.725))
    assert rated_range(replace(PLATE, power=None), power) == ()


def plate_marks(results: Results) -> list[model.Mark]:
    return [mark for mark in torque_chart(Content(results)).panels[0].marks if mark.kind == model.PLATE]


def test_plate_rating_is_power_over_speed() -> None:
    (mark,) = plate_marks(make_results(8))
    # by definition: torque [N*m] = power [W] / (2 pi n / 60)
    assert mark.spot == pytest.approx((1420.0, 1500.0 / (2 * constants.pi * 1420.0 / 60.0)))
    assert plate_marks(replace(make_results(8), nameplate=replace(PLATE, speed=None))) == []


def test_plate_is_painted_where_its_figures_say() -> None:
    chart = torque_chart(Content(make_results(8)))
    drawing = painted(chart, FRAME)
    ((placed, panel),) = laid_out(chart, FRAME, Drawing(FRAME.width, FRAME.height))
    (plate,) = [mark for mark in panel.marks if mark.kind == model.PLATE]
    at = placed.spot(plate.spot)
    assert any(isinstance(one, Mark) and one.shape == "D" and one.spot == pytest.approx(at) for one in drawing.shapes)
    frame, (x, y) = placed.frame, plate.spot
    across, up = chart.across, panel.up
    assert at[0] == pytest.approx(
        frame.left + (x - across.low) / (across.high - across.low) * (frame.right - frame.left)
    )
    assert at[1] == pytest.approx(frame.bottom + (y - up.low) / (up.high - up.low) * (frame.top - frame.bottom))


def test_tolerance_of_the_slip_is_a_box_of_speeds_at_the_torque_of_the_plate() -> None:
    """Slip of 3.2 to 7.467 % at 1500 rpm: 1452 down to 1388 rpm; 1.5 kW at 1420 rpm take 10.087 N·m."""
    slip = Finding("slip_at_rated_power", "Slip", "pass", "1", 0.0533, 0.05, Limits(0.032, 0.07467))
    known = Characteristic(synchronous_speed=Quantity(1500.0 * RPM, "rad/s"))
    chart = torque_chart(Content(replace(judged(make_results(8), slip), characteristic=known)))
    (box,) = chart.panels[0].ranges
    assert (box.left, box.right) == pytest.approx((1388.0, 1452.0), abs=0.05)
    assert (box.low, box.high) == pytest.approx((10.087, 10.087), abs=0.001)
    assert torque_chart(Content(make_results(8))).panels[0].ranges == ()


def test_limits_stand_at_the_load_they_hold_at() -> None:
    findings = (
        Finding("current_at_rated_power", "I", "pass", "A", 3.4, 3.4, Limits(None, 3.74)),
        Finding("service_factor_current", "I", "pass", "A", 3.8, 3.8, Limits(None, 4.18)),
        Finding("efficiency_at_rated_power", "eta", "pass", "1", 0.828, 0.82, Limits(0.8, None)),
    )
    current, efficiency, factor = load_chart(Content(judged(make_results(8), *findings))).panels
    assert [(limit.spot, limit.allowed) for limit in current.limits] == [
        (pytest.approx((1.5, 3.74)), model.BELOW), (pytest.approx((1.725, 4.18)), model.BELOW),
    ]  # fmt: skip
    assert [(limit.spot, limit.allowed) for limit in efficiency.limits] == [(pytest.approx((1.5, 80.0)), model.ABOVE)]
    assert factor.limits == ()
    assert current.up.high > 4.18


def test_points_are_sorted_by_what_may_be_said_of_them() -> None:
    panel = torque_chart(Content(make_results(8, flagged=True))).panels[0]
    counts = {points.state: len(points.spots) for points in panel.points}
    assert counts == {model.TESTED: 7, model.IMPOSSIBLE: 1, model.EXTRAPOLATED: 4}
    assert len(panel.curves[0].spots) == 61


def test_band_is_as_wide_as_the_uncertainty_of_the_points() -> None:
    results = with_uncertainties(make_results(8))
    wide = [
        replace(point, torque=replace(point.torque, expanded_uncertainty=0.75))
        for point in results.points
        if point.torque
    ]
    (band,) = torque_chart(Content(replace(results, points=tuple(wide)))).panels[0].bands
    for low, high in zip(band.low, band.high, strict=True):
        assert low[0] == high[0]
        assert high[1] - low[1] == pytest.approx(1.5)
    assert torque_chart(Content(make_results(8))).panels[0].bands == ()  # not known


def test_bars_are_as_long_as_the_uncertainty() -> None:
    from certgen.sheet.charts.painter import visible_bars

    results = make_results(4)
    wide = [
        replace(point, torque=replace(point.torque, expanded_uncertainty=1.0))
        for point in results.points
        if point.torque
    ]
    chart = torque_chart(Content(replace(results, points=tuple(wide))))
    ((placed, panel),) = laid_out(chart, FRAME, Drawing(FRAME.width, FRAME.height))
    lengths = [high[1] - low[1] for low, high in visible_bars(placed, panel.points[0])]
    assert max(lengths) == pytest.approx(placed.y(3.0) - placed.y(1.0))


def test_chart_model_knows_no_page_and_no_library() -> None:
    from pathlib import Path

    source = Path(model.__file__).read_text(encoding="utf-8")
    imports = [line for line in source.splitlines() if line.startswith(("import ", "from "))]
    assert [line for line in imports if "reportlab" in line or "sheet" in line or "numpy" in line] == []


@pytest.mark.parametrize(
    ("names", "torque", "load"),
    [
        ((), "", ""),
        (
            ("torque", "shaft_power", "efficiency"),
            "No chart: torque was not measured.",
            "No chart: torque was not measured.",
        ),
        (
            ("speed", "torque", "shaft_power"),
            "No chart: torque and speed were not measured.",
            "No chart: torque was not measured.",
        ),
        (
            ("current", "power_factor", "efficiency"),
            "",
            "No chart: current, power factor and efficiency were not measured.",
        ),
        (("current",), "", ""),
    ],
)
def test_what_stands_instead_of_a_chart(names: tuple[str, ...], torque: str, load: str) -> None:
    results = without(make_results(8), *names)
    assert unmeasured_torque(results) == torque
    assert unmeasured_load(results) == load


def test_a_sweep_without_inertia_says_why_there_is_no_chart() -> None:
    sweep = Sweep(Quantity(2.0, "Hz"), 1, 1, Quantity(30.0, "rad/s^2"))
    results = replace(without(make_results(8), "torque", "shaft_power", "efficiency"), sweep=sweep)
    reason = "No chart: the torque of a sweep takes the inertia of the rig, which its file does not state."
    assert unmeasured_torque(results) == unmeasured_load(results) == reason
    assert unmeasured_torque(replace(make_results(8), sweep=sweep)) == ""


def test_load_chart_without_current_keeps_the_ratios() -> None:
    chart = load_chart(Content(without(make_results(8), "current")))
    assert [panel.up.quantity for panel in chart.panels] == ["Efficiency", "Power factor"]


@pytest.mark.parametrize(
    ("low", "high", "most"), [(0.0, 12.9, 6), (1395.0, 1503.0, 5), (0.0, 0.0042, 4), (-3.0, 8.0, 7)]
)
def test_ticks_are_round_and_few(low: float, high: float, most: int) -> None:
    ticks = round_ticks(low, high, most)
    step = ticks[1] - ticks[0]
    lead = step / 10.0 ** np.floor(np.log10(step) + 1e-9)
    assert round(lead, 6) in (1.0, 2.0, 5.0)
    assert 2 <= len(ticks) <= most
    assert low - 1e-9 <= ticks[0]
    assert ticks[-1] <= high + 1e-9


def test_axis_does_not_blow_up_scatter() -> None:
    for found in (axis_of("Speed", "rpm", [1420.0, 1420.5]), axis_of("Speed in rpm", "", [1420.0, 1420.5])):
        assert found.high - found.low > 0.02 * 1420.0


def test_axis_holds_every_value_with_room_to_spare() -> None:
    found = axis_of("Torque", "N·m", [0.0, 12.2], from_zero=True)
    assert found.low == 0.0
    assert found.high > 12.2
    assert found.label == "Torque, N·m"


def logged(results: Results, faults: tuple[tuple[float, ...], tuple[float, ...]] | None) -> Results:
    """The same results with the trace of a log behind them: speed [rad/s] and torque [N*m], and its faults."""
    units = {"speed": "rad/s", "torque": "N*m"}
    trace = Curve({"speed": tuple(np.linspace(156.0, 148.0, 50)), "torque": tuple(np.linspace(0.0, 10.0, 50))}, units)
    wrong = None if faults is None else Curve(dict(zip(units, faults, strict=True)), units)
    return replace(results, curves=replace(results.curves, trace=trace, faults=wrong))


def test_a_log_is_drawn_behind_the_points_and_what_was_left_out_stands_on_the_record_alone() -> None:
    plain = make_results(8)
    _, without_log = drawn(torque_chart, plain)
    text, with_log = drawn(torque_chart, logged(plain, None))
    assert "log" in text.split()
    assert len([one for one in with_log if one[1] == "l"]) >= len([one for one in without_log if one[1] == "l"]) + 40
    assert drawn(torque_chart, logged(plain, ((151.0, 154.0), (9.0, 3.0)))) == (text, with_log)


def test_a_point_at_the_plates_value_stands_in_its_mark_and_is_painted_last() -> None:
    """One load point taken at the plate's current lies all but on the plate's mark: both must be seen."""
    only = make_results(8).points[4]
    results = replace(make_results(1), points=(only,))
    assert only.speed is not None and only.torque is not None
    plate = replace(PLATE, speed=only.speed.value, power=only.torque.value * only.speed.value)
    shapes = painted(torque_chart(Content(replace(results, nameplate=plate))), FRAME).shapes
    diamond, clear, dot = [mark for mark in shapes if isinstance(mark, Mark)][-3:]
    assert (diamond.shape, diamond.fill, clear.fill, dot.shape) == ("D", "", "paper", "o")
    assert dot.spot == clear.spot == pytest.approx(diamond.spot)
    assert dot.size < clear.size < diamond.size - diamond.weight
    # the largest circle within a square on its corner has the side for a diameter; half a point stays white around
    assert diamond.size - diamond.weight > dot.size + 2 * 0.5


def test_a_row_at_full_span_is_named() -> None:
    plain = make_results(8)
    points = (*plain.points[:-1], replace(plain.points[-1], flags=("full span",)))
    assert "at full span" in drawn(torque_chart, replace(plain, points=points))[0]
    assert "at full span" not in drawn(torque_chart, plain)[0]
