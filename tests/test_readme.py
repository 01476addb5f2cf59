"""The README and the handbook say what the program does: commands are run, outputs and generated pages compared."""

from __future__ import annotations

import importlib.util
import re
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(kind: str) -> list[str]:
    return re.findall(rf"```{kind}\n(.*?)```", README, flags=re.DOTALL)


def test_the_job_stands_in_one_paragraph_at_the_very_top():
    title, paragraph, heading = README.split("\n\n")[:3]
    assert title == "# certgen"
    assert heading.startswith("## ")
    assert "one page" in paragraph.replace("\n", " ")


def test_first_command_is_one_line_and_its_printed_result_is_true(tmp_path):
    setup, _ = blocks("sh")
    assert len(setup.strip().splitlines()) == 1
    command = setup.strip().split(" && ")[-1].split()
    assert command[0] == ".venv/bin/certgen"
    job = ROOT / command[2]
    arguments = [sys.executable, "-m", "certgen", "issue", str(job)]
    done = subprocess.run(arguments, cwd=tmp_path, capture_output=True, text=True, check=True)
    assert done.stdout == blocks("text")[0]
    assert [path.name for path in tmp_path.iterdir()] == [done.stdout.split(":")[0]]


def test_ci_runs_the_readmes_test_command():
    _, tests = blocks("sh")
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "grep -F \"pip install --quiet -e '.[test]'\" README.md" in script
    assert [line for line in README.splitlines() if "pip install --quiet -e '.[test]'" in line] == [tests.strip()]
    assert script.rstrip().endswith('eval "$test_command"')


@pytest.mark.parametrize("option", re.findall(r"`(--[a-z]+)[ `]", README))
def test_options_of_the_readme_exist(option):
    told = ""
    for command in ("issue", "check", "verify"):
        arguments = [sys.executable, "-m", "certgen", command, "--help"]
        told += subprocess.run(arguments, capture_output=True, text=True, check=True).stdout
    assert option in told


@pytest.mark.parametrize("page", [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))])
def test_links_lead_somewhere(page):
    for target in re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
        if "://" not in target:
            assert (page.parent / target).exists(), target


def test_generated_pages_are_current():
    spec = importlib.util.spec_from_file_location("make_tables", ROOT / "docs" / "make_tables.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for name, text in module.pages().items():
        assert (ROOT / "docs" / name).read_text(encoding="utf-8") == text, f"run python docs/make_tables.py for {name}"


def test_every_page_of_the_handbook_is_in_its_index():
    index = (ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    for page in (ROOT / "docs").glob("*.md"):
        assert page.name == "README.md" or f"({page.name})" in index


def test_every_command_has_help_and_is_in_the_readme():
    told = subprocess.run(
        [sys.executable, "-m", "certgen", "--help"], capture_output=True, text=True, check=True
    ).stdout
    commands = re.findall(r"^ {4}(\w+) {2,}\S", told, flags=re.MULTILINE)
    assert {"issue", "check", "new", "schema"} <= set(commands)
    for command in commands:
        assert f"certgen {command}" in README, command
