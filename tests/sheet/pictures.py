"""Stored pictures of the sheets, small and grey.

python tests/sheet/pictures.py        # remake them, after looking at what changed
"""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from certgen.sheet.engine.place import PlacedPage

HERE = Path(__file__).parent
FOLDER = HERE / "pictures"
#: Resolution of a stored picture: enough to see a block move. [1/inch]
DPI = 50

#: Name of each picture: layout, paper, units, and the name of what it shows.
PICTURES = {
    "certificate-a4": ("certificate", "a4", "si", "usual"),
    "certificate-letter-us": ("certificate", "letter", "us", "usual"),
    "certificate-a4-everything": ("certificate", "a4", "both", "everything"),
    "tag-a6": ("tag", "a6", "si", "usual"),
    "tag-4x6in-us": ("tag", "4x6in", "us", "everything"),
    "tag-strip60": ("tag", "strip60", "si", "usual"),
    "summary-letter-both": ("summary", "letter", "both", "list"),
    "trend-a4": ("trend", "a4", "si", "followed"),
}


def placed(name: str) -> PlacedPage:
    """The sheet of a picture, ready to be drawn."""
    from sheet.lists import MOTORS, TESTS
    from sheet.results_factory import make_results, with_uncertainties
    from sheet.wider_results import with_everything

    from certgen.document.source import Problems
    from certgen.sheet.content import Content, Digest
    from certgen.sheet.engine.layout import find_layout, load_layout
    from certgen.sheet.engine.page import units_of
    from certgen.sheet.engine.place import compose_content
    from certgen.sheet.list_content import SummaryContent, TrendContent

    layout_name, paper, units, what = PICTURES[name]
    path = find_layout(layout_name)
    layout = load_layout(path, layout_name, Problems()) if path else None
    if layout is None:
        raise SystemExit(f"the layout {layout_name} cannot be read")
    how, digest = (units_of(layout, units), layout.words), Digest("pdf", "0123456789abcdef" * 4)
    made: dict[str, Callable[[], object]] = {
        "usual": lambda: Content(with_uncertainties(make_results(8)), *how, digest=digest),
        "everything": lambda: Content(with_everything(make_results(12, rich=True)), *how, digest=digest),
        "list": lambda: SummaryContent(MOTORS, *how),
        "followed": lambda: TrendContent(TESTS, *how),
    }
    return compose_content(made[what](), layout, paper)


def document(name: str) -> bytes:
    """The sheet of a picture as PDF."""
    from certgen.sheet.pdf.draw import draw
    from certgen.sheet.pdf.metadata import About

    return draw(placed(name), About(name, "", "", "", "", "certgen"))


def printed(pdf: bytes, dpi: int) -> bytes:
    """The first page as a grey picture (PGM)."""
    command = ["pdftoppm", "-r", str(dpi), "-gray", "-singlefile", "-"]
    return subprocess.run(command, input=pdf, capture_output=True, check=True).stdout


def main() -> None:
    """Write every picture, as small as PNG makes it."""
    from PIL import Image

    sys.path.insert(0, str(HERE.parent))
    for name in PICTURES:
        picture = Image.open(io.BytesIO(printed(document(name), DPI)))
        picture.quantize(16).save(FOLDER / f"{name}.png", optimize=True)
        print(f"{FOLDER.name}/{name}.png")


if __name__ == "__main__":
    main()
