"""Standard input and output, ``-q``, where the archive stands on the command line, and scripts for shells."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from certgen.archive.facts import NOT_GOOD
from certgen.cli import COMMANDS, command_line, main

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]


def certgen(*arguments: str, stdin: bytes, folder: Path) -> subprocess.CompletedProcess[bytes]:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "certgen", *arguments]
    return subprocess.run(command, input=stdin, capture_output=True, check=False, env=env, cwd=folder)


def test_a_job_from_standard_input_becomes_a_page_on_standard_output(here: Path) -> None:
    """Its rig stands as seen from the working folder; the page is sound, and made of what came in."""
    job = (here / "m1" / "job.yaml").read_bytes()
    done = certgen("issue", "-", "--out", "-", stdin=job, folder=here / "m1")
    assert (done.returncode, done.stderr) == (0, b"")
    (here / "page.pdf").write_bytes(done.stdout)
    assert main(["verify", "page.pdf", "--extract", "out"]) == 0
    assert (here / "out" / "m1" / "standard_input.yaml").read_bytes() == job


def test_a_mistake_on_standard_input_is_told_with_its_place(here: Path) -> None:
    job = (here / "m1" / "job.yaml").read_bytes().replace(b"motor:", b"moter:", 1)
    done = certgen("check", "-", stdin=job, folder=here / "m1")
    assert done.returncode == 2
    assert b"standard_input.yaml:7:1: moter: unknown key; did you mean 'motor'" in done.stderr


@pytest.mark.parametrize("more", [["--archive", "."], ["--results", "r.json"], ["--sheet", "tag"]])
def test_standard_output_takes_one_page_and_nothing_else(
    here: Path, capsys: pytest.CaptureFixture[str], more: list[str]
) -> None:
    assert main(["issue", "m1/job.yaml", "--out", "-", *more]) == 2
    assert capsys.readouterr().out == ""


def test_quiet_prints_a_line_each(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "m1/job.yaml", "-q"]) == 0
    assert capsys.readouterr().out == "m1/job.yaml: Conditional pass\n"
    assert main(["issue", "m1/job.yaml", "--out", "page.pdf", "-q"]) == 0
    assert main(["verify", "page.pdf", "-q"]) == 0
    told = capsys.readouterr()
    assert told.out == "page.pdf: conditional pass\npage.pdf: sound, PMB-2026-0050, verdict conditional pass\n"
    assert told.err == ""


@pytest.fixture
def kept(here: Path) -> Path:
    (here / "kept").mkdir()
    assert main(["issue", "m1/job.yaml", "--archive", "kept"]) == 0
    return here / "kept"


@pytest.mark.parametrize(
    "action",
    [
        ["list", "kept"], ["find", "kept", "0102277"], ["find", "0102277", "--archive", "kept"], ["export", "kept"],
        ["export", "kept/", "Vantrell"], ["check", "kept"], ["list", "--archive", "kept"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_the_archive_stands_by_position_in_every_action(
    kept: Path, capsys: pytest.CaptureFixture[str], action: list[str]
) -> None:
    capsys.readouterr()
    assert main(["register", *action]) == 0
    assert "PMB-2026-0050" in capsys.readouterr().out or action[0] == "check"


def test_actions_with_words_of_their_own_take_it_first(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert main(["register", "trend", "kept", "0102277", "nothing"]) == 2
    assert "register trend: it takes [DIR] MOTOR; 3 were given" in capsys.readouterr().err
    assert main(["register", "supersede", "kept", "PMB-2026-0099", "--by", "PMB-2026-0050", "--because", "x"]) == 2
    assert "PMB-2026-0099" in capsys.readouterr().err


def test_a_register_beside_the_file_is_asked_and_vouches_for_nothing(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert main(["verify", "kept/PMB-2026-0050.pdf"]) == 0
    told = capsys.readouterr().out
    assert "this register lies beside the file and came with it" in told
    shutil.copy(kept / "PMB-2026-0050.pdf", "elsewhere.pdf")
    assert main(["verify", "elsewhere.pdf"]) == 0
    assert "lies beside" not in capsys.readouterr().out


def test_another_page_under_a_number_of_the_register_beside_it_is_told(
    kept: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = Path("m1/job.yaml")
    other.write_text(other.read_text("utf-8").replace("Vantrell", "Vantrall"), "utf-8")
    assert main(["issue", "m1/job.yaml", "--out", "kept/other.pdf"]) == 0
    capsys.readouterr()
    assert main(["verify", "kept/other.pdf"]) == 1
    assert "other" in capsys.readouterr().out
    assert NOT_GOOD == "not good"


@pytest.mark.parametrize("shell", ["fish", "powershell"])
def test_a_script_knows_every_command_and_option(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    script = capsys.readouterr().out
    for name in COMMANDS:
        assert f"-a {name} " in script if shell == "fish" else f"'{name}' = @(" in script
    for option in ("draft", "archive", "require"):
        assert f"-l {option} " in script if shell == "fish" else f"'--{option}'" in script
    assert command_line().prog == "certgen"


@pytest.mark.skipif(shutil.which("fish") is None, reason="needs fish")
def test_fish_completes_commands_options_and_choices(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", "fish"]) == 0
    Path("script.fish").write_text(capsys.readouterr().out, "utf-8")

    def offered(line: str) -> set[str]:
        asked = f'source script.fish; complete -C "{line}"'
        env = {**os.environ, "HOME": str(here), "XDG_CONFIG_HOME": str(here)}
        done = subprocess.run(["fish", "--no-config", "-c", asked], capture_output=True, text=True, check=True, env=env)
        return {one.partition("\t")[0] for one in done.stdout.splitlines()}

    assert offered("certgen iss") == {"issue"}
    assert {"--paper", "--draft"} <= offered("certgen issue --")
    assert offered("certgen issue --paper le") == {"letter"}
    assert {"list", "find"} <= offered("certgen register ")
