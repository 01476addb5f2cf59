"""Every kind of mistake a person can write, as ``certgen check`` tells it."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from bench import FILES, Bench

from certgen.cli import main

pytestmark = pytest.mark.slow

_TABLES = (
    "in_job",
    "in_heat",
    "in_sweep",
    "in_table",
    "in_csv",
    "in_rig",
    "in_limits",
    "in_logger",
    "in_instruments",
    "in_yaml",
)
_PLACE = re.compile(r"(?P<file>[^:]+):(?P<line>\d+):(?P<column>\d+): .+; .+\.")


def _rows(name: str) -> list[dict[str, Any]]:
    text = (Path(__file__).parent / f"{name}.yaml").read_text(encoding="utf-8")
    rows: list[dict[str, Any]] = yaml.safe_load(text)
    return rows


MISTAKES = [pytest.param(row, id=f"{name}: {row['id']}") for name in _TABLES for row in _rows(name)]


def _write(bench: Bench, row: dict[str, Any]) -> None:
    bench.start(row.get("bench", "arm"))
    for name in FILES:
        if name in row:
            bench.edit(name, row[name])
    bench.write()


def _text_at(told: str) -> str:
    """What stands in the file from the place a message gives."""
    match = _PLACE.fullmatch(told)
    assert match is not None, told
    lines = Path(match["file"]).read_text(encoding="utf-8").split("\n")
    return "\n".join(lines[int(match["line"]) - 1 :])[int(match["column"]) - 1 :]


@pytest.mark.parametrize("row", MISTAKES)
def test_a_mistake_is_told_in_one_paragraph_at_its_place(
    row: dict[str, Any], bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    _write(bench, row)
    assert main(["check", "motor/job.yaml"]) == 2
    told = capsys.readouterr()
    assert told.err == row["told"]
    assert told.out == ""
    lines = told.err.splitlines()
    assert len(lines) == len(row["at"])
    for line, at in zip(lines, row["at"], strict=True):
        assert _text_at(line).startswith(at)


@pytest.mark.parametrize("bench_name", ["arm", "file", "rope", "torque sensor", "full", "criteria"])
def test_the_benches_that_the_mistakes_are_made_in_have_none(
    bench_name: str, bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    bench.start(bench_name).write()
    assert main(["check", "motor/job.yaml"]) == 0
    assert capsys.readouterr().err == ""


def test_there_is_a_row_for_fifty_kinds_of_mistake_at_least() -> None:
    assert len({param.id for param in MISTAKES}) == len(MISTAKES) >= 50


@pytest.mark.parametrize("row", [MISTAKES[0], MISTAKES[-1]])
def test_the_command_says_the_same_in_a_process_of_its_own(row: dict[str, Any], bench: Bench) -> None:
    _write(bench, row)
    done = subprocess.run(
        [sys.executable, "-m", "certgen", "check", "motor/job.yaml"], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (2, "", row["told"])
