"""Every sentence of a page is in the reader's units; a user's own text is in no unit but its own."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from certgen.pipeline import assess_job
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import TextMark

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parents[2] / "example_jobs"
#: Units that a page in customary units has nowhere but in a user's own text, or in the title of a standard's row.
METRIC = re.compile(r"\d (?:m?N·m|kN·m|°C|kg|mm?|kg·m²|m/s²|W/\(N·m\)²)(?![\w/²·])")


def words_on(job: str, layout: Layout, units: str) -> str:
    # A laboratory checks a budget in coherent units, so its table is in SI on every page, and says so.
    results = replace(assess_job(EXAMPLES / job / "job.yaml").results, budget=())
    page = compose(results, layout, paper="letter", units=units)
    return " ".join(
        mark.text for one in page.pages for box in one.boxes for mark in box.setting.marks if isinstance(mark, TextMark)
    )


@pytest.mark.parametrize("job", ["capacitor_start_us_units", "swept_motor", "three_phase_full_plate"])
def test_no_metric_unit_is_left_on_a_us_page(job: str, certificate_layout: Layout, record_layout: Layout) -> None:
    for layout in (certificate_layout, record_layout):
        assert METRIC.findall(words_on(job, layout, "us")) == []


def test_a_value_never_changes_its_unit_within_a_users_text() -> None:
    """A contract for a cable of 25 m is no contract for one of 82.0 ft."""
    results = assess_job(EXAMPLES / "capacitor_start_us_units" / "job.yaml").results
    for units in ("us", "both"):
        assert (
            Content(results, units).says("Pump contract, 25 m cable, 12.4 N·m") == "Pump contract, 25 m cable, 12.4 N·m"
        )
