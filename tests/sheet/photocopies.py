"""A page as a photocopier leaves it, read by optical character recognition."""

from __future__ import annotations

import io
import subprocess
from pathlib import Path

from PIL import Image, ImageFilter
from sheet.pictures import printed

from certgen.messages.format import MISSING
from certgen.pipeline import assess_job
from certgen.sheet.blocks.checks import check_of, shown
from certgen.sheet.blocks.headline import figures_of
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import Box, compose
from certgen.sheet.engine.setting import TextMark
from certgen.sheet.pdf.draw import render
from certgen.sheet.pdf.fonts import width

#: A plain copier: 200 dots an inch, blurred by 0.8 dots, black or white at 140 of 255. Common practice, no source.
DPI, BLUR, LIGHT = 200, 0.8, 140
#: How many times larger a copy is read than it was scanned: recognition asks for letters of some 30 dots, and what a
#: person reads it may miss at one size.
LARGER = (1.5, 2, 3)


def photocopied(pdf: bytes) -> Image.Image:
    """The first page as it comes out of the copier."""
    page = Image.open(io.BytesIO(printed(pdf, DPI))).convert("L").filter(ImageFilter.GaussianBlur(BLUR))
    return page.point(lambda level: 255 * (level > LIGHT))


def read(picture: Image.Image, times: float) -> list[str]:
    """The lines that Tesseract reads in a picture so many times as large."""
    larger = picture.resize((round(picture.width * times), round(picture.height * times)), Image.Resampling.LANCZOS)
    stored = io.BytesIO()
    larger.save(stored, "PNG")
    command = ["tesseract", "-", "-", "--psm", "6", "--dpi", str(round(DPI * times)), "-l", "eng"]
    return (
        subprocess.run(command, input=stored.getvalue(), capture_output=True, check=True).stdout.decode().splitlines()
    )


def unread(job: Path, layout: Layout, paper: str, units: str) -> tuple[list[str], int]:
    """Figures of headline and checks that cannot be read off a photocopy of a certificate, and how many there are."""
    results = assess_job(job).results
    copy = photocopied(render(results, layout, paper=paper, units=units))
    content, found = Content(results, units), []
    wanted = {figure.text for figure in figures_of(content)}
    wanted |= {check_of(finding, content).measured for finding in shown(results.findings)[0]} - {MISSING}
    for box in compose(results, layout, paper=paper, units=units).boxes:
        if box.name in ("headline", "checks"):
            found += [(box, mark) for mark in box.setting.marks if isinstance(mark, TextMark) and mark.text in wanted]
    assert {mark.text for _, mark in found} == wanted
    told: list[str] = []
    for size in sorted({mark.size for _, mark in found}):  # recognition reads lines of one height
        column = below_one_another([cut(copy, box, mark) for box, mark in found if mark.size == size])
        told += [line.replace(" ", "").replace(",", ".") for larger in LARGER for line in read(column, larger)]
    figures = [mark.text.split(" ")[0] for _, mark in found]
    return [figure for figure in figures if not any(figure in line for line in told)], len(figures)


def cut(copy: Image.Image, box: Box, mark: TextMark) -> Image.Image:
    """One figure out of a copy, without what stands behind it."""
    dots, size = DPI / 72.0, mark.size
    figure = mark.text.split(" ")[0]
    x, base, wide = box.x + mark.x, box.y + mark.y, width(figure, mark.face, size)
    edges = (x - 2.0, base - 0.85 * size, x + wide + 2.0, base + 0.15 * size)
    return copy.crop(tuple(round(edge * dots) for edge in edges))


def below_one_another(parts: list[Image.Image]) -> Image.Image:
    """Pictures as the lines of one."""
    gap = 16
    high = sum(part.height + gap for part in parts) + gap
    whole, y = Image.new("L", (max(part.width for part in parts) + 2 * gap, high), 255), gap
    for part in parts:
        whole.paste(part, (gap, y))
        y += part.height + gap
    return whole
