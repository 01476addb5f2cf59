"""Frame against shaft, as a note; what feeds the bench, and what it does to the statement."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from builders import make_job
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from typed_job import TypedJob

from certgen.assessment.frame import frame_cautions
from certgen.document.source import Problems
from certgen.errors import InputError
from certgen.job.as_found import Shaft
from certgen.sheet.engine.layout import find_layout, load_layout
from certgen.sheet.pdf.draw import render
from certgen.standards.criteria import shipped_table
from certgen.standards.frames import frames_named

pytestmark = pytest.mark.slow

INCH = 0.0254


def doubted(frame, diameter=None, height=None):
    job = make_job()
    shaft = Shaft(diameter=diameter, height=height)
    return list(frame_cautions(replace(job, motor=replace(job.motor, frame=frame, shaft=shaft))))


def page_of(results) -> str:
    """The certificate as text."""
    path = find_layout("certificate")
    assert path is not None
    layout = load_layout(path, "certificate.yaml", Problems())
    assert layout is not None
    page = PdfReader(io.BytesIO(render(results, layout, paper="a4", units="si"))).pages[0]
    return " ".join(page.extract_text().split())


@pytest.mark.parametrize("name", list(shipped_table("frame_sizes")["nema"]["inches"]))
def test_heights_follow_the_rule_of_the_numbers(name):
    """NEMA MG 1, Part 4: two digits are sixteenths of an inch of height, the first two of three are quarters."""
    (frame,) = [one for one in frames_named(f"NEMA {name}") if one.standard == "NEMA"]
    digits = name.rstrip("T")
    inches = int(digits) / 16 if len(digits) == 2 else int(digits[:2]) / 4
    assert frame.height == pytest.approx(inches * INCH)


@pytest.mark.parametrize("number", list(shipped_table("frame_sizes")["iec"]["shaft_mm"]))
def test_an_iec_number_is_the_height_in_millimetres(number):
    """IEC 60072-1."""
    (frame,) = [one for one in frames_named(f"IEC {number}") if one.standard == "IEC"]
    assert frame.height == pytest.approx(number * 1e-3)
    assert all(0.1 * frame.height < one < 0.35 * frame.height for one in frame.diameters)


@pytest.mark.parametrize(
    ("written", "standards"),
    [
        ("90L", {"IEC"}), ("iec 90 s", {"IEC"}), ("143T", {"NEMA"}), ("145TC", {"NEMA"}), ("56", {"IEC", "NEMA"}),
        ("56C", {"NEMA"}), ("IEC 56", {"IEC"}), ("184", set()), ("90 long", set()), ("", set()),
    ],
)  # fmt: skip
def test_markings_are_read_as_people_write_them(written, standards):
    assert {one.standard for one in frames_named(written)} == standards


@pytest.mark.parametrize(
    ("frame", "diameter", "height", "doubtful"),
    [
        ("90L", 24e-3, 90e-3, False),
        ("90L", 28e-3, 90e-3, True),
        ("90L", None, 100e-3, True),
        ("56", 9e-3, None, False),
        ("56", 0.625 * INCH, 3.5 * INCH, False),
        ("56", 9e-3, 3.5 * INCH, True),
        ("no. 7", 9e-3, None, False),
        ("90L", None, None, False),
    ],
)
def test_a_shaft_that_is_none_of_its_frame_is_told(frame, diameter, height, doubtful):
    assert bool(doubted(frame, diameter, height)) is doubtful


def test_what_is_told_names_both_figures():
    (caution,) = doubted("90L", 28e-3)
    assert (
        str(caution.because) == "frame 90L: shaft 28 mm, 24 mm by the table (IEC 60072-1, dimensions by frame number)"
    )


@given(st.sampled_from([71, 80, 90, 100, 112, 132]), st.floats(5e-3, 0.05))
def test_the_doubt_depends_on_the_shaft_alone(number, diameter):
    tabled = frames_named(f"IEC {number}")[0].diameters
    assert bool(doubted(f"IEC {number}", diameter)) is all(abs(diameter - one) > 0.5e-3 for one in tabled)


def test_frame_and_shaft_stand_on_the_certificate(tmp_path):
    motor = {
        "frame": "90L", "mounting": "IM B3", "enclosure": "IP 54", "cooling": "IC 411", "bearings": "6205",
        "shaft": {"diameter": "24 mm", "keyway": "8 mm"},
    }  # fmt: skip
    page = page_of(replace(TypedJob(), motor=motor).judged(tmp_path))
    assert "90L, IM B3, IP 54, IC 411, shaft 24 mm, keyway 8 mm, bearings 6205" in page


def test_a_converter_is_said_on_the_page_and_cautioned(tmp_path):
    job = TypedJob()
    results = replace(job, conditions={**job.conditions, "supply": "converter", "harmonics": "6 %"}).judged(tmp_path)
    assert results.conditions.supply == "converter"
    assert "Tested through a frequency converter." in page_of(results)
    cautions = {one.id: one for one in results.cautions}
    assert "slip, losses, current and power factor" in str(cautions["converter"].text)
    assert str(cautions["harmonics"].because) == "distortion 6.0 %; a clean supply has at most 2 %"


@pytest.mark.parametrize("conditions", [{}, {"supply": "grid"}, {"harmonics": "2 %"}])
def test_a_clean_grid_needs_no_word(tmp_path, conditions):
    job = TypedJob()
    results = replace(job, conditions={**job.conditions, **conditions}).judged(tmp_path)
    assert not {one.id for one in results.cautions} & {"converter", "generator", "harmonics", "ripple"}


def test_ripple_is_told_of_a_direct_current(tmp_path):
    plate = {"power": "1.5 kW", "voltage": "400 V", "current": "4.5 A", "speed": "1427 rpm"}
    job = replace(TypedJob(), kind="dc", plate=plate, conditions={"ambient": "21 degC", "ripple": "40 %"}, warm=None)
    results = job.judged(tmp_path)
    assert next(str(one.because) for one in results.cautions if one.id == "ripple") == "ripple 40 %"


@pytest.mark.parametrize(
    ("motor", "conditions", "says"),
    [
        ({"enclosure": "IP 5"}, {}, "'IP 5' is no degree of protection"),
        ({"enclosure": "IP 99"}, {}, "'IP 99' is no degree of protection"),
        ({}, {"ripple": "5 %"}, "runs on alternating current"),
        ({"frame": "a frame whose name is far too long"}, {}, "shorten it to 20"),
    ],
)
def test_mistakes(tmp_path, motor, conditions, says):
    job = TypedJob()
    with pytest.raises(InputError) as caught:
        replace(job, motor=motor, conditions={**job.conditions, **conditions}).judged(tmp_path)
    assert says in str(caught.value)
