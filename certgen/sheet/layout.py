"""Layout files: the shipped ones and a shop's own, read with every mistake told."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from pathlib import Path

from certgen.document.build import Reader
from certgen.document.source import Problems, decode, parse, read_bounded
from certgen.errors import Problem
from certgen.sheet.block_settings import BLOCK_NAMES, Blocks, Chart, PointTable, Titled
from certgen.sheet.layout_checks import check
from certgen.sheet.layout_model import Layout
from certgen.sheet.papers import PAPERS
from certgen.sheet.parts import Part

__all__ = ["BLOCK_NAMES", "PAPERS", "Blocks", "Chart", "Layout", "Part", "PointTable", "Titled", "load_layout"]


def layout_folder() -> Path:
    """Where the shipped layouts are: inside an installed package, or beside it in a checkout."""
    package = Path(str(resources.files("certgen")))
    inside = package / "layouts"
    return inside if inside.is_dir() else package.parent / "layouts"


def shipped_layouts() -> tuple[str, ...]:
    """Names of the shipped layouts."""
    return tuple(sorted(path.stem for path in layout_folder().glob("*.yaml")))


def find_layout(name: str) -> Path | None:
    """The file of a shipped layout, or ``None`` where none has that name."""
    return layout_folder() / f"{name}.yaml" if name in shipped_layouts() else None


def load_layout(path: Path, shown: str, problems: Problems) -> Layout | None:
    """A layout file as a layout, or ``None`` with every mistake kept."""
    data = read_bounded(path, shown, problems)
    if data is None:
        return None
    layout, mistakes = _read(data, shown, path.parent)
    problems.found.extend(mistakes)
    return layout


@lru_cache(maxsize=16)
def _read(data: bytes, shown: str, folder: Path) -> tuple[Layout | None, tuple[Problem, ...]]:
    """A layout and the mistakes in its file; many jobs use one layout."""
    problems = Problems()
    text = decode(data, shown, problems)
    root = None if text is None else parse(text, shown, problems)
    reader = Reader(shown, folder, problems)
    layout = None if root is None else reader.group(Layout, root)
    if layout is not None and not problems.found:
        check(layout, reader)
    return (None if problems.found else layout), tuple(problems.found)
