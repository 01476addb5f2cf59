"""Every example's certificate out of a photocopier: are the figures of headline and checks still read?

    python tests/studies/photocopies.py [--jobs NAME ...] [--papers a4 letter] [--units si us both] [--keep FOLDER]

Each page is printed at 200 dots an inch, blurred by 0.8 dots and made black or white, as a plain copier does, then read by
Tesseract. Prints a row for each page: figures there, figures not read, which. ``--keep`` writes the copies as pictures.
Exit status 1 where more than one figure of a page is not read: recognition errs on one now and then, people do
not. About three seconds a page.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from sheet.photocopies import photocopied, unread

from certgen.document.source import Problems
from certgen.pipeline import assess_job
from certgen.sheet.engine.layout import find_layout, load_layout
from certgen.sheet.pdf.draw import render

EXAMPLES = Path(__file__).parent.parent.parent / "example_jobs"
MOST_UNREAD = 1


def main() -> int:
    """Read every page asked for; 1 where a page fails."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--jobs", nargs="*", default=sorted(path.parent.name for path in EXAMPLES.glob("*/job.yaml")))
    parser.add_argument("--papers", nargs="*", choices=("a4", "letter"), default=("a4", "letter"))
    parser.add_argument("--units", nargs="*", choices=("si", "us", "both"), default=("si", "us", "both"))
    parser.add_argument("--keep", type=Path)
    options = parser.parse_args()
    path = find_layout("certificate")
    layout = None if path is None else load_layout(path, "certificate", Problems())
    assert layout is not None
    pages = seen = missed = failed = 0
    print(f"{'job':28} {'paper':7} {'units':6} figures  not read")
    for name in options.jobs:
        for paper in options.papers:
            for units in options.units:
                lost, count = unread(EXAMPLES / name / "job.yaml", layout, paper, units)
                pages, seen, missed, failed = (
                    pages + 1,
                    seen + count,
                    missed + len(lost),
                    failed + (len(lost) > MOST_UNREAD),
                )
                print(f"{name:28} {paper:7} {units:6} {count:7}  {', '.join(lost) or '-'}", flush=True)
                if options.keep is not None:
                    options.keep.mkdir(parents=True, exist_ok=True)
                    document = render(
                        assess_job(EXAMPLES / name / "job.yaml").results, layout, paper=paper, units=units
                    )
                    photocopied(document).convert("1").save(options.keep / f"{name}-{paper}-{units}.png")
    print(f"{pages} pages, {seen} figures, {missed} not read, {failed} pages with more than {MOST_UNREAD} not read")
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
