"""Whole jobs from published readings, run from files to results."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from certgen.job.model import Job
from certgen.pipeline import assess_job, read_job
from certgen.readings.model import Readings
from certgen.reduction.model import Reduction
from certgen.reduction.reduce import reduce_test
from certgen.results.model import Results

RunTest = Callable[..., Results]


@pytest.fixture
def written(tmp_path: Path) -> Callable[..., Path]:
    """Write a job and a rig file and give the place of the job."""

    def write(
        *, motor: str, rig: dict[str, Any], columns: dict[str, str], rows: list[list[Any]],
        nameplate: dict[str, Any] | None = None, conditions: dict[str, str] | None = None,
        readings: dict[str, Any] | None = None,
    ) -> Path:  # fmt: skip
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
        return folder / "job.yaml"

    return write


@pytest.fixture
def run_test(written: Callable[..., Path]) -> RunTest:
    """Write a job and a rig file, run them whole and give the results."""
    return lambda **test: assess_job(written(**test)).results


@pytest.fixture
def reduce_job(written: Callable[..., Path]) -> Callable[..., tuple[Job, Readings, Reduction]]:
    """Write a job and a rig file, and give the job with its readings and what they reduce to."""

    def reduced(**test: Any) -> tuple[Job, Readings, Reduction]:
        read = read_job(written(**test)).test
        job, rig = read.loaded.job, read.loaded.rig
        return job, read.readings, reduce_test(job, rig, read.readings)

    return reduced


@pytest.fixture(scope="session")
def lab_tables() -> dict[str, dict[str, Any]]:
    """The published load tests, by id."""
    text = Path(__file__).with_name("lab_tables.yaml").read_text(encoding="utf-8")
    return {table["id"]: table for table in yaml.safe_load(text)["tables"]}
