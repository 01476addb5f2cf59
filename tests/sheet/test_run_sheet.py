"""The run sheet: room to write, limits, stop list and precautions, on both papers."""

from __future__ import annotations

import io
import math
import subprocess
from pathlib import Path

import pytest
from builders import make_calibration, make_job, make_rig, make_table
from pypdf import PdfReader

from certgen.document.build import Dimensioned, Toleranced
from certgen.document.source import Problems
from certgen.job.rig import (
    AbsorberHeat,
    Ammeter,
    FrequencyMeter,
    Meters,
    RigLimits,
    Scale,
    ShortTime,
    Thermometer,
    Voltmeter,
    Wattmeter,
)
from certgen.planning.make import make_plan
from certgen.sheet.engine.layout import find_layout, load_layout
from certgen.sheet.engine.page import units_of
from certgen.sheet.engine.place import compose_content
from certgen.sheet.engine.setting import MM, RuleMark, TextMark
from certgen.sheet.pdf.draw import About, draw
from certgen.sheet.plan_content import PlanContent

pytestmark = pytest.mark.slow

RPM = 2.0 * math.pi / 60.0
PLATE = {
    "power": 1500.0, "voltage": 400.0, "current": 3.4, "frequency": 50.0, "speed": 1420.0 * RPM, "power_factor": 0.79,
    "service_factor": 1.15, "insulation_class": "F", "code_letter": "J",
}  # fmt: skip
LIMITS = RigLimits(torque=11.8, scale=Dimensioned(5.0, "mass"), absorber_power=2500.0)
RIG = make_rig(
    "arm",
    limits=LIMITS,
    tare_torque=Toleranced(0.03),
    scale=Scale("mass", calibration=make_calibration([0.0, 1.0, 5.0], [0.002, 1.003, 5.01])),
    absorber_heat=AbsorberHeat(800.0, ShortTime(2600.0, 240.0)),
)
#: As many columns as a bench can have, and limits of every kind.
WIDEST = make_rig(
    "rope",
    limits=LIMITS,
    scale=Scale("force"),
    absorber_heat=AbsorberHeat(800.0, ShortTime(2600.0, 240.0)),
    meters=Meters(Voltmeter(), Ammeter(), Wattmeter(), frequency=FrequencyMeter(), winding_temperature=Thermometer()),
)


def page_of(kind="three-phase induction", rig=RIG, paper="a4", units="si", **plate):
    path = find_layout("run_sheet")
    assert path is not None
    layout = load_layout(path, path.name, Problems())
    assert layout is not None
    envelope = make_table(speed=[0.0, 1600.0 * RPM], torque=[0.0, 30.0])
    plan = make_plan(make_job(kind, **plate), rig, envelope, {"job.yaml": "0" * 64})
    return compose_content(PlanContent(plan, units_of(layout, units), layout.words), layout, paper)


def box_of(page, name):
    return next(box for one in page.pages for box in one.boxes if box.name == name)


def marks_of(page):
    return [mark for box in page.boxes for mark in box.setting.marks]


def texts(page, name):
    return [mark.text for mark in box_of(page, name).setting.marks if isinstance(mark, TextMark)]


def all_text(page):
    return " ".join(mark.text for one in page.pages for mark in marks_of(one) if isinstance(mark, TextMark))


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["si", "us", "both"])
@pytest.mark.parametrize(
    ("kind", "rig", "plate"),
    [
        ("three-phase induction", RIG, PLATE),
        ("three-phase induction", RIG, {}),
        ("universal", make_rig("rope", scale=Scale("force")), {"power": 150.0, "speed": 6450 * RPM}),
        ("dc", make_rig("torque sensor"), {}),
        ("three-phase induction", WIDEST, PLATE | {"power": 15000.0}),
    ],
)
def test_two_pages_at_most_whatever_is_known_and_no_text_below_eight_points(paper, units, kind, rig, plate):
    page = page_of(kind, rig, paper, units, **plate)
    assert len(page.pages) <= 2
    assert page.left_out == ()
    assert min(mark.size for one in page.pages for mark in marks_of(one) if isinstance(mark, TextMark)) >= 8.0
    document = draw(page, About("Run sheet", "", kind, "", "", "certgen"))
    assert len(PdfReader(io.BytesIO(document)).pages) == len(page.pages)
    assert draw(page_of(kind, rig, paper, units, **plate), About("Run sheet", "", kind, "", "", "certgen")) == document


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(("rig", "plate"), [(RIG, PLATE), (RIG, {}), (WIDEST, PLATE)])
def test_loads_stop_list_and_steps_lie_on_the_bench_on_one_page(paper, rig, plate):
    pages = page_of(paper=paper, rig=rig, **plate).pages
    at_work = {"plan_loads", "plan_stops", "plan_steps"}
    assert any(at_work <= {box.name for box in one.boxes} for one in pages)
    assert all({"plan_heading", "plan_footer"} <= {box.name for box in one.boxes} for one in pages)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_row_to_write_in_is_eight_millimetres_high_and_every_cell_nine_wide(paper):
    page = page_of(paper=paper, **PLATE)
    marks = box_of(page, "plan_loads").setting.marks
    upright = [mark for mark in marks if isinstance(mark, RuleMark) and mark.x == mark.to_x]
    heights = {round(mark.to_y - mark.y, 3) for mark in upright}
    assert min(heights) >= 8.0 * MM
    by_row: dict[float, list[float]] = {}
    for mark in upright:
        by_row.setdefault(round(mark.y, 2), []).append(mark.x)
    widths = [b - a for edges in by_row.values() for a, b in zip(sorted(edges), sorted(edges)[1:], strict=False)]
    assert min(widths) >= 9.0 * MM - 1e-6
    assert len(by_row) == 9  # six loads, none, and two to spare


