"""The layouts written out in the handbook are read without a mistake and make a sound page."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from sheet.geometry import assert_sound
from sheet.results_factory import make_results

from certgen.sheet.layout import Layout
from certgen.sheet.place import compose

PAGE = (Path(__file__).parents[2] / "docs" / "sheets.md").read_text(encoding="utf-8")
LAYOUTS = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)


def test_there_are_layouts_in_the_handbook() -> None:
    assert len(LAYOUTS) == 2


@pytest.mark.parametrize("text", LAYOUTS, ids=["nested", "other-words"])
def test_layout_of_the_handbook_works(layout_from: Callable[[str], tuple[Layout | None, list[str]]], text: str) -> None:
    layout, mistakes = layout_from(text)
    assert mistakes == []
    assert layout is not None
    page = compose(make_results(), layout, paper="a4", units="si")
    assert page.left_out == ()
    assert_sound(page, layout)
