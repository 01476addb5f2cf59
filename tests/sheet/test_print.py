"""The sheet as it comes out of a printer: like the stored pictures, and legible at 203 and 300 dots an inch."""

from __future__ import annotations

import io

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageFilter
from sheet.pictures import DPI, FOLDER, PICTURES, document, placed, printed
from sheet.results_factory import make_results, with_uncertainties
from sheet.wider_results import with_everything

from certgen.sheet.charts.axes import Frame
from certgen.sheet.charts.load_charts import load_chart, torque_chart
from certgen.sheet.charts.painter import drawn
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import RuleMark, SignMark, TextMark
from certgen.sheet.pdf.draw import render
from certgen.sheet.pdf.drawing import Letters, Line
from certgen.sheet.pdf.fonts import width

pytestmark = pytest.mark.slow

Array = NDArray[np.float64]

#: Grey levels out of 255 by which a page may differ from its picture: on the whole, and how much of it by more than 64.
#: Renderers differ in how they smooth edges; a line of text moved by its own height is ten times this.
MEAN, MANY = 2.0, 0.004
#: Height of a capital in parts of the text size (of the typeface used).
CAPITAL = 0.71


def grey(png: bytes) -> Array:
    return np.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=np.float64)


def test_every_picture_is_stored_and_no_other() -> None:
    assert {path.stem for path in FOLDER.glob("*.png")} == set(PICTURES)
    assert sum(path.stat().st_size for path in FOLDER.glob("*.png")) < 150_000


@pytest.mark.parametrize("name", PICTURES)
def test_page_looks_like_its_picture(name: str) -> None:
    """Remake them with ``python tests/sheet/pictures.py`` after looking at what changed."""
    stored, found = grey((FOLDER / f"{name}.png").read_bytes()), grey(printed(document(name), DPI))
    assert found.shape == stored.shape
    apart = np.abs(found - stored)
    assert apart.mean() < MEAN
    assert (apart > 64).mean() < MANY


def test_a_line_moved_is_seen() -> None:
    page = grey(printed(document("certificate-a4"), DPI))
    apart = np.abs(page - np.roll(page, 3, axis=0))
    assert apart.mean() > 4 * MEAN
    assert (apart > 64).mean() > 4 * MANY


@pytest.mark.parametrize("dpi", [203, 300])
def test_smallest_text_and_stroke_are_large_enough_to_print(certificate_layout: Layout, dpi: int) -> None:
    """Thermal printers have 203 or 300 dots an inch. A capital of ten dots and a stroke of one: common practice."""
    page = compose(with_everything(make_results(12, rich=True)), certificate_layout, paper="letter", units="both")
    marks = [mark for box in page.boxes for mark in box.setting.marks]
    content = Content(with_uncertainties(make_results(40, flagged=True)))
    frame = Frame(0.0, 0.0, 260.0, 190.0, certificate_layout.text.smallest)
    shapes = [*drawn(torque_chart(content), frame).shapes, *drawn(load_chart(content), frame).shapes]
    texts = [one.size for one in (*marks, *shapes) if isinstance(one, (TextMark, Letters))]
    strokes = [one.weight for one in (*marks, *shapes) if isinstance(one, (RuleMark, Line))]
    dots = dpi / 72.0
    assert CAPITAL * min(texts) * dots >= 10.0
    assert round(min(strokes) * dots) >= 1


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("name", ["certificate-a4", "tag-a6", "summary-letter-both", "trend-a4"])
def test_rules_and_text_come_out_dark(name: str, dpi: int) -> None:
    page = placed(name)
    picture = grey(printed(document(name), dpi))
    dots = dpi / 72.0
    for box in page.boxes:
        for mark in box.setting.marks:
            if isinstance(mark, RuleMark) and mark.y == mark.to_y and mark.ink != "hair":
                across, down = (box.x + (mark.x + mark.to_x) / 2) * dots, (box.y + mark.y) * dots
                assert picture[int(down) - 2 : int(down) + 3, int(across)].min() < 170, (box.name, mark)
            if isinstance(mark, TextMark) and len(mark.text) > 3:
                left, base = (box.x + mark.x) * dots, (box.y + mark.y) * dots
                around = picture[
                    int(base - CAPITAL * mark.size * dots) : int(base) + 1, int(left) : int(left + 9 * dots)
                ]
                assert around.min() < 150, (box.name, mark.text)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_of_a_certificate_is_lost_in_a_photocopy(certificate_layout: Layout, paper: str) -> None:
    """200 dots an inch, blurred by 0.8 dots, black or white at 140 of 255: a plain copier, common practice, no source.

    Every text keeps between half and twice its ink, so that no stroke is gone and no eye of a letter filled; every rule,
    limit, plate and measured value is still there.
    """
    results = with_uncertainties(make_results(8))
    page = compose(results, certificate_layout, paper=paper, units="si")
    shown = Image.open(io.BytesIO(printed(render(results, certificate_layout, paper=paper, units="si"), 200))).convert(
        "L"
    )
    before = np.asarray(shown) < 128
    after = np.asarray(shown.filter(ImageFilter.GaussianBlur(0.8))) <= 140
    dots, seen = 200 / 72.0, 0
    for box in page.boxes:
        for mark in box.setting.marks:
            x, y = box.x + mark.x, box.y + mark.y
            if isinstance(mark, TextMark) and mark.ink == "ink" and mark.text.strip(" ·.,") != "":
                wide = width(mark.text, mark.face, mark.size)
                part = (
                    slice(int((y - mark.size) * dots), int((y + 0.3 * mark.size) * dots)),
                    slice(int(x * dots), int((x + wide) * dots) + 1),
                )
                assert 0.5 < after[part].sum() / max(1, before[part].sum()) < 2.0, (box.name, mark.text)
                seen += 1
            elif isinstance(mark, RuleMark) and mark.ink == "ink" and mark.weight >= 0.5 and not mark.dashes:
                across, down = (x + box.x + mark.to_x) / 2 * dots, (y + box.y + mark.to_y) / 2 * dots
                assert after[int(down) - 2 : int(down) + 3, int(across) - 2 : int(across) + 3].any(), (box.name, mark)
            elif isinstance(mark, SignMark):
                assert after[int(y * dots) - 3 : int(y * dots) + 4, int(x * dots) - 3 : int(x * dots) + 4].any(), mark
    assert seen > 80
