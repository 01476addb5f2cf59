"""The summary: many motors in a list, over as many pages as it takes, in any units."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import pytest
from archive.pdfa_rules import violations
from pypdf import PdfReader
from sheet.geometry import assert_sound

from certgen.document.source import Problems
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.sheet.engine.layout import Layout, find_layout, load_layout
from certgen.sheet.engine.page import units_of
from certgen.sheet.engine.place import PlacedPage, compose_content
from certgen.sheet.engine.setting import TextMark
from certgen.sheet.list_content import NotListed, Summary, SummaryContent, SummaryRow
from certgen.sheet.pdf.draw import draw
from certgen.sheet.pdf.metadata import About

pytestmark = pytest.mark.slow

RPM = 0.10471975511965977  # pi / 30
ROW = SummaryRow(
    "HB-2026-0001",
    "2026-03-14",
    "Vantrell, VK 90, 0071, three-phase induction",
    "pass",
    1500.0,
    10.05,
    1428.0 * RPM,
    3.34,
    399.8,
    0.825,
)
SMALL = SummaryRow("HB-2026-0002", "2026-03-15", "dc", "not tested", power=151.4, torque=0.2109)


def page_of(summary: Summary, paper: str = "a4", units: str = "si") -> tuple[PlacedPage, Layout]:
    path = find_layout("summary")
    assert path is not None
    layout = load_layout(path, path.name, Problems())
    assert layout is not None
    return compose_content(SummaryContent(summary, units_of(layout, units), layout.words), layout, paper), layout


def texts(page: PlacedPage, name: str) -> list[str]:
    return [m.text for box in page.boxes if box.name == name for m in box.setting.marks if isinstance(m, TextMark)]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["si", "us", "both"])
@pytest.mark.parametrize("count", [1, 2, 30, 300])
def test_every_motor_stands_on_some_page_once(paper: str, units: str, count: int) -> None:
    rows = tuple(replace(ROW if index % 3 else SMALL, number=f"HB-{index:04}") for index in range(count))
    first, layout = page_of(Summary(rows, shop="Harrow Bench"), paper, units)
    numbers: list[str] = []
    for index, page in enumerate(first.pages, start=1):
        assert_sound(page, layout)
        assert f"Page {index} of {len(first.pages)}" in texts(page, "summary_heading")
        assert "List only: see each certificate." in " ".join(texts(page, "summary_footer"))
        assert "Shaft power" in " ".join(texts(page, "summary_list"))
        numbers += [text for text in texts(page, "summary_list") if text.startswith("HB-")]
    assert numbers == [row.number for row in rows]
    assert (len(first.pages) > 1) is (count > 30)


def test_figures_of_motors_of_all_sizes_keep_their_digits() -> None:
    page, _ = page_of(Summary((ROW, SMALL)))
    listed = texts(page, "summary_list")
    for wanted in (
        "1.500",
        "0.1514",
        "10.05",
        "0.2109",
        "1428",
        "3.34",
        "399.8",
        "82.5",
        "kW",
        "N·m",
        "pass",
        "not tested",
    ):
        assert wanted in listed
    assert listed.count("—") == 4  # what the second motor lacks
    us = texts(page_of(Summary((ROW,)), units="us")[0], "summary_list")
    # from memory: 1 hp = 745.6999 W, 1 lbf ft = 1.355818 N m
    assert "2.012" in us
    assert "7.412" in us


def test_outcomes_are_counted_and_what_is_lacking_said() -> None:
    missing = (
        NotListed("saw/job.yaml", "nameplate.power: '1.5' has no unit"),
        NotListed("drill/job.yaml", "nameplate.speed: unknown"),
        NotListed("lathe/plan.yaml", Message("summary.awaits_test"), awaiting=True),
    )
    page, _ = page_of(Summary((ROW, ROW, SMALL), source="planer", not_listed=missing))
    said = " ".join(texts(page, "summary_counts"))
    assert said == (
        "Motors tested: 3, of them 2 pass, 1 not tested. "
        "Awaiting their test: 1. Could not be judged, not in the list: 2."
    )
    named = " ".join(texts(page, "summary_not_listed"))
    for wanted in ("lathe/plan.yaml", "awaits its test", "saw/job.yaml", "'1.5' has no unit", "drill/job.yaml"):
        assert wanted in named
    assert "planer" in texts(page, "summary_heading")
    assert " ".join(texts(page_of(Summary(()))[0], "summary_counts")) == "No test to list."


def test_headline_and_scope_stand_with_each_motor_and_what_was_set_is_marked() -> None:
    """A motor's power at its rated power is the plate's: it is told as set, never as measured."""
    headline = Message("headline.rated_at_current", power=Quantity(168.6, "W", 1.2), current=Quantity(2.3, "A"))
    rated = replace(SMALL, verdict="no verdict", headline=headline, scope="load test only; insulation NOT TESTED")
    failed = replace(ROW, verdict="fail", headline=Message("headline.fail"), power=1500.0, set_by="power")
    listed = " ".join(texts(page_of(Summary((rated, failed)), units="us")[0], "summary_list"))
    for wanted in ("Bench-rated 0.226 hp", "insulation NOT", "Fail", "2.012*", "* set: the plate's"):
        assert wanted in listed
    assert "set:" not in " ".join(texts(page_of(Summary((SMALL,)))[0], "summary_list"))


def test_a_replaced_certificate_says_by_which() -> None:
    page, _ = page_of(Summary((replace(SMALL, replaced_by="HB-2026-0009"),)))
    assert "(replaced by HB-2026-0009)" in " ".join(texts(page, "summary_list"))


def test_it_is_archive_grade_and_the_same_bytes_again() -> None:
    rows = tuple(replace(ROW, number=f"HB-{index:04}", motor="Größe 80 – ½ hp, " * 4) for index in range(90))
    about = About("Summary", "", "", "", "", "certgen", date(2026, 3, 14))
    document = draw(page_of(Summary(rows))[0], about)
    assert violations(document) == []
    assert document == draw(page_of(Summary(rows))[0], about)
    reader = PdfReader(io.BytesIO(document))
    text = " ".join(page.extract_text() for page in reader.pages)
    assert all(row.number in text for row in rows)
