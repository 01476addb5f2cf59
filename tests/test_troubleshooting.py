"""Troubleshooting in the handbook: each fault is made, and what the page quotes is what certgen prints of it."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest
import yaml
from bench import replaced

from certgen.cli import main

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parent.parent
PAGE = (ROOT / "docs" / "troubleshooting.md").read_text(encoding="utf-8")
SYMPTOMS: dict[str, dict[str, Any]] = yaml.safe_load(
    (ROOT / "tests" / "handbook_symptoms.yaml").read_text(encoding="utf-8")
)
USUAL = "three_phase_full_plate"


def parts() -> dict[str, list[list[str]]]:
    """The quotations of the page by heading, each a list of lines."""
    found = {}
    for part in re.split(r"^### ", PAGE, flags=re.MULTILINE)[1:]:
        heading, _, text = part.partition("\n")
        found[heading] = [one.splitlines() for one in re.findall(r"```text\n(.*?)```", text, flags=re.DOTALL)]
    return found


PARTS = parts()


def with_rows(text: str, fault: dict[str, Any]) -> str:
    """A job with columns of its typed load test multiplied, or with its last rows alone."""
    found = re.search(r"  load_test:\n    columns:\s+(\{[^}]*\})\n    rows:\n((?:      - \[.*\]\n)+)", text)
    assert found is not None
    names = list(yaml.safe_load(found[1]))
    rows = [[float(cell) for cell in row.strip(" -[]").split(",")] for row in found[2].splitlines()]
    for name, factor in fault.get("times", {}).items():
        for row in rows:
            row[names.index(name)] = round(row[names.index(name)] * factor, 4)
    kept = "".join(f"      - {row}\n" for row in rows[-fault.get("only", len(rows)) :])
    return text[: found.start(2)] + kept + text[found.end(2) :]


def told_of(fault: dict[str, Any], folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """What certgen prints of an example job with a fault put into it."""
    copy = fault.get("copy", USUAL)
    shutil.copytree(ROOT / "example_jobs" / copy, folder / copy)
    shutil.copytree(ROOT / "example_jobs" / "rigs", folder / "rigs", dirs_exist_ok=True)
    (job,) = (folder / copy).glob("[jp]*.yaml")
    text = job.read_text(encoding="utf-8")
    rig = folder / copy / str(yaml.safe_load(text)["rig"])
    rig.write_text(replaced(rig.read_text(encoding="utf-8"), fault.get("rig", {})), encoding="utf-8")
    text = replaced(text, fault.get("job", {}))
    job.write_text(with_rows(text, fault) if {"times", "only"} & fault.keys() else text, encoding="utf-8")
    main([fault.get("command", "check"), str(job)])
    told = capsys.readouterr()
    return told.out + told.err


def test_every_symptom_quotes_certgen_and_is_made():
    assert PARTS.keys() == SYMPTOMS.keys()
    assert all(PARTS.values())
    assert sum(map(len, PARTS.values())) == PAGE.count("```text")


@pytest.mark.parametrize("heading", PARTS)
def test_what_is_quoted_is_printed(heading, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    fault = SYMPTOMS[heading]
    faults = [fault, *([fault["then"]] if "then" in fault else [])]
    assert len(faults) == len(PARTS[heading])
    for number, (one, quoted) in enumerate(zip(faults, PARTS[heading], strict=True)):
        told = told_of(one, tmp_path / str(number), capsys)
        for line in quoted:
            assert line in told, f"'{line}' is not printed:\n{told}"


def test_a_sound_job_prints_none_of_it(tmp_path, monkeypatch, capsys):
    """The quotations tell faults: the job they are made from prints none of them."""
    monkeypatch.chdir(tmp_path)
    told = told_of({}, tmp_path, capsys)
    for heading, blocks in PARTS.items():
        for quoted in blocks:
            assert not all(line in told for line in quoted), heading
