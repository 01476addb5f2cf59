"""The certificate of every example job: size of its text, words, share of the charts, order, and its record."""

from __future__ import annotations

import io
import re
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from pypdf import PdfReader
from sheet.geometry import assert_sound

from certgen.messages.languages import shipped
from certgen.pipeline import assess_job
from certgen.results.model import Results
from certgen.sheet.charts.axes import Frame
from certgen.sheet.charts.load_charts import load_chart, torque_chart
from certgen.sheet.charts.painter import drawn
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout, in_language
from certgen.sheet.engine.page import units_of
from certgen.sheet.engine.place import PlacedPage, compose
from certgen.sheet.engine.setting import TextMark
from certgen.sheet.pdf.draw import render
from certgen.sheet.pdf.drawing import Letters

pytestmark = pytest.mark.slow

JOBS = sorted((Path(__file__).parents[2] / "example_jobs").glob("*/job.yaml"))
PAGES = pytest.mark.parametrize(
    ("job", "paper", "units"),
    [(job, paper, units) for job in JOBS for paper in ("a4", "letter") for units in ("si", "us")],
    ids=lambda value: value.parent.name if isinstance(value, Path) else value,
)
#: Least size of any text [pt], most words (about 450, a few more where a verdict tells its whole scope), least part of
#: the printable area that is charts.
SMALLEST, WORDS, CHARTS = 8.0, 470, 0.25
#: The parts of the page from top to bottom; those in brackets of one height.
ORDER = ("heading", "identity", "cautions", "headline", "torque_chart", "checks", "condition", "signature", "scope")


@cache
def results_of(job: Path) -> Results:
    return assess_job(job).results


@cache
def page_of(layout: Layout, job: Path, paper: str, units: str) -> PlacedPage:
    return compose(results_of(job), layout, paper=paper, units=units)


def letters_of_charts(results: Results, units: str) -> list[str]:
    """The texts of both charts but for the figures along their axes."""
    frame = Frame(0.0, 0.0, 255.0, 200.0, 8.0)
    charts = [build(Content(results, units)) for build in (torque_chart, load_chart)]
    listed = [one for chart in charts for one in drawn(chart, frame).shapes if isinstance(one, Letters)]
    assert min(one.size for one in listed) >= SMALLEST
    ticks = {
        text for chart in charts for axis in (chart.across, *(one.up for one in chart.panels)) for text in axis.texts
    }
    return [one.text for one in listed if one.text not in ticks]


def own_words(results: Results) -> int:
    """How many words of the page are the shop's own: names, addresses, descriptions, remarks."""
    certificate, motor, shop = results.certificate, results.motor, results.certificate.shop
    own = [certificate.issued_to, certificate.remarks, certificate.tested_by, results.conditions.rig]
    own += [motor.maker, motor.model, motor.serial, motor.description, motor.condition]
    own += [shop.name, *shop.address, shop.contact] if shop else []
    return sum(len(text.split()) for text in own if text)


@PAGES
def test_nothing_is_left_out_and_nothing_overlaps(
    certificate_layout: Layout, job: Path, paper: str, units: str
) -> None:
    page = page_of(certificate_layout, job, paper, units)
    assert page.left_out == ()
    assert_sound(page, certificate_layout)


@PAGES
def test_text_words_and_charts_keep_their_measure(
    certificate_layout: Layout, job: Path, paper: str, units: str
) -> None:
    page, results = page_of(certificate_layout, job, paper, units), results_of(job)
    texts = [mark for box in page.boxes for mark in box.setting.marks if isinstance(mark, TextMark)]
    assert min(mark.size for mark in texts) >= SMALLEST - 1e-9
    words = sum(len(text.split()) for text in [*(mark.text for mark in texts), *letters_of_charts(results, units)])
    assert words - own_words(results) <= WORDS
    charts = sum(box.width * box.height for box in page.boxes if box.name.endswith("_chart"))
    printable = (page.width - 2 * page.margin) * (page.height - 2 * page.margin)
    assert charts / printable >= CHARTS


@PAGES
def test_parts_stand_in_their_order(certificate_layout: Layout, job: Path, paper: str, units: str) -> None:
    page = page_of(certificate_layout, job, paper, units)
    boxes = {box.name: box for box in page.boxes}
    there = [boxes[name] for name in ORDER if name in boxes]
    for upper, lower in pairwise(there):
        assert upper.bottom <= lower.y + 0.01, (upper.name, lower.name)
    assert boxes["verdict"].x > boxes["identity"].x
    if "cautions" in boxes:
        assert boxes["cautions"].bottom < page.height / 2


