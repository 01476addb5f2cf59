"""The tag: what a buyer asks and a handler must know, on label papers, in black, with a code that a reader decodes."""

from __future__ import annotations

import io
import subprocess
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from archive.pdfa_rules import violations
from numpy.typing import NDArray
from PIL import Image
from scipy import constants
from sheet.geometry import assert_sound
from sheet.results_factory import make_results, with_uncertainties
from sheet.wider_results import with_everything

from certgen.document.source import Problems
from certgen.errors import WrongPaper
from certgen.issuing.tag import label_for
from certgen.job.model import Motor, Shop
from certgen.messages.catalogue import Message
from certgen.pipeline import assess_job
from certgen.quantity import Quantity
from certgen.results.model import TO_LIFE, Caution, Results, ScopeItem, Verdict
from certgen.sheet.blocks.code import FIRST_LINE, code_text
from certgen.sheet.blocks.headline import figures_of, title_of
from certgen.sheet.blocks.tag import ORDER, main_caution
from certgen.sheet.content import Content, Digest
from certgen.sheet.engine.layout import Layout, find_layout, load_layout
from certgen.sheet.engine.place import PlacedPage, compose
from certgen.sheet.engine.setting import ChartMark, RuleMark, TextMark, TooNarrow
from certgen.sheet.pdf.draw import about, draw
from certgen.sheet.pdf.logo import Logo
from certgen.sheet.pdf.matrix_code import DOT, LEAST_DOTS, QUIET, code_mark, modules

pytestmark = pytest.mark.slow

PAPERS = ("a6", "4x6in", "strip60")
DIGEST = Digest("pdf", "0123456789abcdef" * 4)
#: Height of a capital in parts of the text size (of the typeface used).
CAPITAL = 0.71
EXAMPLES = sorted((Path(__file__).parents[2] / "example_jobs").glob("*/job.yaml"))


@cache
def tag_layout() -> Layout:
    path = find_layout("tag")
    assert path is not None
    layout = load_layout(path, path.name, Problems())
    assert layout is not None
    return layout


def tag(results: Results, paper: str = "a6", units: str = "si", logo: Logo | None = None) -> PlacedPage:
    return compose(results, tag_layout(), paper=paper, units=units, digest=DIGEST, logo=logo)


def texts(page: PlacedPage, name: str) -> str:
    found = [
        mark.text for box in page.boxes if box.name == name for mark in box.setting.marks if isinstance(mark, TextMark)
    ]
    return " ".join(found)


def printed(page: PlacedPage, *how: str) -> NDArray[np.uint8]:
    document = draw(page, about(make_results(), tag_layout()))
    command = ["pdftoppm", "-r", "203", "-singlefile", *how, "-"]
    paper = subprocess.run(command, input=document, capture_output=True, check=True).stdout
    return np.asarray(Image.open(io.BytesIO(paper)))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("units", ["si", "us", "both"])
@pytest.mark.parametrize("job", EXAMPLES, ids=lambda job: job.parent.name)
def test_every_example_has_a_tag_on_every_label(job: Path, paper: str, units: str) -> None:
    page = tag(_results_of(job), paper, units)
    assert_sound(page, tag_layout())
    assert page.left_out == ()
    assert not page.following
    main = main_caution(_results_of(job).cautions)
    assert main is not None
    assert main.id in ORDER
    assert (page.height is not None) and page.width < page.height


@cache
def _results_of(job: Path) -> Results:
    return assess_job(job).results


def test_it_says_what_a_buyer_asks() -> None:
    results = replace(
        with_uncertainties(make_results(8)),
        motor=Motor(type="three-phase induction", maker="Vantrell", model="VK 90", serial="0071"),
    )
    page = tag(results)
    figures = texts(page, "tag_figures")
    for wanted in (
        "Power",
        "kW",
        "Torque",
        "N·m",
        "Speed",
        "rpm",
        "Current",
        "A",
        "Voltage",
        "V",
        "Frequency",
        "Hz",
    ):
        assert wanted in figures
    motor = texts(page, "tag_motor")
    assert motor == "1.5 kW three-phase motor, 4 poles, 400 V, 1420 rpm Vantrell, VK 90, Serial number 0071"
    assert texts(page, "tag_plate").startswith("Plate: 3.4 A, 50 Hz")
    assert texts(page, "tag_verdict").startswith("Verdict Pass ")
    number = results.certificate.number
    assert number is not None
    assert number in texts(page, "tag_heading")
    assert f"Tested on {results.certificate.tested_on.isoformat()}" in texts(page, "tag_heading")
    shop = results.certificate.shop
    assert shop is not None
    assert shop.contact is not None
    assert f"{shop.name} · {shop.contact}" in texts(page, "tag_heading")
    assert "Tag only: " in texts(page, "tag_footer")
    assert "lbf·ft" in texts(tag(results, units="us"), "tag_figures")


