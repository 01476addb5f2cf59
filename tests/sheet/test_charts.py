"""Charts: what is drawn, with what marks and words, straight onto the page."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream
from reportlab.pdfgen.canvas import Canvas
from scipy import constants
from sheet.results_factory import PLATE, make_results

from certgen.quantity import Quantity
from certgen.results.model import Curve, Results, Sweep
from certgen.sheet.blocks.charts import unmeasured_load, unmeasured_torque
from certgen.sheet.charts.axes import round_ticks, scale
from certgen.sheet.charts.load_charts import Frame, draw_load_chart, draw_torque_chart
from certgen.sheet.charts.series import Axis, Look, axis, plate_rating, rated_range, series_of
from certgen.sheet.content import Content

Draw = Callable[[Any, Content, Frame], None]
FRAME = Frame(50.0, 400.0, 260.0, 150.0, 7.0)


def drawn(draw: Draw, results: Results, units: str = "si") -> tuple[str, list[tuple[list[Any], str]]]:
    """The texts of a chart, and everything drawn."""
    paper = io.BytesIO()
    canvas = Canvas(paper, invariant=1)
    draw(canvas, Content(results, units), FRAME)
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


def test_torque_chart_names_its_axes_and_the_plate() -> None:
    text, _ = drawn(draw_torque_chart, make_results(8))
    for wanted in ("Speed in rpm", "Torque in N·m", "plate: 10.1 N·m", "at 1420 rpm", "at rated current"):
        assert wanted in text


def test_load_chart_names_its_series_directly() -> None:
    text, found = drawn(draw_load_chart, make_results(8))
    for wanted in (
        "Shaft power in kW",
        "Current in A",
        "current",
        "power factor",
        "efficiency",
        "rated 1.5 kW",
        "to service",
        "factor 1.15",
    ):
        assert wanted in text
    assert {(5.0, 2.0), (7.0, 1.6, 1.2, 1.6)} <= dashes(found)  # told apart without colour


def test_us_units_on_the_axes() -> None:
    assert "Torque in lbf·ft" in drawn(draw_torque_chart, make_results(8), "us")[0]
    assert "rated 2.012 hp" in drawn(draw_load_chart, make_results(8), "us")[0]
    assert 1500.0 / constants.hp == pytest.approx(2.012, abs=0.0005)


@pytest.mark.parametrize("draw", [draw_torque_chart, draw_load_chart])
def test_too_few_points_for_a_curve_is_said(draw: Draw) -> None:
    assert "points only: too few for a curve" in drawn(draw, make_results(2))[0]
    assert "points only" not in drawn(draw, make_results(3))[0]


@pytest.mark.parametrize("draw", [draw_torque_chart, draw_load_chart])
def test_doubtful_points_are_named_and_drawn_apart(draw: Draw) -> None:
    text, found = drawn(draw, make_results(8, flagged=True))
    assert "extrapolated" in text
    assert "impossible" in text
    assert (1.0, 1.8) in dashes(found)  # the stub to an extrapolated point
    sound, plain = drawn(draw, make_results(8))
    assert "extrapolated" not in sound
    assert (1.0, 1.8) not in dashes(plain)


def test_everything_is_drawn_inside_its_frame() -> None:
    for draw in (draw_torque_chart, draw_load_chart):
        _, found = drawn(draw, make_results(40, flagged=True))
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
    power = axis(Content(make_results(8)), "shaft_power", "shaft_power")
    assert rated_range(replace(PLATE, service_factor=None), power) == pytest.approx((1.5,))
    assert rated_range(PLATE, power) == pytest.approx((1.5, 1.725))
    assert rated_range(replace(PLATE, power=None), power) == ()


def test_plate_rating_is_power_over_speed() -> None:
    content = Content(make_results(8))
    speed, torque = axis(content, "speed", "speed"), axis(content, "torque", "torque")
    mark = plate_rating(content, speed, torque)
    assert mark is not None
    # from memory, and by definition: torque [N*m] = power [W] / (2 pi n / 60)
    assert mark.spot == pytest.approx((1420.0, 1500.0 / (2 * constants.pi * 1420.0 / 60.0)))
    without_speed = replace(content.results, nameplate=replace(PLATE, speed=None))
    assert plate_rating(Content(without_speed), speed, torque) is None


def test_series_sorts_points_by_what_may_be_said_of_them() -> None:
    results = make_results(8, flagged=True)
    content = Content(results)
    speed, torque = axis(content, "speed", "speed"), axis(content, "torque", "torque")
    found = series_of(content, speed, torque, results.curves.torque_speed, Look())
    assert (len(found.tested), len(found.impossible), len(found.extrapolated)) == (7, 1, 4)
    assert len(found.curve) == 61
    assert series_of(content, speed, Axis("losses", torque.form), results.curves.load, Look()).curve == ()


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
    text, _ = drawn(
        draw_load_chart, replace(without(make_results(8), "current"), curves=replace(make_results(8).curves, load=None))
    )
    assert "efficiency" in text
    assert "Current" not in text


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
    found = scale("Speed in rpm", [1420.0, 1420.5])
    assert found.high - found.low > 0.02 * 1420.0


def test_axis_holds_every_value_with_room_to_spare() -> None:
    found = scale("Torque", [0.0, 12.2], from_zero=True)
    assert found.low == 0.0
    assert found.high > 12.2


def logged(results: Results, faults: tuple[tuple[float, ...], tuple[float, ...]] | None) -> Results:
    """The same results with the trace of a log behind them: speed [rad/s] and torque [N*m], and its faults."""
    units = {"speed": "rad/s", "torque": "N*m"}
    trace = Curve({"speed": tuple(np.linspace(156.0, 148.0, 50)), "torque": tuple(np.linspace(0.0, 10.0, 50))}, units)
    wrong = None if faults is None else Curve(dict(zip(units, faults, strict=True)), units)
    return replace(results, curves=replace(results.curves, trace=trace, faults=wrong))


def test_a_log_is_drawn_fine_behind_the_points_and_its_faults_are_named() -> None:
    plain = make_results(8)
    _, without_log = drawn(draw_torque_chart, plain)
    text, with_log = drawn(draw_torque_chart, logged(plain, None))
    assert "left out" not in text
    assert len([one for one in with_log if one[1] == "l"]) >= len([one for one in without_log if one[1] == "l"]) + 40
    text, _ = drawn(draw_torque_chart, logged(plain, ((151.0, 154.0), (9.0, 3.0))))
    assert "left out" in text


def test_a_fault_far_off_the_chart_stands_at_its_edge_and_moves_no_axis() -> None:
    plain = make_results(8)
    near, far = (drawn(draw_torque_chart, logged(plain, faults))[0] for faults in (None, ((300.0, 75.0), (5.0, 5.0))))
    assert far.replace("left out", "").split() == near.split()


def test_a_row_at_full_span_is_named() -> None:
    plain = make_results(8)
    points = (*plain.points[:-1], replace(plain.points[-1], flags=("full span",)))
    assert "at full span" in drawn(draw_torque_chart, replace(plain, points=points))[0]
    assert "at full span" not in drawn(draw_torque_chart, plain)[0]
