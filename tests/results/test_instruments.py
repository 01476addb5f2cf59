"""Instruments by their papers: how each calibration stood on the day of the test, and where that is said."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from typed_job import ARM, TypedJob

from certgen.document.source import Problems
from certgen.errors import InputError
from certgen.results.instruments import (
    AFTER_THE_TEST,
    IN_FORCE,
    NO_END,
    NOT_CALIBRATED,
    OUT_OF_DATE,
    state_of_calibration,
)
from certgen.sheet.blocks.conditions import instruments
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled, find_layout, load_layout
from certgen.sheet.pdf.draw import render
from certgen.terminal.results import results_text

#: The typed job was tested on this day.
TESTED = date(2026, 1, 1)
WATTMETER = {
    "name": "Wattmeter", "serial": "00417", "calibrated_on": "2025-03-01", "certificate": "K-331",
    "by": "Northmoor Calibration", "valid_until": "2026-03-01",
}  # fmt: skip


def judged(tmp_path, *listed: dict[str, Any], **rig: Any):
    return replace(TypedJob(), rig={**ARM, **rig, "instruments": list(listed)}).judged(tmp_path)


def page_of(results) -> str:
    """The certificate as text."""
    path = find_layout("certificate")
    assert path is not None
    layout = load_layout(path, "certificate.yaml", Problems())
    assert layout is not None
    page = PdfReader(io.BytesIO(render(results, layout, paper="a4", units="si"))).pages[0]
    return " ".join(page.extract_text().split())


@pytest.mark.parametrize(
    ("calibrated_on", "valid_until", "state"),
    [
        (None, None, NOT_CALIBRATED),
        (date(2025, 6, 1), None, NO_END),
        (date(2025, 6, 1), TESTED, IN_FORCE),
        (date(2025, 6, 1), date(2025, 12, 31), OUT_OF_DATE),
        (date(2026, 1, 2), date(2027, 1, 2), AFTER_THE_TEST),
        (TESTED, date(2027, 1, 1), IN_FORCE),
    ],
)
def test_a_calibration_holds_from_its_day_to_its_last(calibrated_on, valid_until, state):
    assert state_of_calibration(calibrated_on, valid_until, TESTED) == state


@given(st.dates(date(1990, 1, 1), date(2100, 1, 1)), st.integers(0, 4000), st.integers(-4000, 4000))
def test_a_calibration_is_valid_on_its_days_alone(calibrated_on, length, after):
    last, tested = calibrated_on + timedelta(length), calibrated_on + timedelta(after)
    assert (state_of_calibration(calibrated_on, last, tested) == IN_FORCE) is (0 <= after <= length)


def test_papers_stand_in_the_results_and_on_the_record(tmp_path):
    results = judged(tmp_path, WATTMETER, {"name": "Ammeter"})
    first, second = results.conditions.calibrations
    assert (first.serial, first.certificate, first.state) == ("00417", "K-331", IN_FORCE)
    assert second.state == NOT_CALIBRATED
    assert instruments(Content(results), Titled("Instruments")) is not None
    assert "Calibration on the day" not in page_of(results)


def test_a_calibration_out_of_date_stands_on_the_certificate(tmp_path):
    results = judged(tmp_path, {**WATTMETER, "valid_until": "2025-12-31"})
    assert "Calibration on the day of the test: Wattmeter OUT OF DATE." in page_of(results)
    assert "calibration OUT OF DATE: Wattmeter" in results_text(results, "job.yaml")


def test_the_scale_stands_among_the_instruments(tmp_path):
    """Calibrated on 2024-12-01 and good for 12 months, 365.25 days: out of date on the day of the test."""
    calibration = {
        "applied": ["0 kg", "2 kg"],
        "indicated": ["0 kg", "2.001 kg"],
        "on": "2024-12-01",
        "valid": "12 months",
    }
    scale = {key: value for key, value in ARM["scale"].items() if key != "tolerance"}
    results = judged(tmp_path, scale={**scale, "calibration": calibration})
    (one,) = results.conditions.calibrations
    assert (str(one.name), one.state, one.valid_until) == ("Scale, known weights", OUT_OF_DATE, date(2025, 12, 2))
    assert any(caution.id == "calibration_due" for caution in results.cautions)


def test_without_papers_nothing_is_said(tmp_path):
    results = judged(tmp_path)
    assert results.conditions.calibrations == ()
    assert instruments(Content(results), Titled("Instruments")) is None


@pytest.mark.parametrize(
    ("instrument", "says"),
    [
        ({**WATTMETER, "valid_until": "2025-02-28"}, "this is before the calibration of 2025-03-01"),
        ({"name": "Wattmeter", "valid_until": "2026-02-28"}, "a validity without a calibration"),
        ({"serial": "1"}, "instruments[1].name: this key is missing"),
        ({**WATTMETER, "calibrated_on": "March"}, "'March' is not a date"),
    ],
)
def test_mistakes_name_the_instrument(tmp_path, instrument, says):
    with pytest.raises(InputError) as caught:
        judged(tmp_path, instrument)
    assert says in str(caught.value)