#: Most words where every figure stands in two systems, and in other languages than English, whose charts may give way to
#: them by a hundredth of the page.
WORDS_OF_BOTH, WORDS_ELSEWHERE, CHARTS_ELSEWHERE = 500, 550, 0.24


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.parent.name)
def test_every_language_and_both_units_keep_the_measure(certificate_layout: Layout, job: Path) -> None:
    """Other systems than both are shorter."""
    results, frame = results_of(job), Frame(0.0, 0.0, 255.0, 200.0, 8.0)
    for language, most in (("en", WORDS_OF_BOTH), *((other, WORDS_ELSEWHERE) for other in ("de", "es", "fr"))):
        layout = in_language(certificate_layout, shipped(language))
        content = Content(results, units_of(layout, "both"), layout.words)
        shapes = [shape for build in (torque_chart, load_chart) for shape in drawn(build(content), frame).shapes]
        figures = re.compile(r"[−\d.,]+")
        letters = [one.text for one in shapes if isinstance(one, Letters) and not figures.fullmatch(one.text)]
        for paper in ("a4", "letter"):
            page = compose(results, layout, paper=paper, units="both")
            assert_sound(page, layout)
            texts = [mark for box in page.boxes for mark in box.setting.marks if isinstance(mark, TextMark)]
            assert min(mark.size for mark in texts) >= SMALLEST - 1e-9
            words = sum(len(text.split()) for text in [*(mark.text for mark in texts), *letters])
            assert words - own_words(results) <= most, (language, paper)
            charts = sum(box.width * box.height for box in page.boxes if box.name.endswith("_chart"))
            printable = (page.width - 2 * page.margin) * (page.height - 2 * page.margin)
            assert charts / printable >= (CHARTS if language == "en" else CHARTS_ELSEWHERE), (language, paper)
            boxes = {box.name: box for box in page.boxes}
            for upper, lower in pairwise(boxes[name] for name in ORDER if name in boxes):
                assert upper.bottom <= lower.y + 0.01, (upper.name, lower.name)


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.parent.name)
def test_the_page_read_back_holds_the_facts(certificate_layout: Layout, job: Path) -> None:
    results = results_of(job)
    reader = PdfReader(io.BytesIO(render(results, certificate_layout, paper="a4", units="si")))
    (page,) = reader.pages
    text = " ".join(page.extract_text().split())
    certificate, motor = results.certificate, results.motor
    for wanted in (
        certificate.number,
        certificate.tested_by,
        certificate.tested_on.isoformat(),
        motor.serial,
        motor.maker,
    ):
        assert wanted is None or wanted in text, wanted
    outcome, headline = results.verdict.outcome, results.verdict.headline
    # Without a plate to judge against, what was measured stands large instead of an outcome
    assert outcome.capitalize() in text or (outcome == "no verdict" and headline is not None and str(headline) in text)
    assert "Page 1 of 1" in text
    assert re.search(r"(At rated|At the rating|At load|At the only)", text)
    for unwanted in ("certgen", ".yaml", "SHA-256"):
        assert unwanted not in text


#: A key of a file, a path of keys, the name of a shipped criteria set, or advice on what to write into a file.
OF_FILES = re.compile(
    r"\b[a-z]+_[a-z_]+\b|(?<![@\w.])[a-z_]+\.[a-z_]{3,}\b|iec-60034|nema-mg|(?:rig|job) file|in the job\b"
)


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.parent.name)
def test_record_and_certificate_speak_of_the_test_and_not_of_files(
    certificate_layout: Layout, record_layout: Layout, job: Path
) -> None:
    pages = [*page_of(certificate_layout, job, "a4", "si").pages]
    pages += compose(results_of(job), record_layout, paper="a4", units="si").pages
    texts = [
        mark.text
        for page in pages
        for box in page.boxes
        for mark in box.setting.marks
        if isinstance(mark, TextMark) and box.name not in ("inputs", "heading", "footer")
    ]
    assert [text for text in texts if OF_FILES.search(text)] == []


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.parent.name)
@pytest.mark.parametrize("units", ["si", "both"])
def test_the_record_holds_every_point_on_pages_without_overlaps(record_layout: Layout, job: Path, units: str) -> None:
    results = results_of(job)
    first = compose(results, record_layout, paper="letter", units=units)
    for page in first.pages:
        assert_sound(page, record_layout)
        names = [box.name for box in page.boxes]
        assert (names[0], names[-1]) == ("heading", "footer")
    assert first.pages[-1].boxes[-2].name == "end_mark"
    tables = [box for page in first.pages for box in page.boxes if box.name == "load_points"]
    numbers = {
        mark.text.rstrip("†‡§")
        for box in tables
        for mark in box.setting.marks
        if isinstance(mark, TextMark) and mark.x == 0.0
    }
    assert {str(index) for index in range(1, len(results.points) + 1)} <= numbers
    sizes = [
        mark.size
        for page in first.pages
        for box in page.boxes
        for mark in box.setting.marks
        if isinstance(mark, TextMark)
    ]
    assert min(sizes) >= 7.5 - 1e-9
