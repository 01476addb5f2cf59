"""The trend page: every test, centre and limits where they belong, and each broken rule in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from archive.pdfa_rules import violations
from sheet.geometry import assert_sound

from certgen.document.source import Problems
from certgen.messages.catalogue import Message
from certgen.physics.control_chart import ControlLimits, control_limits, signals
from certgen.sheet.charts.axes import Frame
from certgen.sheet.charts.control_chart import control_drawing
from certgen.sheet.engine.layout import Layout, find_layout, load_layout
from certgen.sheet.engine.page import units_of
from certgen.sheet.engine.place import PlacedPage, compose_content
from certgen.sheet.engine.setting import TextMark
from certgen.sheet.list_content import FollowedMotor, TrendContent, TrendTest
from certgen.sheet.pdf.draw import draw
from certgen.sheet.pdf.drawing import Letters, Line, Mark
from certgen.sheet.pdf.metadata import About

pytestmark = pytest.mark.slow

#: Flow rates of the worked example, limits 51.9..: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
BATCHES = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def followed(values: tuple[float, ...], limits: ControlLimits | None, quantity: str = "torque") -> FollowedMotor:
    broken: dict[int, tuple[str, ...]] = {}
    for one in signals(values, limits) if limits else ():
        broken[one.at] = (*broken.get(one.at, ()), Message(f"trend.rule.{one.rule}"))
    tests = tuple(
        TrendTest(f"HB-{index:03}", f"2026-01-{index:02}", value, broken.get(index - 1, ()))
        for index, value in enumerate(values, start=1)
    )
    return FollowedMotor("0071934", quantity, tests, limits, 5, program="certgen")


def content_of(trend: FollowedMotor, units: str = "si") -> tuple[TrendContent, Layout]:
    path = find_layout("trend")
    assert path is not None
    layout = load_layout(path, path.name, Problems())
    assert layout is not None
    return TrendContent(trend, units_of(layout, units), layout.words), layout


def texts(page: PlacedPage, name: str) -> str:
    return " ".join(
        m.text for box in page.boxes if box.name == name for m in box.setting.marks if isinstance(m, TextMark)
    )


NIST = followed(BATCHES, control_limits(BATCHES))


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["si", "us", "both"])
@pytest.mark.parametrize("count", [1, 2, 10, 200])
def test_every_test_stands_in_the_table(paper: str, units: str, count: int) -> None:
    values = tuple((BATCHES * 20)[:count])
    content, layout = content_of(followed(values, control_limits(values) if count > 4 else None), units)
    first = compose_content(content, layout, paper)
    for page in first.pages:
        assert_sound(page, layout)
    listed = " ".join(texts(page, "trend_tests") for page in first.pages)
    assert all(test.number in listed.split() for test in content.trend.tests)
    document = draw(first, About("Trend", "", "", "", "", "certgen", date(2026, 3, 14)))
    assert violations(document) == []


def test_limits_of_the_published_example_stand_on_the_page() -> None:
    """NIST/SEMATECH e-Handbook, 6.3.2.2: centre 50.81, limits 55.8041 and 45.8159, as the page prints them."""
    content, layout = content_of(NIST)
    said = texts(compose_content(content, layout, "a4"), "trend_outcome")
    assert said.startswith("No sign of drift. Centre 50.8 N·m, limits 45.8 N·m and 55.8 N·m: three standard")
    assert "Dotted lines: one and two." in said


def test_a_broken_rule_is_marked_and_told_in_words() -> None:
    values = (*BATCHES, 58.0)
    content, layout = content_of(followed(values, control_limits(BATCHES)))
    page = compose_content(content, layout, "a4")
    assert "The rig changed, or the motor did" in texts(page, "trend_outcome")
    assert "beyond three standard deviations" in texts(page, "trend_tests")
    shapes = control_drawing(content, Frame(0.0, 0.0, 400.0, 200.0, 8.0)).shapes
    points = [shape for shape in shapes if isinstance(shape, Mark) and shape.fill]
    rings = [shape for shape in shapes if isinstance(shape, Mark) and not shape.fill]
    assert len(points) == len(values)
    assert [ring.spot for ring in rings] == [points[-1].spot]
    assert "HB-011" in [shape.text for shape in shapes if isinstance(shape, Letters)]


def test_lines_of_the_chart_lie_at_centre_limits_and_standard_deviations() -> None:
    content, _ = content_of(NIST)
    limits = content.trend.limits
    assert limits is not None
    shapes = control_drawing(content, Frame(0.0, 0.0, 400.0, 200.0, 8.0)).shapes
    points = [shape.spot[1] for shape in shapes if isinstance(shape, Mark) and shape.fill]
    per_unit = (points[8] - points[1]) / (BATCHES[8] - BATCHES[1])  # height of one newton metre

    def height(value: float) -> float:
        return points[0] + (value - BATCHES[0]) * per_unit

    level = [one for one in shapes if isinstance(one, Line) and one.spots[0][1] == one.spots[-1][1]]
    across = [one for one in level if one.spots[-1][0] - one.spots[0][0] > 300]
    found = {round(one.spots[0][1], 3): one.dashes for one in across}
    for times in (-3, -2, -1, 0, 1, 2, 3):
        assert round(height(limits.centre + times * limits.sigma), 3) in found
    assert found[round(height(limits.centre), 3)] == ()
    assert found[round(height(limits.upper), 3)] == found[round(height(limits.lower), 3)] != ()


def test_too_few_tests_have_no_limits_and_it_is_said() -> None:
    content, layout = content_of(replace(followed(BATCHES[:3], None), without_value=("HB-099",)))
    said = texts(compose_content(content, layout, "a4"), "trend_outcome")
    assert said == "Tests so far: 3. Limits take at least 5. No value from: HB-099."


@pytest.mark.parametrize(
    ("quantity", "value", "printed"), [("efficiency", 0.8251, "82.51"), ("power", 1502.0, "1.502")]
)
def test_values_stand_in_the_units_of_the_page(quantity: str, value: float, printed: str) -> None:
    content, layout = content_of(followed((value, value * 1.001), None, quantity))
    assert printed in texts(compose_content(content, layout, "a4"), "trend_tests")


def test_no_scatter_at_all_is_drawn_too() -> None:
    content, layout = content_of(followed((0.8,) * 6, control_limits((0.8,) * 6), "efficiency"))
    assert draw(compose_content(content, layout, "a4"), About("Trend", "", "", "", "", "certgen", date(2026, 3, 14)))
