"""``certgen plot`` as it is typed: pictures, several jobs, the card, and what is said where there is no screen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from certgen.cli import main
from certgen.messages.catalogue import Message
from certgen.messages.format import Units
from certgen.messages.languages import shipped
from certgen.pipeline import assess_job
from certgen.plotting.card import card
from certgen.plotting.subjects import Shown, pictures_of
from certgen.results.model import TO_LIFE, Caution

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parents[2] / "example_jobs"
FULL = str(EXAMPLES / "three_phase_full_plate" / "job.yaml")
LOGGED = str(EXAMPLES / "logged_load_test" / "job.yaml")


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MPLBACKEND", "agg")


def size_of(name: str) -> tuple[int, int]:
    with Image.open(name) as picture:
        return picture.size


def test_a_picture_of_a_job(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plot", FULL, "--out", "motor.svg"]) == 0
    assert capsys.readouterr().out == "motor.svg\n"
    assert "certgen plot" in Path("motor.svg").read_text(encoding="utf-8")


def test_a_log_is_drawn_with_its_log_unless_something_else_is_asked_for() -> None:
    assert main(["plot", LOGGED, "--out", "all.png"]) == 0
    assert main(["plot", LOGGED, "--out", "torque.png", "--what", "torque"]) == 0
    assert size_of("all.png")[1] > 2 * size_of("torque.png")[1]


def test_the_card_is_one_picture_of_a_size_listings_show(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plot", FULL, "--card", "--out", "card.png"]) == 0
    assert size_of("card.png") == (1200, 675)
    assert main(["plot", FULL, LOGGED, "--card", "--out", "card.png"]) == 2
    assert "name one job, and the picture with --out" in capsys.readouterr().err


def test_a_card_keeps_what_forbids_to_switch_on() -> None:
    """Its words are read off the figure: a motor that must not be energised is never shown without that."""
    results = assess_job(Path(FULL)).results
    forbids = Caution("insulation", Message("caution.insulation_not_tested"), "x", TO_LIFE, do_not_energise=True)
    told = [text.get_text() for text in card(Shown(replace(results, cautions=(forbids,)), "x"), "si").texts]
    assert "Test the insulation to the frame before this" in " ".join(told)
    assert any("This picture is not the certificate." in line for line in told)


def test_a_picture_speaks_the_language_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    shown = Shown(assess_job(Path(FULL)).results, "x")
    units = Units("si", language=shipped("de"))
    (picture,) = pictures_of([shown], ["torque"], units)
    assert picture.across.quantity == "Drehzahl"
    said = " ".join(text.get_text() for text in card(shown, units).texts)
    assert "Bestanden" in said and "Dieses Bild ist nicht die Bescheinigung" in said
    assert main(["plot", FULL, "--out", "a.png", "--what", "log", "--language", "de"]) == 2
    assert "Die Belastungsprüfung ist keine Aufzeichnung" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([FULL], "plot: there is no screen to draw on here; write a picture: certgen plot JOB --out motor.png"),
        ([FULL, "--out", "motor.jpg"], "motor.jpg: a picture ends in .png, .svg or .pdf"),
        ([FULL, "--out", "a.png", "--what", "log"], "PMB-2026-0041: The load test is no log"),
        (["no.yaml", "--out", "a.png"], "no.yaml: there is no such file"),
    ],
)
def test_what_cannot_be_drawn_is_told(arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plot", *arguments]) == 2
    assert told in capsys.readouterr().err
    assert not Path("a.png").exists()


def test_an_unknown_drawing_names_those_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["plot", FULL, "--what", "torque,lod"])
    assert "'lod' cannot be drawn; choose of torque,load,heat,losses,log" in capsys.readouterr().err


def test_a_window_opens_where_there_is_a_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    import matplotlib.pyplot as plt

    shown = []
    monkeypatch.setattr(plt, "get_backend", lambda: "tkagg")
    monkeypatch.setattr(plt, "show", lambda: shown.append(plt.gcf()))
    assert main(["plot", FULL, "--what", "torque,load"]) == 0
    assert len(shown[0].axes) == 4
    plt.close("all")
