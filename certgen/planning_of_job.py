"""A job before its test, brought to its plan: the rooms job and readings, then planning."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from certgen.document.source import Problems
from certgen.errors import InputError
from certgen.job.load import LoadedJob, load_job
from certgen.planning.make import make_plan
from certgen.planning.plan import Plan
from certgen.readings.read import read_envelope


@dataclass(frozen=True)
class Planned:
    """One job with its plan."""

    loaded: LoadedJob
    plan: Plan


def plan_job(path: Path) -> Planned:
    """Read one job as it stands before the test and plan it.

    Raises
    ------
    InputError
        Every mistake found in the job, its rig and the brake's envelope; absent readings are none.
    """
    problems = Problems()
    loaded = load_job(path, problems, before_the_test=True)
    inputs: dict[str, str] = {}
    envelope = None if loaded is None else read_envelope(loaded, inputs)
    if problems.found:
        raise InputError(problems.found)
    if loaded is None:
        raise AssertionError(f"{path}: unusable, yet no mistake was kept")
    return Planned(loaded, make_plan(loaded.job, loaded.rig, envelope, {**loaded.inputs, **inputs}))
