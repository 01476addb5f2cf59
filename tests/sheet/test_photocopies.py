"""Four certificates out of a photocopier: the figures of headline and checks are still read, by a machine even."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from sheet.photocopies import unread

from certgen.sheet.engine.layout import Layout

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parents[2] / "example_jobs"


@pytest.mark.parametrize(
    ("job", "paper", "units"),
    [
        ("three_phase_full_plate", "a4", "si"),
        ("worn_rotor", "a4", "si"),
        ("capacitor_start_us_units", "letter", "us"),
        ("universal_motor", "letter", "si"),
    ],
)
def test_figures_are_read_off_a_photocopy(certificate_layout: Layout, job: str, paper: str, units: str) -> None:
    """Recognition by Tesseract; it may misread one figure of a page, which people do not."""
    if shutil.which("tesseract") is None:
        assert "CERTGEN_NO_SKIP" not in os.environ, "tesseract is not installed"
        pytest.skip("tesseract is not installed")
    missed, seen = unread(EXAMPLES / job / "job.yaml", certificate_layout, paper, units)
    assert seen >= 8
    assert len(missed) <= 1, missed
