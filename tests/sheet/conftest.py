"""A sheet to test: the shipped layout, and what a page says as text."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from certgen.document.source import Problems
from certgen.sheet.engine.layout import Layout, find_layout, load_layout


@pytest.fixture(scope="session")
def certificate_layout() -> Layout:
    path = find_layout("certificate")
    assert path is not None
    problems = Problems()
    layout = load_layout(path, "certificate.yaml", problems)
    assert problems.found == []
    assert layout is not None
    return layout


@pytest.fixture(scope="session")
def record_layout() -> Layout:
    path = find_layout("record")
    assert path is not None
    layout = load_layout(path, "record.yaml", Problems())
    assert layout is not None
    return layout


@pytest.fixture
def layout_from(tmp_path: Path) -> Callable[[str], tuple[Layout | None, list[str]]]:
    """Read a layout from its text: the layout, and the mistakes as printed."""

    def read(text: str) -> tuple[Layout | None, list[str]]:
        path = tmp_path / "shop.yaml"
        path.write_text(text, encoding="utf-8")
        problems = Problems()
        layout = load_layout(path, "shop.yaml", problems)
        return layout, [str(problem) for problem in problems.found]

    return read


@pytest.fixture(scope="session")
def text_of() -> Callable[[bytes], str]:
    """The text of a one-page PDF in the order it is drawn, every run of blanks one space."""

    def extract(document: bytes) -> str:
        reader = PdfReader(io.BytesIO(document))
        assert len(reader.pages) == 1
        return " ".join(reader.pages[0].extract_text().split())

    return extract


@pytest.fixture(scope="session")
def words_of() -> Callable[[Any], str]:
    """The texts of a block as set in a wide column, in the order of its marks."""
    from certgen.sheet.engine.setting import Area, Block, TextMark

    def read(block: Block, width: float = 540.0) -> str:
        setting = block.set(Area(width, 8.0, 5.6))
        return " ".join(mark.text for mark in setting.marks if isinstance(mark, TextMark))

    return read
