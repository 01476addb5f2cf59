"""The blocks that stand only where something was measured: losses, heat, assessed rating, comparisons."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader
from sheet.results_factory import make_results
from sheet.wider_results import COMPARISON, LOSSES, RATING, THERMAL, with_everything

from certgen.results.model import AssessedRating, Losses
from certgen.sheet.blocks.conditions import condition_pairs, insulation_pairs, thermal_pairs
from certgen.sheet.blocks.findings import comparison_table
from certgen.sheet.blocks.losses import loss_text, losses
from certgen.sheet.blocks.verdict import rating_pairs
from certgen.sheet.content import Content, headline_point
from certgen.sheet.engine.layout import Part, Titled
from certgen.sheet.engine.place import compose
from certgen.sheet.pdf.draw import render

SI = Content(make_results())


@pytest.fixture(scope="module")
def text(record_layout):
    document = render(with_everything(make_results(8, rich=True)), record_layout, paper="a4", units="si")
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(document)).pages).split())


@pytest.mark.parametrize(
    "words",
    [
        "Losses", "Loss segregation: six load points", "115 %", "correlation 0.981 over 6 points",
        "load point 6 left out", "IEC 60034-2-1: not accepted", "Heat and insulation", "rise of 61.3 K by resistance",
        "time constant 34 min", "340.0 MΩ after 1 min", "polarization index 2.68",
        "Assessed rating", "0.75 kW", "not a maker's rating", "breakdown torque", "Two tests of this motor",
        "Before and after", "Rotor renewed between the tests.",
    ],
)  # fmt: skip
def test_the_page_says_it(text, words):
    assert words in text


def test_everything_at_once_still_makes_one_page_on_either_paper(certificate_layout, record_layout):
    for paper in ("a4", "letter"):
        results = with_everything(make_results(12, rich=True))
        page = compose(results, certificate_layout, paper=paper, units="both", record=record_layout)
        assert {"torque_chart", "checks", "scope"} <= {box.name for box in page.boxes}
        evidence = {box.name for one in page.following for box in one.boxes}
        assert {"losses", "loss_chart", "rating", "comparisons", "budget_chart"} - evidence <= {"budget_chart"}


def test_a_block_without_content_leaves_its_room_to_its_neighbour(certificate_layout):
    row = Part(columns=((Part(block="heat"),), (Part(block="comparisons"),)))
    layout = replace(certificate_layout, rows=(*certificate_layout.rows[:1], row))
    both = compose(with_everything(make_results()), layout, paper="a4", units="si")
    alone = compose(replace(make_results(), thermal=THERMAL), layout, paper="a4", units="si")
    half = next(box for box in both.boxes if box.name == "heat")
    whole = next(box for box in alone.boxes if box.name == "heat")
    assert whole.width == pytest.approx(alone.width - 2 * alone.margin)
    assert half.width < 0.6 * whole.width


def test_an_assessed_rating_leads_the_page_where_the_plate_gives_none():
    named = headline_point(with_everything(make_results()))
    assert named.field == "at_rated_power"
    bare = replace(with_everything(make_results()), at_rated_power=None, at_rated_current=None)
    named = headline_point(bare)
    assert named.point.shaft_power.value == RATING.power.value
    assert named.how == "and rated by this bench, not by a maker"


def test_losses_not_told_apart_say_why_among_the_conditions():
    found = replace(make_results(), losses=Losses(method="direct", reason="no readings without load"))
    assert losses(Content(found), Titled()) is None
    assert dict(condition_pairs(Content(found)))["Efficiency"] == "direct: no readings without load"


def test_losses_without_a_table_stand_in_words():
    text = loss_text(replace(LOSSES, at_loads=()), Content(make_results()))
    assert "At rated load: stator 150.0 W, rotor 75.00 W" in text


def test_heat_says_only_what_is_known():
    assert thermal_pairs(None, SI) == insulation_pairs(None, SI) == ()
    labels = [label for label, _ in thermal_pairs(replace(THERMAL, final_rise=None, time_constant=None), SI)]
    assert labels == ["Winding", "Heat run"]


def test_a_rating_not_possible_lists_what_to_measure():
    found = AssessedRating(words="No rating.", to_measure=("a heat run", "the breakdown torque"))
    assert rating_pairs(found, SI) == (("Still to measure", "a heat run; the breakdown torque"),)


def test_a_rating_in_us_units():
    """750 W is 1.006 hp (550 ft lbf/s, NIST SP 811)."""
    assert "power 1.006 hp" in dict(rating_pairs(RATING, replace(SI, units="us")))["Figures"]


def test_differences_are_second_less_first_in_the_units_shown():
    columns = comparison_table(COMPARISON, SI).columns
    assert columns[3].cells == ("+0.192", "+38", "+8.5")
    assert columns[4].cells == ("kW", "rpm", "%")
