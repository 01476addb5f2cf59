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


def name_of(plan: Plan, job: Path) -> str:
    """What the files of a plan are called: by the certificate's number where there is one, else by the job's folder."""
    number = plan.certificate.number if plan.certificate is not None else None
    return f"{number or job.resolve().parent.name} run sheet"


def write_plan(plan: Plan, target: Path, job: Path) -> Path:
    """Write the plan as JSON to a file, or into a folder under the plan's name."""
    from certgen.archive.store import file_name, write_whole
    from certgen.assessment.tree import as_json

    path = target / file_name(name_of(plan, job), ".json") if target.is_dir() else target
    write_whole(path, as_json(plan).encode())
    return path


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
