"""Stored pictures of the sheets, small and grey.

python tests/sheet/pictures.py        # remake them, after looking at what changed
"""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
FOLDER = HERE / "pictures"
#: Resolution of a stored picture: enough to see a block move. [1/inch]
DPI = 50

#: Name of each picture: layout, paper, units, and the name of the results it shows.
PICTURES = {
    "certificate-a4": ("certificate", "a4", "si", "usual"),
    "certificate-letter-us": ("certificate", "letter", "us", "usual"),
    "certificate-a4-everything": ("certificate", "a4", "both", "everything"),
}


def document(name: str) -> bytes:
    """The sheet of a picture as PDF."""
    from sheet.results_factory import make_results, with_uncertainties
    from sheet.wider_results import with_everything

    from certgen.document.source import Problems
    from certgen.sheet.layout import find_layout, load_layout
    from certgen.sheet.render import render

    layout_name, paper, units, what = PICTURES[name]
    path = find_layout(layout_name)
    layout = load_layout(path, layout_name, Problems()) if path else None
    if layout is None:
        raise SystemExit(f"the layout {layout_name} cannot be read")
    made = {
        "usual": lambda: with_uncertainties(make_results(8)),
        "everything": lambda: with_everything(make_results(12, rich=True)),
    }
    return render(made[what](), layout, paper=paper, units=units)


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
