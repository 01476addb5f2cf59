"""A rig, and a job whose load test is still to be made: what is known before the motor runs."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from certgen.document.build import Reader
from certgen.document.references import find
from certgen.document.source import Problems, decode, parse, read_bounded
from certgen.document.vocabulary import Group, key
from certgen.job.fit import check_fit, check_rig
from certgen.job.gear import at_output_shaft
from certgen.job.load import LoadedJob
from certgen.job.model import Job, ReadingsSource
from certgen.job.rig import Rig
from certgen.job.table import TableSource, table

Built = TypeVar("Built")


@dataclass(frozen=True)
class ReadingsBefore(ReadingsSource):
    """Readings as far as they were taken."""

    load_test: TableSource | None = key(table(), "The load test, where it was begun.")


@dataclass(frozen=True)
class JobBefore(Job):
    """A job without its load test."""

    readings: ReadingsSource = key(Group(ReadingsBefore), "What was read.", default=ReadingsBefore())


def load_before(rig_path: Path, job_path: Path | None, problems: Problems) -> LoadedJob | None:
    """A rig with the job to be done on it, or with an empty job; ``None`` where a file holds no keys.

    Every mistake found is kept in ``problems``. A job must name this rig.
    """
    rig_reader = Reader(str(rig_path), rig_path.parent, problems)
    rig = _read(Rig, rig_path, rig_reader)
    if job_path is None:
        if rig is None:
            return None
        check_rig(rig, rig_reader)
        return LoadedJob(JobBefore(), rig, rig_path.parent, rig_reader, rig_reader)
    reader = Reader(str(job_path), job_path.parent, problems)
    job = _read(JobBefore, job_path, reader)
    if rig is None or job is None:
        return None
    named = None if job.rig is None else find(job.rig, reader, job_path.parent, "rig")
    if named is not None and named != rig_path.resolve():
        reader.wrong_at("rig", f"this is another rig than '{rig_path}'", "name one rig in both places")
    geared = at_output_shaft(job)
    check_fit(geared, rig, reader, rig_reader)
    return LoadedJob(geared, rig, job_path.parent, reader, rig_reader)


def _read(of: type[Built], path: Path, reader: Reader) -> Built | None:
    data = read_bounded(path, reader.shown, reader.problems)
    text = None if data is None else decode(data, reader.shown, reader.problems)
    root = None if text is None else parse(text, reader.shown, reader.problems)
    return None if root is None else reader.group(of, root)
