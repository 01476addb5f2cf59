"""Pictures on the pages: what is drawn is what is enclosed, where it stands, and that another one is noticed."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from archive.forged import enclosed, resealed, with_files
from archive.pdfa_bytes import stream_spacing
from archive.pdfa_rules import violations
from PIL import Image
from sheet.geometry import assert_sound

from certgen.archive.signature import judged
from certgen.archive.verify import verify
from certgen.commands.verify import _make
from certgen.document.source import digest
from certgen.issuing.certificate import draw_job
from certgen.issuing.layouts import SheetOptions
from certgen.job.pictures import DPI, PLACE
from certgen.pipeline import assess_job
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import MM, PictureMark
from certgen.starter import copy_example

pytestmark = pytest.mark.slow

INSPECTED = Path(__file__).parents[2] / "example_jobs" / "inspected_motor" / "job.yaml"


def images_of(page: Any) -> list[Any]:
    """The pictures among a page's resources."""
    return list(page.obj.Resources.get("/XObject", {}).values())


@pytest.fixture(scope="module")
def issued() -> bytes:
    return draw_job(INSPECTED, SheetOptions(record=True)).document


def test_a_certificate_encloses_what_it_shows(issued: bytes) -> None:
    files = enclosed(issued)
    told = json.loads(files["results.json"])
    listed = told["as_found"]["pictures"]
    assert [(one["of"], one["file"]) for one in listed] == [("plate", "plate.png"), ("motor", "motor.jpg")]
    for one in listed:
        data = files[f"inspected_motor/{one['file']}"]
        assert Image.open(io.BytesIO(data)).size == (one["width"], one["height"])
        assert told["traceability"]["inputs"][one["file"]] == digest(data)
        assert data != (INSPECTED.parent / one["file"]).read_bytes()
    with pikepdf.open(io.BytesIO(issued)) as file:
        drawn = [image.read_raw_bytes() for page in file.pages for image in images_of(page)]
        types = {str(one.UF): str(one.EF.F.Subtype) for one in file.Root.AF}
    assert files["inspected_motor/motor.jpg"] in drawn
    assert types["inspected_motor/motor.jpg"] == "/image/jpeg"


def test_pages_with_pictures_and_a_logo_keep_the_rules_of_pdfa_and_pdfua(issued: bytes, tmp_path: Path) -> None:
    copy_example(tmp_path, "inspected_motor")
    job = tmp_path / "inspected_motor" / "job.yaml"
    job.write_text(job.read_text(encoding="utf-8") + "sheet: {logo: plate.png}\n", encoding="utf-8")
    with_logo = draw_job(job, SheetOptions()).document
    for document, count in ((issued, 1), (with_logo, 2)):
        assert violations(document) == []
        assert stream_spacing(document) == []
        with pikepdf.open(io.BytesIO(document)) as file:
            assert len(images_of(file.pages[0])) == count


def test_verify_finds_it_sound_and_notices_another_picture(issued: bytes) -> None:
    assert verify(issued, _make, judged).good
    other = _other()
    files = {**enclosed(issued), "inspected_motor/motor.jpg": other}
    for listed in (False, True):
        assert not verify(with_files(issued, files, listed=listed), _make, judged).good
    with pikepdf.open(io.BytesIO(issued)) as file:
        (image,) = images_of(file.pages[0])
        image.write(other, filter=pikepdf.Name.DCTDecode)
        changed = io.BytesIO()
        file.save(changed, fix_metadata_version=False)
    found = verify(resealed(changed.getvalue()), _make, judged)
    assert not found.good
    assert any(fact.name == "page" and fact.state == "not good" for fact in found.facts)


def _other() -> bytes:
    made = io.BytesIO()
    Image.new("RGB", (300, 200), "navy").save(made, "JPEG")
    return made.getvalue()


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_record_shows_every_picture_and_the_certificate_one_where_room_allows(
    certificate_layout: Layout, record_layout: Layout, paper: str
) -> None:
    assessed = assess_job(INSPECTED)
    shown = {"paper": paper, "units": "si", "pictures": assessed.loaded.pictures}
    page = compose(assessed.results, certificate_layout, **shown)
    assert_sound(page, certificate_layout)
    marks = [mark for box in page.boxes if box.name == "picture" for mark in box.setting.marks]
    assert len(marks) == 1 or page.left_out == ("Picture",)
    record = compose(assessed.results, record_layout, **shown)
    boxes = [box for one in record.pages for box in one.boxes if box.name == "pictures"]
    drawn = [mark for box in boxes for mark in box.setting.marks if isinstance(mark, PictureMark)]
    assert [mark.alt for mark in drawn] == [
        "Picture of the nameplate of Lindqvarn LQ 90 S4 0771 230",
        "Picture of the motor Lindqvarn LQ 90 S4 0771 230",
    ]
    for mark in drawn:
        assert mark.width <= PLACE[0] * MM + 1e-6
        assert mark.width / mark.height == pytest.approx(mark.picture.ratio)
        assert mark.picture.width / (mark.width / 72.0) <= 1.02 * DPI
