"""A job file and the rig file it names, read together; their mistakes are reported together."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from certgen.document.build import FileReference, Reader
from certgen.document.references import resolve, shown_name
from certgen.document.source import Problems, decode, parse, read_bounded
from certgen.job.fit import check_fit
from certgen.job.model import Job
from certgen.job.rig import Rig

Built = TypeVar("Built")


@dataclass(frozen=True)
class LoadedJob:
    """A job with its rig: everything written about one test except the numbers of its tables.

    ``inputs`` maps each file read so far, named as the job names it, to the SHA-256 of its bytes.
    """

    job: Job
    rig: Rig
    folder: Path
    reader: Reader
    rig_reader: Reader
    inputs: Mapping[str, str] = field(default_factory=dict)

    @property
    def not_evaluated(self) -> tuple[str, ...]:
        """Keys written in job or rig whose use is not built; they change no result."""
        rig_keys = [f"rig: {name}" for name in self.rig_reader.not_evaluated]
        return tuple(self.reader.not_evaluated + rig_keys)


def load_job(path: Path, problems: Problems) -> LoadedJob | None:
    """The job at ``path`` with its rig, or ``None`` where one of them cannot be used.

    Every mistake found is kept in ``problems``; the caller goes on to the tables and raises them together.
    """
    shown = str(path)
    data = read_bounded(path, shown, problems)
    if data is None:
        return None
    reader = Reader(shown, path.parent, problems)
    job = _read(Job, data, reader)
    if job is None or not isinstance(job.rig, FileReference):
        return None
    rig_path = resolve(job.rig, reader, reader.folder, "rig")
    if rig_path is None:
        return None
    rig_reader = Reader(shown_name(reader, job.rig), rig_path.parent, problems)
    rig_data = read_bounded(rig_path, rig_reader.shown, problems)
    rig = None if rig_data is None else _read(Rig, rig_data, rig_reader)
    if rig is None or rig_data is None:
        return None
    check_fit(job, rig, reader, rig_reader)
    inputs = {path.name: digest(data), job.rig.name: digest(rig_data)}
    return LoadedJob(job, rig, path.parent, reader, rig_reader, inputs)


def digest(data: bytes) -> str:
    """SHA-256 of a file's bytes, hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _read(of: type[Built], data: bytes, reader: Reader) -> Built | None:
    text = decode(data, reader.shown, reader.problems)
    root = None if text is None else parse(text, reader.shown, reader.problems)
    return None if root is None else reader.group(of, root)
