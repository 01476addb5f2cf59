"""Whole jobs from published readings, run from files to results."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from certgen.pipeline import assess_job
from certgen.results.model import Results

RunTest = Callable[..., Results]


@pytest.fixture
def run_test(tmp_path: Path) -> RunTest:
    """Write a job and a rig file, run them whole and give the results."""

    def run(
        *, motor: str, rig: dict[str, Any], columns: dict[str, str], rows: list[list[Any]],
        nameplate: dict[str, Any] | None = None, conditions: dict[str, str] | None = None,
        readings: dict[str, Any] | None = None,
    ) -> Results:  # fmt: skip
        folder = tmp_path / "job"
        folder.mkdir(exist_ok=True)
        job = {
            "certificate": {"number": "B-1", "tested_on": "2026-01-01", "tested_by": "book"},
            "motor": {"type": motor},
            "nameplate": nameplate or {},
            "rig": "../rig.yaml",
            "conditions": conditions or {},
            "readings": {"load_test": {"columns": columns, "rows": rows}, **(readings or {})},
        }
        (tmp_path / "rig.yaml").write_text(yaml.safe_dump({"name": "of the book", **rig}), encoding="utf-8")
        (folder / "job.yaml").write_text(yaml.safe_dump(job, sort_keys=False), encoding="utf-8")
        return assess_job(folder / "job.yaml").results

    return run


@pytest.fixture(scope="session")
def lab_tables() -> dict[str, dict[str, Any]]:
    """The published load tests, by id."""
    text = Path(__file__).with_name("lab_tables.yaml").read_text(encoding="utf-8")
    return {table["id"]: table for table in yaml.safe_load(text)["tables"]}
