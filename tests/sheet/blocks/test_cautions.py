"""Which cautions stand on a certificate, and how."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sheet.results_factory import make_results

from certgen.results.model import Caution
from certgen.sheet.blocks.cautions import cautions, general_cautions, main_cautions
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout, Titled
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import Area, FaceMark, TextMark

BAN = Caution("insulation", "Do not energise this motor: its insulation failed.", "0.4 MΩ", 3, do_not_energise=True)
GENERAL = (
    Caution("rotation", "Guard the shaft.", "it turns", 3),
    Caution("installation", "Let a licensed person wire it.", "400 V", 3),
)


def listed(*dangers: int) -> tuple[Caution, ...]:
    return tuple(Caution(f"c{index}", f"Mind {index}.", "this test", danger) for index, danger in enumerate(dangers))


def test_every_caution_of_the_highest_danger_stands_however_many() -> None:
    assert [one.danger for one in main_cautions(listed(2, 3, 3, 3, 3, 1, 3))] == [3, 3, 3, 3, 3]


def test_others_fill_up_to_three_and_those_about_figures_stay_on_the_record() -> None:
    assert [one.danger for one in main_cautions(listed(2, 3, 2, 2, 1))] == [3, 2, 2]
    assert main_cautions(listed(1, 1)) == ()
    assert cautions(Content(replace(make_results(), cautions=listed(1, 1))), Titled("")) is None


def test_what_any_motor_takes_stands_in_one_line() -> None:
    everything = (*listed(3), *GENERAL)
    assert main_cautions(everything) == listed(3)
    assert general_cautions(everything) == GENERAL


def test_do_not_energise_comes_first_as_a_band_across_white_on_black() -> None:
    results = replace(make_results(), cautions=(*listed(3, 3), BAN))
    block = cautions(Content(results), Titled(""))
    assert block is not None
    marks = block.set(Area(527.0, 9.0, 8.0)).marks
    (band,) = [mark for mark in marks if isinstance(mark, FaceMark) and mark.width > 500.0]
    assert (band.x, band.y, band.width, band.ink) == (0.0, 0.0, 527.0, "ink")
    (ban,) = [mark for mark in marks if isinstance(mark, TextMark) and mark.text.startswith("Do not energise")]
    assert (ban.ink, ban.face) == ("paper", "bold")
    assert band.y < ban.y < band.y + band.height
    rest = [mark for mark in marks if isinstance(mark, TextMark) and mark.text.startswith("Mind")]
    assert all(mark.y > band.y + band.height and mark.ink == "ink" for mark in rest)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_cautions_are_ten_points_bold_in_the_upper_half(certificate_layout: Layout, paper: str) -> None:
    results = replace(make_results(3), cautions=(BAN, *listed(3, 3), *GENERAL))
    page = compose(results, certificate_layout, paper=paper, units="si")
    (box,) = [box for box in page.boxes if box.name == "cautions"]
    assert box.bottom < page.height / 2
    sizes = [mark.size for mark in box.setting.marks if isinstance(mark, TextMark) and mark.face == "bold"]
    assert min(sizes) == pytest.approx(10.0 / 9.0 * page.text_size)
