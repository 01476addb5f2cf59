"""The handbook's page on planning: its commands do what it says, and every example job can be planned."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from certgen.cli import main

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parent.parent
PAGE = (ROOT / "docs" / "planning.md").read_text(encoding="utf-8")
COMMANDS = [line for block in re.findall(r"```sh\n(.*?)```", PAGE, flags=re.DOTALL) for line in block.splitlines()]
JOBS = sorted([*(ROOT / "example_jobs").glob("*/job.yaml"), *(ROOT / "example_jobs").glob("*/plan.yaml")])


@pytest.fixture
def checkout(tmp_path, monkeypatch):
    (tmp_path / "example_jobs").symlink_to(ROOT / "example_jobs")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_commands_of_the_page_run(checkout, capsys):
    assert len(COMMANDS) == 2
    for command in COMMANDS:
        program, *arguments = shlex.split(command)
        assert program == "certgen"
        assert main(arguments) == 0
    assert (checkout / "PMB-2026-0041-run-sheet.pdf").is_file()
    assert "2.2 kW" in (checkout / "my_motor" / "job.yaml").read_text(encoding="utf-8")


def test_the_keys_shown_are_keys(checkout, capsys):
    (shown,) = re.findall(r"```yaml\n(.*?)```", PAGE, flags=re.DOTALL)
    rig = (ROOT / "example_jobs" / "rigs" / "slow_arm_brake.yaml").read_text(encoding="utf-8")
    rig = "".join(line for line in rig.splitlines(keepends=True) if not line.startswith("tachometer"))
    Path("motor").mkdir()
    Path("motor/rig.yaml").write_text(rig + shown, encoding="utf-8")
    Path("motor/job.yaml").write_text("motor: {type: dc}\nrig: rig.yaml\n", encoding="utf-8")
    assert main(["plan", "motor/job.yaml"]) == 0


def test_options_named_on_the_page_exist(capsys):
    with pytest.raises(SystemExit):
        main(["plan", "--help"])
    told = capsys.readouterr().out
    for option in ("--paper", "--units", "--out", "--results", "--sheet"):
        assert option in told
        assert f"`{option}`" in PAGE


@pytest.mark.parametrize("job", JOBS, ids=lambda path: path.parent.name)
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_example_has_its_run_sheet(job, paper, tmp_path, capsys):
    assert main(["plan", str(job), "--paper", paper, "--out", str(tmp_path)]) == 0
    (sheet,) = tmp_path.glob("*-run-sheet.pdf")
    assert capsys.readouterr().out.splitlines()[-1] == f"run sheet: {sheet}"


def test_the_job_awaiting_its_test_is_as_its_readme_says(tmp_path, capsys):
    (job,) = (ROOT / "example_jobs").glob("*/plan.yaml")
    assert main(["plan", str(job), "--out", str(tmp_path)]) == 0
    part = re.search(r"greatest load: (\d+)\.\d % of rated load", capsys.readouterr().out)
    assert part is not None
    readme = (ROOT / "example_jobs" / "README.md").read_text(encoding="utf-8")
    assert f"up to {part[1]} % of its rated load" in readme