def test_columns_stand_one_below_the_other_on_the_strip_alone() -> None:
    for paper, beside in (("a6", True), ("4x6in", True), ("strip60", False)):
        boxes = {box.name: box for box in tag(make_results(8), paper).boxes}
        assert (boxes["tag_plate"].bottom > boxes["tag_code"].y) is beside


@pytest.mark.parametrize(
    ("ids", "first"),
    [
        (("rotation", "capacitor", "installation", "insulation"), "insulation"),
        (("installation", "rotation", "start_winding", "capacitor"), "capacitor"),
        (("installation", "commutation", "rotation", "no_load_speed"), "no_load_speed"),
        (("insulation", "rotation", "no_load_speed"), "no_load_speed"),
        (("meters_disagree", "extrapolated", "installation"), "installation"),
        (("meters_disagree", "scale_full_span"), "meters_disagree"),
        ((), None),
    ],
)
def test_the_caution_that_can_hurt_most_comes_first(ids: tuple[str, ...], first: str | None) -> None:
    """The order is common practice, no source."""
    found = main_caution([Caution(name, f"Mind {name}.", "this test") for name in ids])
    assert (found.id if found else None) == first


def test_the_tag_prints_two_cautions_and_counts_all() -> None:
    cautions = (
        Caution("installation", "Connect it well.", "supply of 400 V"),
        Caution("rotation", "Guard it.", "it turned"),
        Caution("capacitor", "Discharge it.", "x"),
    )
    results = replace(make_results(8), cautions=cautions)
    said = texts(tag(results), "tag_caution")
    assert said == "Caution Discharge it. Guard it. Because: it turned. All 3 cautions stand on the certificate."
    said = texts(tag(replace(results, cautions=cautions[1:])), "tag_caution")
    assert said == "Caution Discharge it. Guard it. Because: it turned."
    assert texts(tag(replace(results, cautions=())), "tag_caution") == ""


@pytest.mark.parametrize("paper", PAPERS)
def test_never_without_load_is_not_hidden_by_a_missing_insulation_reading(paper: str) -> None:
    """Both can kill; the series motor that flies apart stands first, and both on the tag."""
    job = next(job for job in EXAMPLES if job.parent.name == "universal_motor")
    results = _results_of(job)
    unread = Caution("insulation", "Test the insulation before this motor is energised.", "none", TO_LIFE)
    said = texts(tag(replace(results, cautions=(unread, *results.cautions)), paper), "tag_caution")
    assert said.index("Never run this motor without load") < said.index("Test the insulation before")
    banned = replace(unread, text="Do not energise this motor.", do_not_energise=True)
    said = texts(tag(replace(results, cautions=(*results.cautions, banned)), paper), "tag_caution")
    assert said.index("Do not energise this motor.") < said.index("Never run this motor without load")


@pytest.mark.parametrize("units", ["si", "us", "both"])
@pytest.mark.parametrize("job", EXAMPLES, ids=lambda job: job.parent.name)
def test_its_figures_are_the_certificates(job: Path, units: str) -> None:
    """Power, torque, speed and current digit for digit; what is set there is set here."""
    content = Content(_results_of(job), units)
    on_certificate = {figure.label: figure for figure in figures_of(content)}
    page = tag(_results_of(job), "a6", units)
    (box,) = [box for box in page.boxes if box.name == "tag_figures"]
    marks = [mark.text for mark in box.setting.marks if isinstance(mark, TextMark)]
    for label in ("Power", "Torque", "Speed", "Current"):
        assert on_certificate[label].text in marks, label
    assert marks.count("set") == sum("set" in one.below for one in list(on_certificate.values())[:4])
    assert title_of(content) in marks


def test_the_label_goes_with_the_papers_of_the_job_and_others_are_refused() -> None:
    layout = tag_layout()
    assert label_for(layout, "a4", None) == "a6"
    assert label_for(layout, "letter", None) == "4x6in"
    assert label_for(layout, "strip60", None) == "strip60"
    assert label_for(layout, "letter", "a6") == "a6"
    with pytest.raises(WrongPaper, match=r"--paper a4: a tag is not made for this paper; choose one of: a6, 4x6in, "):
        label_for(layout, "a4", "a4")


