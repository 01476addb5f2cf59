"""The motor as found on the pages: in full on the record, in brief on the certificate, line by line in the terminal."""

from __future__ import annotations

import io
from dataclasses import replace

from pypdf import PdfReader
from sheet.results_factory import make_results

from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.results.as_found import AsFound, InspectedItem
from certgen.results.model import Finding
from certgen.results.safety import SafetyMeasured
from certgen.sheet.blocks.as_found import inspection, inspection_in_brief, safety_in_brief
from certgen.sheet.blocks.conditions import condition_in_brief
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.pdf.draw import render
from certgen.terminal.results import results_text

ZONE = Message("inspection.zone", velocity=2.2e-3, letter="C", limit=1.8e-3)
ITEMS = (
    InspectedItem("bearings", "quiet", True, False),
    InspectedItem("bearings", "no play", True, False),
    InspectedItem(
        "vibration", "rumbles", False, False, Quantity(2.2e-3, "m/s"), Quantity(1.8e-3, "m/s"), ZONE, "a norm"
    ),
    InspectedItem("sound", "", None, False, Quantity(61.0, "dB"), None, Message("inspection.sound", level=61.0)),
)
RESULTS = replace(make_results(), as_found=AsFound(ITEMS))


def test_nothing_stands_where_nothing_was_inspected():
    content = Content(make_results())
    assert inspection(content, Titled("Motor as found")) is None
    assert inspection_in_brief(content) == ""
    assert all(label != "Inspection" for label, _ in condition_in_brief(content))


def test_the_certificate_names_what_is_not_good_first():
    assert inspection_in_brief(Content(RESULTS)) == (
        "NOT GOOD: Vibration: rumbles, 2.2 mm/s, zone C, up to 1.8 mm/s for long running. "
        "Good: bearings. Measured, not judged: Sound: 61 dB."
    )
    assert "0.0866 in/s" in inspection_in_brief(Content(RESULTS, units="us"))


def test_every_item_stands_on_the_record(record_layout):
    document = render(RESULTS, record_layout, paper="a4", units="si")
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(document)).pages).split())
    for words in ("Motor as found", "Item Found Measured", "quiet", "no play", "not good", "a norm", "61 dB"):
        assert words in text, words


def test_the_terminal_names_every_item():
    lines = results_text(RESULTS, "job.yaml").splitlines()
    start = lines.index("inspection:")
    assert lines[start + 1 : start + 5] == [
        "  good, bearings: quiet",
        "  good, bearings: no play",
        "  not good, vibration: rumbles, 2.2 mm/s, zone C, up to 1.8 mm/s for long running",
        "  not judged, sound: 61 dB",
    ]


def test_safety_tests_in_brief_name_what_is_not_good_first():
    safety = SafetyMeasured(
        protective_bond=Quantity(0.3, "ohm"), surge_agrees=True, protector_present=True, protector_good=None
    )
    failed = Finding("safety_bond", Message("safety.bond"), "fail", "ohm")
    results = replace(make_results(), as_found=AsFound(safety=safety), findings=(failed,))
    assert safety_in_brief(Content(results)) == (
        "protective bond 0.3000 Ω; thermal protector built in, not tried; good: surge comparison"
    )
    assert safety_in_brief(Content(make_results())) == ""
