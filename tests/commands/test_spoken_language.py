"""Every command answers on the terminal in the language asked for, or in that of the job it has."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from bench import Bench

from certgen.cli import main
from certgen.messages.catalogue import Message
from certgen.messages.format import Units
from certgen.messages.languages import shipped
from certgen.readings.recording.recording import Tally
from certgen.recorder.live import Margin, summary, warning
from certgen.recorder.screen import Screen

pytestmark = pytest.mark.slow

NUMBER = "  number: WS-2026-007\n"


@pytest.fixture
def shop(bench: Bench) -> Path:
    """A German job without a number, and a folder for an archive."""
    job = bench.with_fine_instruments().write()
    text = job.read_text(encoding="utf-8").replace(NUMBER, "")
    job.write_text(f"{text}\nsheet: {{language: de}}\n", encoding="utf-8")
    Path("kept").mkdir()
    return job


def said(capsys: pytest.CaptureFixture[str], *command: str, status: int = 0) -> str:
    capsys.readouterr()
    assert main(list(command)) == status
    heard = capsys.readouterr()
    return heard.out + heard.err


def test_issuing_follows_the_job_and_the_archive_the_command_line(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    german, french = ["--language", "de"], ["--language", "fr"]
    started = said(capsys, "register", "start", "kept", "--numbers", "HB-{year}-{serial:03}", *german)
    assert started == "kept: Nummern HB-{year}-{serial:03}\n"
    assert said(capsys, "issue", str(shop), "--archive", "kept") == "kept/HB-2026-001.pdf: bestanden\n"
    again = said(capsys, "issue", str(shop), "--archive", "kept", *french)
    assert again == "kept/HB-2026-001.pdf\u00a0: conforme (inchangé, déjà émis)\n"
    listed = said(capsys, "register", "list", "--archive", "kept", *german)
    assert listed.startswith("HB-2026-001  14.03.2026  bestanden")
    assert "1,500 kW" in listed
    assert "register and folder" not in said(capsys, "register", "check", "--archive", "kept", *german)
    followed = said(capsys, "register", "trend", "0048117", "--archive", "kept", *german)
    assert followed.startswith("Wirkungsgrad des Motors 0048117 bei ")
    assert "14.03.2026  HB-2026-001  81,17 %" in followed
    page = "kept/HB-2026-001.pdf"
    verified = said(capsys, "verify", page, *german)
    assert "\u202f" in verified  # as in 65 873 bytes
    assert verified.startswith("kept/HB-2026-001.pdf: unversehrt, HB-2026-001, Gesamtergebnis bestanden\n    ja  ")
    Path("changed.pdf").write_bytes(Path(page).read_bytes()[:-1])
    Path("passphrase").write_text("a long passphrase\n", encoding="utf-8")
    secret = ["--passphrase-file", "passphrase"]
    assert main(["key", "shop.p12", "--name", "Bench", *secret]) == 0
    refused = said(capsys, "sign", "changed.pdf", "--key", "shop.p12", *secret, *german, status=2)
    assert refused.startswith("changed.pdf: nicht signiert")
    counted = said(capsys, "summary", str(shop), *french)
    assert counted == "summary.pdf\u00a0: essais dans la liste\u00a0: 1\n"


def test_a_language_that_is_not_there_is_named_once(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in (["verify", "x.pdf"], ["register", "list", "--archive", "kept"], ["summary", str(shop)]):
        assert "no such language; did you mean" in said(capsys, *command, "--language", "dee", status=2)


@pytest.mark.parametrize(("system", "figures"), [("si", "16,2 von 16 N·m"), ("us", "11,9 von 11,8 lbf·ft")])
def test_a_recording_warns_in_the_units_and_the_language_of_its_job(system: str, figures: str) -> None:
    stream = io.StringIO()
    screen = Screen(stream, Units(system, language=shipped("de")))
    screen.start()
    screen.say(warning(Margin("torque", 16.2, 16.0, "torque"), 2), urgent=True)
    for line in summary(Tally(rows=1200, marks=1), "run.csv"):
        screen.say(line)
    screen.close()
    assert stream.getvalue().splitlines() == [
        f"ÜBER DER GRENZE: Drehmoment {figures}. Last wegnehmen.",
        "run.csv: 1200 Zeilen aufgezeichnet, 1 Marke",
    ]


def test_no_command_prints_a_message_in_english_alone() -> None:
    """What a command prints goes through the reader's language; only what travels in files is English for good."""
    root = Path(__file__).parents[2] / "certgen"
    spoken = [*(root / "commands").glob("*.py"), *(root / "terminal").glob("*.py")]
    found = [
        f"{path.name}:{number}"
        for path in spoken
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if "str(Message(" in line or "print(Message(" in line
    ]
    assert found == []
    assert str(Message("outcome.pass")) == "pass"