def test_the_caution_of_the_greatest_danger_stands_before_the_usual_order() -> None:
    """What can kill comes first, also where it is none of those the order names."""
    cautions = (
        Caution("insulation", "Test the insulation.", "no reading", danger=2),
        Caution("never_without_load", "Never run it without load.", "it races", danger=3),
        Caution("rotation", "Guard it.", "it turned", danger=3),
    )
    found = main_caution(cautions)
    assert found is not None
    assert found.id == "rotation"  # of two that can kill, the one the order knows
    found = main_caution(cautions[:2])
    assert found is not None
    assert found.id == "never_without_load"


def test_headline_and_scope_stand_on_the_tag() -> None:
    untested = tuple(ScopeItem(name, "not tested") for name in ("insulation", "starting"))
    scope = (ScopeItem("nameplate", "met"), *untested)
    verdict = Verdict("pass", ("Meets it.",), headline=Message("headline.pass"), scope=scope)
    said = texts(tag(replace(make_results(8), verdict=verdict)), "tag_verdict")
    assert said == "Verdict Pass Load test only; insulation, starting NOT TESTED Meets it."
    power, current = Quantity(168.6, "W", 1.2), Quantity(2.3, "A")
    headline = Message("headline.rated_at_current", power=power, current=current)
    rated = replace(verdict, outcome="no verdict", kind="no plate", headline=headline)
    said = texts(tag(replace(make_results(8), verdict=rated), "4x6in", "us"), "tag_verdict")
    assert said.startswith("Verdict Bench-rated 0.226 hp at 2.3 A Insulation, starting NOT TESTED")


def test_long_texts_shrink_and_stay_in_their_boxes() -> None:
    long = "An uncommonly long name of a maker that goes on and on and on, with works in three towns"
    results = with_everything(make_results(12, rich=True, flagged=True))
    motor = replace(results.motor, maker=long, model=long, serial="9" * 60)
    certificate = replace(results.certificate, number="HARROW-LANE-MOTOR-BENCH-2026-000112-B")
    for paper in PAPERS:
        assert_sound(tag(replace(results, motor=motor, certificate=certificate), paper, "both"), tag_layout())


@pytest.mark.parametrize("paper", PAPERS)
def test_a_thermal_printer_prints_it_well(paper: str) -> None:
    """203 dots an inch in black only. A capital of twelve dots and a stroke of one to two: common practice, no source."""
    page = tag(
        with_everything(make_results(12, rich=True)), paper, "both", Logo(2, 1, bytes((200, 30, 30, 255, 255, 255)))
    )
    marks = [mark for box in page.boxes for mark in box.setting.marks]
    dots = 203.0 / 72.0
    assert CAPITAL * min(mark.size for mark in marks if isinstance(mark, TextMark)) * dots >= 12.0
    weights = [mark.weight * dots for mark in marks if isinstance(mark, RuleMark)]
    assert min(weights) > 0.95
    content = draw(page, about(make_results(), tag_layout()))
    assert violations(content) == []
    colours = {tuple(one) for one in printed(page, "-aa", "no", "-aaVector", "no").reshape(-1, 3).tolist()}
    assert colours == {(0, 0, 0), (255, 255, 255)}
    picture = printed(page, "-mono")
    for box in page.boxes:
        for mark in box.setting.marks:
            if isinstance(mark, RuleMark) and mark.y == mark.to_y:
                across, down = (box.x + (mark.x + mark.to_x) / 2) * dots, (box.y + mark.y) * dots
                assert not picture[int(down) - 2 : int(down) + 3, int(across)].all(), (box.name, mark)
            if isinstance(mark, TextMark) and mark.text.strip():
                left, base = (box.x + mark.x) * dots, (box.y + mark.y) * dots
                high = int(CAPITAL * mark.size * dots)
                ink = ~picture[int(base) - high : int(base) + 1, int(left) : int(left) + 2 * high]
                assert 0.05 < ink.mean() < 0.8, (box.name, mark.text)  # neither lost nor run together


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["three_phase_full_plate", "universal_motor", "unmarked_rated"])
def test_a_reader_decodes_the_code_from_the_printed_tag(name: str, paper: str) -> None:
    """Decoded by the ZXing library from the 1-bit raster of a printer of 203 dots an inch."""
    job = next(job for job in EXAMPLES if job.parent.name == name)
    results = _results_of(job)
    picture = printed(tag(results, paper), "-mono")
    (found,) = zxingcpp.read_barcodes(Image.fromarray(picture).convert("L"))
    assert found.format == zxingcpp.BarcodeFormat.QRCode
    lines = dict(line.split(" ", 1) for line in found.text.splitlines())
    assert lines["certgen"] == "tag 2"
    assert lines["number"] == results.certificate.number
    assert lines["tested"] == results.certificate.tested_on.isoformat()
    assert lines["verdict"] == results.verdict.outcome
    assert lines["pdf-sha256"] == DIGEST.sha256
    assert list(lines)[4:-1] == ["power", "torque", "speed", "current", "voltage", "frequency"]
    power, unit = lines["power"].split()
    assert unit == "W"
    point = results.at_rated_power or results.assessed_rating
    assert point is not None
    shaft = getattr(point, "shaft_power", None) or getattr(point, "power", None)
    assert shaft is not None
    assert float(power) == pytest.approx(shaft.value, rel=5e-4)


