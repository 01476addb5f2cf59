"""In black and white, in grey and to colour-blind eyes: contrast to the paper, and no meaning by hue alone."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray
from sheet.results_factory import make_results, with_uncertainties
from sheet.wider_results import with_everything

from certgen.sheet.charts.axes import Frame
from certgen.sheet.charts.load_charts import load_chart, torque_chart
from certgen.sheet.charts.model import FITTED
from certgen.sheet.charts.painter import drawn
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import TextMark
from certgen.sheet.pdf.drawing import Letters, Line, Mark
from certgen.sheet.pdf.pdf_operators import INKS

Array = NDArray[np.float64]

FRAME = Frame(0.0, 0.0, 260.0, 200.0, 8.0)
#: Machado, Oliveira and Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291, severity 1.0, in linear RGB.
DICHROMATS = {
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
#: Least contrast of text, WCAG 2.2, 1.4.3 level AA; graphics would do with 3 (1.4.11).
LEAST = 4.5


def linear(ink: tuple[float, float, float]) -> Array:
    """sRGB to linear RGB. Source: WCAG 2.2, definition of relative luminance."""
    parts = np.array(ink)
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def luminance(rgb: Array) -> float:
    """Relative luminance of linear RGB. Source: WCAG 2.2."""
    return float(rgb @ [0.2126, 0.7152, 0.0722])


def contrast(one: Array, other: Array) -> float:
    """Contrast ratio. Source: WCAG 2.2."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def inks_of_charts() -> set[str]:
    results = with_uncertainties(make_results(12, flagged=True))
    content = Content(results)
    found: set[str] = set()
    for drawing in (drawn(torque_chart(content), FRAME), drawn(load_chart(content), FRAME)):
        for shape in drawing.shapes:
            match shape:
                case Line() | Letters():
                    found |= {shape.ink} - {"hair"}
                case Mark():
                    found |= {shape.fill, shape.edge} - {"", "paper"}
    return found


def inks_of_texts(layout: Layout) -> set[str]:
    page = compose(with_everything(make_results(12, rich=True)), layout, paper="a4", units="both")
    return {mark.ink for box in page.boxes for mark in box.setting.marks if isinstance(mark, TextMark)} - {"paper"}


def test_contrast_by_the_formula_runs_from_1_to_21() -> None:
    white, black = linear((1.0, 1.0, 1.0)), linear((0.0, 0.0, 0.0))
    assert contrast(white, white) == pytest.approx(1.0)
    assert contrast(white, black) == pytest.approx(21.0)  # WCAG 2.2: contrast ratios can range from 1 to 21


def test_every_text_and_chart_element_stands_out_from_the_paper(certificate_layout: Layout) -> None:
    used = inks_of_charts() | inks_of_texts(certificate_layout)
    assert used == {"ink", "title", "muted"}  # grey only for hairlines, hatching and pale fields
    assert INKS["ink"] == INKS["title"] == INKS["bar"] == (0.0, 0.0, 0.0)  # unless a layout colours the last two
    assert {ink: contrast(linear(INKS[ink]), linear(INKS["paper"])) >= LEAST for ink in used} == dict.fromkeys(
        used, True
    )


@pytest.mark.parametrize("kind", DICHROMATS)
def test_it_does_so_to_colour_blind_eyes(certificate_layout: Layout, kind: str) -> None:
    matrix = np.array(DICHROMATS[kind])
    assert matrix.sum(axis=1) == pytest.approx(1.0, abs=2e-6)  # white stays white
    for ink in inks_of_charts() | inks_of_texts(certificate_layout):
        seen = np.clip(matrix @ linear(INKS[ink]), 0.0, 1.0)
        assert contrast(seen, linear(INKS["paper"])) >= LEAST, ink


def test_it_does_so_in_grey_print(certificate_layout: Layout) -> None:
    for ink in inks_of_charts() | inks_of_texts(certificate_layout):
        grey = np.full(3, luminance(linear(INKS[ink])))
        assert contrast(grey, linear(INKS["paper"])) >= LEAST, ink


def test_no_two_signs_of_a_chart_differ_by_ink_alone() -> None:
    """Every panel has one curve; marks differ by their shape, and each is named."""
    chart = load_chart(Content(make_results(8, flagged=True)))
    for panel in chart.panels:
        assert len([curve for curve in panel.curves if curve.kind == FITTED]) == 1
    drawing = drawn(chart, FRAME)
    assert {"o", "x", "D"} <= {shape.shape for shape in drawing.shapes if isinstance(shape, Mark)}
    names = {shape.text for shape in drawing.shapes if isinstance(shape, Letters)}
    assert {"Current, A", "Power factor", "Efficiency, %", "impossible", "extrapolated"} <= names


def test_labels_of_a_chart_do_not_cover_each_other() -> None:
    from certgen.sheet.pdf.fonts import REGULAR, width

    for build in (torque_chart, load_chart):
        for count in (3, 8, 40):
            drawing = drawn(build(Content(with_uncertainties(make_results(count, flagged=True)))), FRAME)
            letters = [shape for shape in drawing.shapes if isinstance(shape, Letters) and not shape.upward]
            for one, other in combinations(letters, 2):
                (x, y), (u, v) = one.spot, other.spot
                across = x < u + width(other.text, REGULAR, other.size) and u < x + width(one.text, REGULAR, one.size)
                down = abs(y - v) < 0.71 * min(one.size, other.size)
                assert not (across and down), (one.text, other.text)