def test_every_field_leaves_eight_millimetres_below_its_label():
    marks = box_of(page_of(**PLATE), "plan_fields").setting.marks
    level = sorted({round(mark.y, 2) for mark in marks if isinstance(mark, RuleMark) and mark.y == mark.to_y})[-5:]
    labels = sorted({round(mark.y, 2) for mark in marks if isinstance(mark, TextMark)})[-4:]
    assert min(line - label for label, line in zip(labels, level[1:], strict=True)) >= 8.0 * MM


def test_blanks_for_what_is_written_by_hand():
    labels = texts(page_of(**PLATE), "plan_fields")
    for wanted in ("Date", "Tested by", "Ambient, °C", "Zero before, kg", "Zero after, kg", "Insulation, MΩ at V"):
        assert wanted in labels
    us = texts(page_of(units="us", **PLATE), "plan_fields")
    assert "Ambient, °F" in us


def test_a_refused_load_has_no_target_and_no_cells_but_its_reason():
    page = page_of(**PLATE)
    found = texts(page, "plan_loads")
    joined = " ".join(found)
    assert "Do not run: torque 12.80 N·m, limit 11.80 N·m." in joined
    assert "115 %" in found
    assert "service factor" in found
    row = found[found.index("125 %") : found.index("115 %")]
    assert "—" in row
    assert "2.60" not in " ".join(row)


def test_limits_stop_list_and_precautions_are_all_there():
    page = page_of(**PLATE)
    told = all_text(page)
    for wanted in (
        "DO NOT RUN", "Unload:", "Switch off:", "winding temperature: 125.0 °C", "noise", "smell",
        "the local code takes precedence", "local codes and a licensed electrician decide", "Longest", "Needed", "OK",
    ):  # fmt: skip
        assert wanted in told
    boxes = next(box for box in page.boxes if box.name == "plan_precautions").setting.marks
    ticks = [mark for mark in boxes if isinstance(mark, RuleMark) and mark.ink == "ink" and mark.to_x - mark.x < 20.0]
    assert len(ticks) % 4 == 0
    assert len(ticks) >= 4 * 8


def test_without_a_plate_there_are_rows_to_write_in_all_the_same():
    page = page_of("dc", make_rig("torque sensor"))
    assert "No load to aim at: write down what was loaded." in " ".join(texts(page, "plan_loads"))
    marks = box_of(page, "plan_loads").setting.marks
    upright = {round(mark.y, 2) for mark in marks if isinstance(mark, RuleMark) and mark.x == mark.to_x}
    assert len(upright) == 10


def test_the_scale_stands_in_its_own_unit():
    rig = make_rig("arm", limits=LIMITS, scale=Scale("mass", resolution=Dimensioned(0.002, "mass", "lb")))
    found = texts(page_of(rig=rig, **PLATE), "plan_loads")
    kilograms = 1500.0 / (1420.0 * RPM) / 0.5 / 9.80665
    assert f"{kilograms / 0.45359237:.3f}" in found
    assert found.count("lb") == 2  # the target and the reading


def test_nothing_stands_over_anything_else(tmp_path: Path):
    """Words of the finished page, as a reader of PDF finds them, do not overlap."""
    document = tmp_path / "sheet.pdf"
    document.write_bytes(draw(page_of(**PLATE), About("Run sheet", "", "", "", "", "certgen")))
    listed = subprocess.run(["pdftotext", "-bbox", document, "-"], capture_output=True, text=True, check=True).stdout
    pages = [boxes_of(text) for text in listed.split("<page ")[1:]]
    assert sum(map(len, pages)) > 300
    over = [
        (a, b)
        for boxes in pages
        for index, a in enumerate(boxes)
        for b in boxes[index + 1 :]
        if min(a[2], b[2]) - max(a[0], b[0]) > 0.5 and min(a[3], b[3]) - max(a[1], b[1]) > 3.0
    ]
    assert over == []


def boxes_of(listed):
    """Edges of every word of a page, as the reader lists them."""
    boxes = []
    for line in listed.splitlines():
        if "<word" in line:
            parts = {
                part.split("=")[0]: float(part.split("=")[1].strip('"')) for part in line.split(">")[0].split()[1:]
            }
            boxes.append((parts["xMin"], parts["yMin"], parts["xMax"], parts["yMax"]))
    return boxes
