"""A verdict is said in the same words on the page, the tag, the list, in the register and on the terminal."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench import Bench
from pypdf import PdfReader

from certgen.cli import main

pytestmark = pytest.mark.slow


def text_of(path: Path) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(path).pages)


@pytest.mark.parametrize(
    ("edits", "headline"),
    [
        ({"speed: 1420 rpm": "speed: 1410 rpm"}, "Pass"),
        ({"power: 1.5 kW": "power: 5.5 kW", "current: 3.4 A": "current: 11 A"}, "No verdict"),
        (
            {"  power: 1.5 kW\n": "", "  service_factor: 1.15\n": "", "  efficiency: 80 %\n": "",
             "  power_factor: 0.79\n": "", "speed: 1420 rpm": "duty: S1"},
            "Bench-rated",
        ),
    ],
)  # fmt: skip
def test_one_headline_everywhere(
    bench: Bench, capsys: pytest.CaptureFixture[str], edits: dict[str, str], headline: str
) -> None:
    job = bench.with_fine_instruments().edit("job", edits).write()
    Path("kept").mkdir()
    assert main(["register", "start", "kept", "--numbers", "HB-{year}-{serial:03}"]) == 0
    assert main(["check", str(job)]) == 0
    words = capsys.readouterr().out.splitlines()
    told = next(line for line in words if line.startswith(str(job))).removeprefix(f"{job}: ")
    assert told.startswith(headline)
    assert main(["issue", str(job), "--archive", "kept"]) == 0
    assert main(["issue", str(job), "--sheet", "tag", "--out", "tag.pdf"]) == 0
    assert main(["summary", str(job), "--out", "list.pdf"]) == 0
    capsys.readouterr()
    assert main(["register", "list", "--archive", "kept"]) == 0
    assert told.casefold() in capsys.readouterr().out.casefold()
    (certificate,) = Path("kept").glob("*.pdf")
    for page in (certificate, Path("tag.pdf"), Path("list.pdf")):
        assert told.casefold() in text_of(page).casefold(), page.name
