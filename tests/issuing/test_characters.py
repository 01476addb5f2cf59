"""What no font of the page can show is a mistake with its key and characters, before anything is drawn."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench import ARM_RIG, JOB

from certgen.cli import main
from certgen.messages.languages import catalogue, languages
from certgen.sheet.pdf.fonts import unshaped, unshowable


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "rig.yaml").write_text(ARM_RIG, encoding="utf-8")
    path = tmp_path / "job.yaml"
    path.write_text(JOB.replace("../rigs/rig.yaml", "rig.yaml"), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        ("Łódź, Ελλάδα, Київ, Çorlu, ½ − 3 °C → ±", ""),
        ("モーター", "モータ"),
        ("漢字 and 漢", "漢字"),
        ("محرك", "محرك"),  # DejaVu Sans has the letters, and would print them unjoined and reversed
        ("מנוע", "מנוע"),
        ("soft\u00adhyphen, no\u00a0break", ""),
    ],
)
def test_characters_are_told_that_the_page_cannot_set(text: str, missing: str) -> None:
    """ー is a character of its own; what is written from right to left takes shaping, which the page does not do."""
    assert set(unshowable(text) + unshaped(text)) - {"ー"} == set(missing) - {"ー"}


@pytest.mark.parametrize("command", [["check"], ["issue", "--out", "made.pdf"]])
def test_the_key_and_the_characters_are_named(
    job: Path, command: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(job.parent)
    text = job.read_text(encoding="utf-8").replace("R. Tanner", "田中 R.")
    assert "田中" in text
    job.write_text(text, encoding="utf-8")
    assert main([command[0], str(job), *command[1:]]) == 2
    told = capsys.readouterr().err
    assert "certificate.tested_by: no font of the page shows '田' (U+7530), '中' (U+4E2D)" in told
    assert not Path("made.pdf").exists()


def test_a_sentence_of_a_language_is_looked_at_too(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (job.parent / "ja.yaml").write_text("writing.language: ja\nheadline.torque: トルク\n", encoding="utf-8")
    job.write_text(job.read_text(encoding="utf-8") + "\nsheet: {language: ja.yaml}\n", encoding="utf-8")
    assert main(["issue", str(job), "--out", str(job.parent / "made.pdf")]) == 2
    assert "headline.torque: no font of the page shows 'ト' (U+30C8)" in capsys.readouterr().err


@pytest.mark.parametrize("language", languages())
def test_every_sentence_that_comes_with_the_program_can_be_shown(language: str) -> None:
    """Shown here once for all: no certificate looks at them again."""
    spoken = " ".join(catalogue(language).values())
    assert unshowable(spoken) + unshaped(spoken) == ""
