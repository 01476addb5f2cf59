"""Figures in sentences, in the reader's units. Factors: NIST SP 811 (2008), appendix B, as in scipy.constants."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from certgen.messages.format import Units
from certgen.pipeline import assess_job
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import TextMark
from certgen.sheet.words import in_units

US_JOB = Path(__file__).parents[2] / "example_jobs" / "capacitor_start_us_units" / "job.yaml"


@pytest.mark.parametrize(
    ("text", "us"),
    [
        ("Breakdown torque is above 2.78 N·m.", "Breakdown torque is above 2.05 lbf·ft."),
        ("corrected to 40 °C from 22 °C", "corrected to 104 °F from 72 °F"),
        ("lies outside 10 to 85 °C", "lies outside 50 to 185 °F"),
        ("an arm of 0.3048 m on a scale", "an arm of 1.000 ft on a scale"),
        ("correction +0.014 N·m", "correction +0.0103 lbf·ft"),
        ("resolution 0.001 kg", "resolution 0.00220 lb"),
        ("a rise of 59 K, 400 V, 50 Hz, 9.81 m/s², slope 0.16 W/(N·m)²", None),
        ("IEC 60034-1, 12.1 and 3.25 m-notes", None),
    ],
)
def test_a_sentence_in_us_units(text: str, us: str | None) -> None:
    assert in_units(text, "us") == (us or text)
    assert in_units(text, "si") == text


def test_both_systems_stand_side_by_side() -> None:
    assert in_units("above 2.78 N·m", Units("both")) == "above 2.78 N·m (2.05 lbf·ft)"


@given(st.decimals(min_value="0.01", max_value=9999, places=2))
def test_a_figure_keeps_its_value_to_the_digits_it_has(value: object) -> None:
    shown = in_units(f"{value} N·m", "us").removesuffix(" lbf·ft")
    true = float(str(value)) / (constants.lbf * constants.foot)
    assert float(shown) == pytest.approx(true, rel=0.006, abs=0.0)


def test_no_metric_unit_of_torque_length_or_temperature_is_left_on_a_us_page(certificate_layout: Layout) -> None:
    results = assess_job(US_JOB).results
    page = compose(results, certificate_layout, paper="letter", units="us")
    words = " ".join(mark.text for box in page.boxes for mark in box.setting.marks if isinstance(mark, TextMark))
    assert re.findall(r"\d (?:N·m|°C|kg|m|mm)(?![\w/])", words) == []
    assert Content(results, "us").says("12.4 N·m") == "9.15 lbf·ft"
