"""A page in the customer's language: words, figures and titles; the shop's own texts stay; verification draws it again."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from bench import ARM_RIG, JOB
from pypdf import PdfReader

from certgen.cli import main
from certgen.document.source import Problems
from certgen.issuing.certificate import draw_job
from certgen.issuing.layouts import SheetOptions
from certgen.messages.languages import catalogue
from certgen.sheet.engine.layout import in_language, layout_folder, load_layout
from certgen.sheet.language_file import load_language, untranslated

pytestmark = pytest.mark.slow

OWN = """writing.language: pt
writing.number: 12 345,6
writing.speed_unit: rpm
title.heading: Certificado de ensaio
verdict.met: "Cumpre a placa: {count} de {count} verificações."
headline.torque: Binário
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "rig.yaml").write_text(ARM_RIG, encoding="utf-8")
    path = tmp_path / "job.yaml"
    path.write_text(JOB.replace("../rigs/rig.yaml", "rig.yaml"), encoding="utf-8")
    return path


def text_of_page(document: bytes) -> str:
    return " ".join(PdfReader(io.BytesIO(document)).pages[0].extract_text().split())


def test_a_page_in_german(job: Path) -> None:
    document = draw_job(job, SheetOptions(language="de")).document
    text = text_of_page(document)
    assert text.startswith("Prüfbescheinigung")
    assert "Geprüft am 14.03.2026" in text
    assert "min⁻¹" in text
    assert "Welle, Kupplung und Riemen abdecken" in text
    assert "rpm" not in text
    assert PdfReader(io.BytesIO(document)).trailer["/Root"]["/Lang"] == "de"  # type: ignore[index]


def test_the_job_names_the_language_and_the_command_line_another(job: Path) -> None:
    job.write_text(job.read_text(encoding="utf-8") + "\nsheet: {language: de}\n", encoding="utf-8")
    assert text_of_page(draw_job(job, SheetOptions()).document).startswith("Prüfbescheinigung")
    assert text_of_page(draw_job(job, SheetOptions(language="en")).document).startswith("Brake-test certificate")


def test_a_page_in_another_language_is_drawn_again(job: Path, tmp_path: Path) -> None:
    made = tmp_path / "made.pdf"
    assert main(["issue", str(job), "--language", "de", "--record", "--out", str(made)]) == 0
    assert main(["verify", str(made)]) == 0


def test_a_language_of_the_shops_own_travels_in_the_certificate(job: Path, tmp_path: Path) -> None:
    (tmp_path / "pt.yaml").write_text(OWN, encoding="utf-8")
    job.write_text(job.read_text(encoding="utf-8") + "\nsheet: {language: pt.yaml}\n", encoding="utf-8")
    made = tmp_path / "made.pdf"
    assert main(["issue", str(job), "--out", str(made)]) == 0
    text = text_of_page(made.read_bytes())
    assert text.startswith("Certificado de ensaio")
    assert "Binário" in text
    assert "Speed" in text  # what the file does not have is said in English
    assert main(["verify", str(made)]) == 0


def test_what_a_language_lacks_is_listed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "pt.yaml"
    path.write_text(OWN, encoding="utf-8")
    assert main(["check", "--layout", str(path)]) == 0
    told = capsys.readouterr().out
    assert f"{path}: language pt, " in told
    assert "headline.speed: Speed" in told
    assert "headline.torque" not in told


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("headline.torqe: x", "unknown key"),
        ('verdict.met: "Cumpre {counted}"', "'{counted}' is no figure that this text can hold"),
        ('verdict.met: "Cumpre"', "'{count}' is missing"),
        ("writing.number: 12345", "does not show how a number is written"),
    ],
)
def test_a_mistake_in_a_language_is_named(tmp_path: Path, line: str, said: str) -> None:
    path = tmp_path / "pt.yaml"
    path.write_text(f"writing.language: pt\n{line}\n", encoding="utf-8")
    problems = Problems()
    assert load_language(path, "pt.yaml", problems) is None
    assert said in str(problems.found[0])


def test_a_language_must_say_which_it_is(tmp_path: Path) -> None:
    path = tmp_path / "pt.yaml"
    path.write_text("headline.torque: Binário\n", encoding="utf-8")
    problems = Problems()
    assert load_language(path, "pt.yaml", problems) is None
    assert "writing.language" in str(problems.found[0])


def test_titles_of_shipped_layouts_are_in_the_catalogue(tmp_path: Path) -> None:
    """A title of a shop's own layout stays as the shop wrote it."""
    known = {text for key, text in catalogue().items() if key.startswith("title.")}
    for path in layout_folder().glob("*.yaml"):
        layout = load_layout(path, path.name, Problems())
        assert layout is not None
        titles = {block.title for name in vars(layout.blocks) if (block := getattr(layout.blocks, name)).title}
        assert titles <= known
    own = tmp_path / "pt.yaml"
    own.write_text(OWN, encoding="utf-8")
    language = load_language(own, "pt.yaml", Problems())
    assert language is not None
    assert "headline.speed" in untranslated(language)
    assert in_language(layout, language).tag == "pt"