def test_the_code_is_in_the_units_of_the_job() -> None:
    results = make_results(8)
    si, us = (
        dict(line.split(" ", 1) for line in code_text(Content(results, units)).splitlines()) for units in ("si", "us")
    )
    assert code_text(Content(results, "both")) == code_text(Content(results, "si"))
    (watts, watt), (horsepower, hp) = si["power"].split(), us["power"].split()
    assert (watt, hp) == ("W", "hp")
    assert float(horsepower) == pytest.approx(float(watts) / constants.hp, rel=1e-3)
    (newton_metres, _), (pound_feet, unit) = si["torque"].split(), us["torque"].split()
    assert unit == "lbf*ft"
    assert float(pound_feet) == pytest.approx(float(newton_metres) / (constants.lbf * constants.foot), rel=1e-3)
    assert {si[word] == us[word] for word in ("speed", "current", "voltage", "frequency")} == {True}
    assert "sha256" not in code_text(Content(results))


def test_the_code_begins_with_the_address_of_the_shop() -> None:
    results = make_results(8)
    for url, first in (
        ("https://weir.example/m/", "https://weir.example/m/MR%2F7"),
        ("https://weir.example", "https://weir.example"),
    ):
        shop = Shop("Weir", url=url)
        named = replace(results, certificate=replace(results.certificate, number="MR/7", shop=shop))
        assert code_text(Content(named)).splitlines()[:3] == [first, FIRST_LINE, "number MR/7"]


@pytest.mark.parametrize("paper", PAPERS)
def test_modules_are_whole_dots_in_a_quiet_zone(paper: str) -> None:
    """Quiet zone of four modules: ISO/IEC 18004. Three dots a module at least: common practice, no source."""
    page = tag(with_everything(make_results(12, rich=True)), paper)
    (box,) = [box for box in page.boxes if box.name == "tag_code"]
    (mark,) = [mark for mark in box.setting.marks if isinstance(mark, ChartMark)]
    results = with_everything(make_results(12, rich=True))
    rows = modules(code_text(Content(results, digest=DIGEST)))
    dots = mark.width / DOT / (len(rows) + 2 * QUIET)
    assert dots == pytest.approx(round(dots))
    assert dots >= LEAST_DOTS
    picture = ~printed(page, "-mono")
    left, top = (round((one + two) / DOT) for one, two in ((box.x, mark.x), (box.y, mark.y)))
    side, quiet = round(mark.width / DOT), int(QUIET * dots)
    inside = picture[top + quiet : top + side - quiet, left + quiet : left + side - quiet]
    assert (inside == np.kron(np.array(rows), np.ones((round(dots), round(dots)), dtype=bool))).all()
    around = picture[top : top + side, left : left + side].copy()
    around[quiet:-quiet, quiet:-quiet] = False
    assert not around.any()


def test_a_code_without_room_is_refused() -> None:
    with pytest.raises(TooNarrow):
        code_mark("x" * 200, 60.0, 4)


def test_every_module_of_a_version_one_code() -> None:
    """A symbol of version 1 has 21 modules a side, with finder patterns in three corners: ISO/IEC 18004."""
    rows = modules("HB-1")
    assert len(rows) == 21
    finder = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]
    for down, across in ((0, 0), (0, 14), (14, 0)):
        assert ["".join(str(int(one)) for one in row[across : across + 7]) for row in rows[down : down + 7]] == finder


@pytest.mark.parametrize("number", ["Größe-½-Ω/7", "№ 12 – ж", "7" * 300, "a" * 80])
def test_any_number_fits_a_code_on_every_label(number: str) -> None:
    results = make_results(8)
    results = replace(results, certificate=replace(results.certificate, number=number))
    for paper in PAPERS:
        page = tag(results, paper)
        assert_sound(page, tag_layout())
        (found,) = zxingcpp.read_barcodes(Image.fromarray(printed(page, "-mono")).convert("L"))
        assert f"\nnumber {number[:80]}\n" in found.text
