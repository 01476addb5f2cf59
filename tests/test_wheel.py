"""The wheel carries everything a certificate needs."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
import zipfile
from importlib.util import find_spec
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def installed(tmp_path_factory) -> Path:
    """A folder with the wheel installed, away from the checkout."""
    built, target = tmp_path_factory.mktemp("wheel"), tmp_path_factory.mktemp("site")
    python = sys.executable if find_spec("pip") else _python_with_pip(tmp_path_factory.mktemp("pip"))
    pip = [python, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, "wheel", "--no-deps", "--wheel-dir", str(built), str(ROOT)], check=True)
    (wheel,) = built.glob("certgen-*.whl")
    subprocess.run([*pip, "install", "--no-deps", "--target", str(target), str(wheel)], check=True)
    with zipfile.ZipFile(wheel) as archive:
        assert not [name for name in archive.namelist() if name.startswith(("tests/", "example_jobs/"))]
    return target


def _python_with_pip(folder: Path) -> str:
    """The Python of a new environment, for one that was made without an installer."""
    venv.create(folder, with_pip=True)
    return str(folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))


def run(installed: Path, folder: Path, *arguments: str) -> str:
    environment = {**os.environ, "PYTHONPATH": str(installed), "PYTHONSAFEPATH": "1"}
    command = [sys.executable, "-m", "certgen", *arguments]
    return subprocess.run(command, cwd=folder, env=environment, check=True, capture_output=True, text=True).stdout


def test_it_issues_an_example_and_finds_its_layouts(installed, tmp_path):
    where = run_python(installed, tmp_path, "import certgen.sheet.engine.layout as l; print(l.layout_folder())")
    assert Path(where.strip()) == installed / "certgen" / "layouts"
    job = ROOT / "example_jobs" / "three_phase_full_plate" / "job.yaml"
    told = run(installed, tmp_path, "issue", str(job), "--paper", "letter")
    assert told == "PMB-2026-0041.pdf: pass\n"
    assert (tmp_path / "PMB-2026-0041.pdf").read_bytes().startswith(b"%PDF-")


def run_python(installed: Path, folder: Path, code: str) -> str:
    environment = {**os.environ, "PYTHONPATH": str(installed), "PYTHONSAFEPATH": "1"}
    command = [sys.executable, "-c", code]
    return subprocess.run(command, cwd=folder, env=environment, check=True, capture_output=True, text=True).stdout


def test_the_examples_are_reachable_from_it(installed, tmp_path):
    made = run(installed, tmp_path, "new", "copy", "--example", "renewed_rotor").splitlines()
    assert str(Path("copy") / "renewed_rotor" / "job.yaml") in made
    assert "renewed_rotor" in run(installed, tmp_path, "check", "copy/renewed_rotor/job.yaml")


def test_new_makes_a_job_that_can_be_issued(installed, tmp_path):
    told = run(installed, tmp_path, "new", "bench").splitlines()
    assert [Path(line).name for line in told] == ["job.yaml", "arm_brake.yaml", "shop.yaml"]
    assert run(installed, tmp_path, "issue", "bench/motor_1/job.yaml") == "MY-2026-001.pdf: conditional pass\n"
