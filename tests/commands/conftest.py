from __future__ import annotations

import shutil
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with one job of the examples and the rigs, and no archive."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("CERTGEN_ARCHIVE", raising=False)
    shutil.copytree(ROOT / "example_jobs" / "one_point_test", tmp_path / "m1")
    shutil.copytree(ROOT / "example_jobs" / "rigs", tmp_path / "rigs")
    return tmp_path
