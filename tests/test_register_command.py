"""Issuing into an archive, and the register's commands, as a shop uses them."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from bench import Bench

from certgen.cli import main

pytestmark = pytest.mark.slow

NUMBER = "  number: WS-2026-007\n"


@pytest.fixture
def shop(bench: Bench) -> Path:
    """A job without a number, and a folder whose register gives numbers."""
    job = bench.with_fine_instruments().write()
    text = job.read_text(encoding="utf-8")
    assert NUMBER in text
    job.write_text(text.replace(NUMBER, ""), encoding="utf-8")
    Path("kept").mkdir()
    assert main(["register", "start", "kept", "--numbers", "HB-{year}-{serial:03}"]) == 0
    return job


def issue(job: Path, *more: str) -> int:
    return main(["issue", str(job), "--archive", "kept", *more])


def test_the_register_gives_the_number_and_keeps_the_page(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert issue(shop, "--results", "results.json") == 0
    assert "kept/HB-2026-001.pdf: pass\n" in capsys.readouterr().out
    assert json.loads(Path("results.json").read_text())["certificate"]["number"] == "HB-2026-001"
    assert issue(shop) == 0
    assert "kept/HB-2026-001.pdf: pass (unchanged, already issued)\n" in capsys.readouterr().out
    assert main(["register", "list", "--archive", "kept"]) == 0
    (line,) = capsys.readouterr().out.splitlines()
    assert line.startswith("HB-2026-001  2026-03-14  pass  ")


def test_a_correction_is_a_revision_that_says_why(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    issue(shop)
    text = shop.read_text(encoding="utf-8")
    numbered = text.replace("certificate:\n", "certificate:\n  number: HB-2026-001\n  remarks: Corrected.\n")
    shop.write_text(numbered, encoding="utf-8")
    assert issue(shop) == 2
    assert "an issued certificate is never changed" in capsys.readouterr().err
    revised = numbered.replace("  remarks", "  revision: 2\n  revision_reason: The arm is 0.4 m long.\n  remarks")
    shop.write_text(revised, encoding="utf-8")
    assert issue(shop) == 0
    assert main(["register", "find", "--number", "HB-2026-001", "--archive", "kept"]) == 0
    new, old = capsys.readouterr().out.splitlines()[-2:]
    assert new.startswith("HB-2026-001 revision 2  ")
    assert old.endswith("(replaced by HB-2026-001 revision 2)")


def test_without_number_or_archive_the_way_to_one_is_told(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(shop)]) == 0
    assert main(["issue", str(shop)]) == 2
    told = capsys.readouterr().err
    assert "the job has no certificate.number; write one, or let the register of an archive give the next" in told
    assert list(Path().glob("*.pdf")) == []


def test_an_archive_and_another_place_are_not_both_given(shop: Path) -> None:
    assert issue(shop, "--out", "page.pdf") == 2
    assert not Path("page.pdf").exists()


def test_the_register_is_handed_on(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    issue(shop)
    capsys.readouterr()
    assert main(["register", "export", "--archive", "kept", "--power-from", "2 hp"]) == 0
    (row,) = csv.DictReader(io.StringIO(capsys.readouterr().out))
    assert (row["number"], row["verdict"]) == ("HB-2026-001", "pass")
    assert main(["register", "export", "--archive", "kept", "--power-to", "1 hp", "--as", "json"]) == 0
    assert json.loads(capsys.readouterr().out) == []


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (["--tested-from", "14.3.2026"], "--tested-from '14.3.2026': this is no day; write it like 2026-03-01."),
        (["--power-from", "2"], "--power-from '2': '2' has no unit"),
        (["--power-to", "2 kg"], "--power-to '2 kg': '2 kg' is a mass, not a power"),
    ],
)
def test_a_question_that_cannot_be_read_is_told(shop: Path, capsys, asked: list[str], told: str) -> None:
    assert main(["register", "find", "--archive", "kept", *asked]) == 2
    assert told in capsys.readouterr().err


def test_check_ends_with_1_where_a_file_was_changed(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    issue(shop)
    assert main(["register", "check", "--archive", "kept"]) == 0
    with Path("kept/HB-2026-001.pdf").open("ab") as file:
        file.write(b" ")
    assert main(["register", "check", "--archive", "kept"]) == 1
    told = capsys.readouterr().out
    assert "changed since it was issued: HB-2026-001.pdf\n" in told
    assert told.endswith("kept: 1 certificates; register and folder do not agree\n")


def test_a_certificate_is_marked_as_replaced(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    issue(shop)
    other = shop.with_name("other.yaml")
    other.write_text(shop.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    issue(other)
    because = ["--because", "Tested again with the guard on.", "--archive", "kept"]
    assert main(["register", "supersede", "HB-2026-001", "--by", "HB-2026-002", *because]) == 0
    assert "HB-2026-001: replaced by HB-2026-002\n" in capsys.readouterr().out


def test_the_trend_of_a_reference_motor(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = shop.read_text(encoding="utf-8")
    for day in range(1, 6):
        shop.write_text(text.replace("2026-03-14", f"2026-03-{day:02}"), encoding="utf-8")
        assert issue(shop) == 0
    capsys.readouterr()
    assert main(["register", "trend", "0048117", "--archive", "kept"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "efficiency of motor 0048117 at rated current, 3.4 A"
    assert [line.split("  ")[1] for line in lines[1:6]] == [f"HB-2026-00{serial}" for serial in range(1, 6)]
    assert lines[-1] == "No sign of drift."


ROWS = ((1492, 0.00, 401, 1.92, 160, 75), (1458, 1.10, 400, 2.50, 1030, 75), (1420, 2.06, 399, 3.45, 1850, 75))


def repeat(job: Path, text: str, day: int, scale: float, rows: slice) -> None:
    """The motor tested again on a day: a scale that reads this many times too much, and the rows that were taken."""
    taken = [
        (speed, round(0.005 + kilograms * scale + 0.001 * (day % 3), 3), *rest) for speed, kilograms, *rest in ROWS
    ]
    before, after = text.split("    rows:\n", maxsplit=1)[0], text[text.index("criteria:") :]
    listed = "".join(f"      - {list(row)}\n" for row in taken[rows])
    job.write_text(f"{before}    rows:\n{listed}{after}".replace("2026-03-14", f"2026-03-{day:02}"), encoding="utf-8")
    assert issue(job) == 0


@pytest.mark.parametrize("of", ["torque", "efficiency"])
@pytest.mark.parametrize("last", [slice(None), slice(2, None)], ids=["a whole test", "one load"])
def test_a_scale_1_2_per_cent_off_is_seen(shop: Path, capsys: pytest.CaptureFixture[str], of: str, last: slice) -> None:
    """At rated power both are fixed by what defines the point; at rated current neither is."""
    text = shop.read_text(encoding="utf-8")
    for day in range(1, 9):
        repeat(shop, text, day, 1.0, slice(None))
    followed = ["register", "trend", "0048117", "--of", of, "--archive", "kept"]
    capsys.readouterr()
    assert main(followed) == 0
    assert capsys.readouterr().out.splitlines()[-1] == "No sign of drift."
    repeat(shop, text, 9, 1.012, last)
    capsys.readouterr()
    assert main(followed) == 0
    lines = capsys.readouterr().out.splitlines()
    assert " <- " in lines[9]
    assert lines[-1] == "The rig drifts, or the motor does: see the marked tests."
    values = [float(line.split()[2]) for line in lines[1:10]]
    assert values[-1] / values[-2] == pytest.approx(1.012, abs=0.002)


def test_the_load_of_a_trend_may_be_named(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    issue(shop)
    capsys.readouterr()
    trend = ["register", "trend", "0048117", "--archive", "kept"]
    assert main([*trend, "--of", "current", "--at", "8 N*m"]) == 0
    line, test = capsys.readouterr().out.splitlines()[:2]
    assert line == "current of motor 0048117 at 8 N·m"
    assert 2.5 < float(test.split()[2]) < 3.45
    for given, told in (
        (["--at", "3 kg"], "--at '3 kg': "),
        (["--at", "-3 A"], "no motor is loaded by that"),
        (["--of", "torque", "--at", "8 N*m"], "so it is the same in all"),
        (["--at", "90 A"], "its nearest load is −96 % off"),
    ):
        assert main([*trend, *given]) == 2
        assert told in capsys.readouterr().err


def test_a_revision_without_reason_or_number_is_told_at_its_place(shop: Path, capsys) -> None:
    text = shop.read_text(encoding="utf-8")
    shop.write_text(text.replace("certificate:\n", "certificate:\n  revision: 2\n"), encoding="utf-8")
    assert main(["check", str(shop)]) == 2
    told = capsys.readouterr().err
    assert "motor/job.yaml:2:13: certificate.revision: revision 2 needs number; write 'number: ..'" in told
    assert (
        "motor/job.yaml:2:13: certificate.revision: revision 2 needs revision_reason; write 'revision_reason: ..'"
        in told
    )
    shop.write_text(text.replace("certificate:\n", "certificate:\n  revision_reason: why\n"), encoding="utf-8")
    assert main(["check", str(shop)]) == 2
    assert "certificate.revision_reason: a first issue replaces nothing" in capsys.readouterr().err
