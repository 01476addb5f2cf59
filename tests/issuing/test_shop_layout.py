"""A shop's own layout, without a line of Python: its colours, its typeface, its order; and what it may not leave out."""

from __future__ import annotations

import io
from pathlib import Path

import pikepdf
import pytest
from archive.pdfa_rules import violations
from bench import Bench
from pypdf import PdfReader

from certgen.cli import main
from certgen.document.source import Problems
from certgen.issuing.certificate import draw_job
from certgen.issuing.draft import drawn_draft
from certgen.issuing.layouts import SheetOptions
from certgen.pipeline import assess_job
from certgen.sheet.engine.appearance import contrast_to_paper
from certgen.sheet.engine.layout import load_layout
from certgen.sheet.pdf import fonts

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
SHIPPED = (ROOT / "layouts" / "certificate.yaml").read_text(encoding="utf-8")
#: A deep blue and a deep green, as the page writes them.
BLUE, GREEN = "#1f3a5f", "#22543d"
OWN = SHIPPED.replace("purpose: certificate", f"purpose: certificate\ncolours: {{titles: '{BLUE}', rules: '{GREEN}'}}")


def bench(folder: Path, layout: str, more: str = "") -> Path:
    """A job with a layout of its own beside it."""
    job = Bench(folder).edit("job", {"criteria:": f"sheet: {{layout: ours.yaml}}\n{more}criteria:"}).write()
    (job.parent / "ours.yaml").write_text(layout, encoding="utf-8")
    return job


def operators(document: bytes) -> str:
    with pikepdf.open(io.BytesIO(document)) as file:
        return bytes(file.pages[0].obj.Contents.read_bytes()).decode("latin-1")


def test_titles_and_rules_take_the_colours_of_the_shop(tmp_path: Path) -> None:
    document = draw_job(bench(tmp_path, OWN), SheetOptions()).document
    assert violations(document) == []
    written = operators(document)
    for colour, operator in ((BLUE, "rg"), (GREEN, "RG")):
        parts = " ".join(f"{int(colour[at : at + 2], 16) / 255.0:g}" for at in (1, 3, 5))
        assert f"{parts} {operator}" in written
    plain = draw_job(bench(tmp_path / "plain", SHIPPED), SheetOptions()).document
    assert (
        PdfReader(io.BytesIO(plain)).pages[0].extract_text() == PdfReader(io.BytesIO(document)).pages[0].extract_text()
    )


@pytest.mark.parametrize(
    ("colour", "contrast"), [("#000000", 21.0), ("#ffffff", 1.0), ("#767676", 4.54), ("#ff0000", 4.0)]
)
def test_contrast_is_that_of_wcag(colour: str, contrast: float) -> None:
    """21 and 1 are the ends of the scale (WCAG 2.2); #767676 is widely told as the palest grey with 4.5 to 1 on white, red
    on white as 4.0 to 1."""
    parts = tuple(int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5))
    assert contrast_to_paper(parts) == pytest.approx(contrast, abs=0.005)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("colour", "said"),
    [
        ("'#777777'", "too pale for paper: its contrast to white is 4.48 to 1; take a darker one, 4.5 to 1 or more"),
        ("'#ffd000'", "is too pale for paper: its contrast to white is 1."),
        ("navy", "'navy' is no colour; write a colour in quotes, '#' and two hexadecimal digits"),
        ("'#12345'", "'#12345' is no colour"),
    ],
)  # fmt: skip
def test_a_colour_too_pale_or_none_is_refused(tmp_path: Path, colour: str, said: str) -> None:
    path, problems = tmp_path / "ours.yaml", Problems()
    path.write_text(f"colours: {{titles: {colour}}}\nrows: [heading]\n", encoding="utf-8")
    assert load_layout(path, "ours.yaml", problems) is None
    assert said in str(problems.found[0])


def test_the_page_is_set_in_the_typeface_of_the_shop(tmp_path: Path) -> None:
    """Two faces of a family that the shop names; the page's own stands where they have no character."""
    folder = Path(fonts.__file__).parents[1] / "fonts"
    job = bench(tmp_path, SHIPPED.replace("purpose: certificate", "purpose: certificate\ntypeface: shop"))
    for name in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf"):
        (tmp_path / name).write_bytes((folder / name).read_bytes())
    (tmp_path / "shop.yaml").write_text("name: Ours\nfonts: [DejaVuSans.ttf, DejaVuSans-Bold.ttf]\n", encoding="utf-8")
    job.write_text(f"shop: ../shop.yaml\n{job.read_text(encoding='utf-8')}", encoding="utf-8")
    document = draw_job(job, SheetOptions()).document
    assert violations(document) == []
    with pikepdf.open(io.BytesIO(document)) as file:
        shown = {str(font.BaseFont).partition("+")[2] for font in file.pages[0].obj.Resources.Font.values()}
    assert {"DejaVuSans", "DejaVuSans-Bold"} <= shown
    assert not {name for name in shown if name.startswith("RobotoCondensed")}
    assert fonts.runs("a page of another job", fonts.REGULAR)[0].font == fonts.font_name(fonts.REGULAR)
    draft, _ = drawn_draft(assess_job(job), SheetOptions())
    with pikepdf.open(io.BytesIO(draft)) as file:
        assert shown == {str(font.BaseFont).partition("+")[2] for font in file.pages[0].obj.Resources.Font.values()}


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        (("- cautions\n", "\n"), "the cautions"),
        (("  - scope\n", "\n"), "what the results relate to"),
        (("title: Brake-test certificate", "title: ''"), "a title for 'heading'"),
        (("[verdict]", "[{block: verdict, when: passed}]"), "the verdict with its scope"),
    ],
)
def test_what_a_certificate_lacks_is_said(
    tmp_path: Path, change: tuple[str, str], missing: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert change[0] in SHIPPED
    job = bench(tmp_path, SHIPPED.replace(*change, 1))
    assert main(["issue", str(job), "--out", str(tmp_path / "page.pdf")]) == 2
    assert f"ours.yaml: no certificate without {missing}." in capsys.readouterr().err


@pytest.mark.parametrize(("sheet", "heading"), [("tag", "tag_heading"), ("record", "heading")])
def test_no_sheet_goes_without_its_title(
    tmp_path: Path, sheet: str, heading: str, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (ROOT / "layouts" / f"{sheet}.yaml").read_text(encoding="utf-8")
    job = bench(
        tmp_path, text.replace(f"  {heading}: {{title:", f"  {heading}: {{title: '', x:").replace(", x:", "} #")
    )
    assert main(["issue", str(job), "--out", str(tmp_path / "page.pdf")]) == 2
    assert f"ours.yaml: no sheet without a title for '{heading}'." in capsys.readouterr().err
