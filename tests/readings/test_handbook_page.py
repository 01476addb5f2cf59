"""The handbook's page on readings files: every snippet in it is run."""

from __future__ import annotations

import io
import re
from pathlib import Path

import openpyxl
import pytest
import yaml
from files_bench import Result, read

from certgen.terminal.results import files_read

PAGE = (Path(__file__).parents[2] / "docs" / "readings.md").read_text(encoding="utf-8")
JOBS = re.findall(r"```yaml\n(.*?)```", PAGE, flags=re.DOTALL)
TEXTS = re.findall(r"```text\n(.*?)```", PAGE, flags=re.DOTALL)


def declared(job: str) -> str:
    node = yaml.compose(job, Loader=yaml.SafeLoader)
    assert isinstance(node, yaml.MappingNode)
    return yaml.serialize(node.value[0][1], Dumper=yaml.SafeDumper)


def run(folder: Path, job: str, files: dict[str, str | bytes]) -> Result:
    return read(folder, declared(job), files)


def test_the_page_has_the_snippets_that_are_run_here() -> None:
    assert (len(JOBS), len(TEXTS)) == (4, 3)


def test_the_least_file_is_told_as_printed(tmp_path: Path) -> None:
    found = run(tmp_path, JOBS[0], {"bench.csv": TEXTS[0]})
    assert "\n".join(line.words("si") for line in files_read(found.files)) + "\n" == TEXTS[1]
    assert found.good.column("scale").tolist() == [0.0, 10.79]
    assert found.good.column("time").tolist() == [0.0, 1.0]


def test_every_detection_fixed(tmp_path: Path) -> None:
    found = run(tmp_path, JOBS[1], {"bench.csv": TEXTS[2].encode("cp1252")})
    assert found.good.column("scale").tolist() == [0.25]
    assert found.good.column("speed") == pytest.approx([1492.5 * 0.10471975511965977])
    assert (found.file.encoding, found.file.thousands, found.file.skipped) == ("cp1252", "point", 4)


def test_a_sheet_and_a_range(tmp_path: Path) -> None:
    made = openpyxl.Workbook()
    made.create_sheet("Load")
    for row, cells in enumerate([["speed", "scale", "x", "y"], [1450, 2, "", ""]], start=4):
        for column, cell in enumerate(cells, start=2):
            made["Load"].cell(row, column, cell)
    target = io.BytesIO()
    made.save(target)
    assert run(tmp_path, JOBS[2], {"bench.xlsx": target.getvalue()}).good.column("scale").tolist() == [2.0]


def test_two_files_joined(tmp_path: Path) -> None:
    brake = "time,speed,scale\n0,1490,0\n1,1450,1\n"
    found = run(tmp_path, JOBS[3], {"brake.csv": brake, "meter.csv": "time,voltage,current\n0.3,400,2\n0.6,399,3\n"})
    assert found.good.column("current").tolist()[1] == 3.0
    assert "its times shifted by 0.5 s" in str(found.files[1].joined)
