"""A job file and the rig file it names, read together; their mistakes are reported together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from certgen.digest import digest
from certgen.document.build import FileReference, Reader
from certgen.document.references import find, shown_name
from certgen.document.source import Problems, decode, parse, read_bounded
from certgen.errors import visible
from certgen.job.fit import check_fit
from certgen.job.gear import at_output_shaft
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
        """Keys written in job or rig whose use is not built; they change no result.

        A key stands for the keys below it.
        """
        rig_keys = [f"rig: {name}" for name in _topmost(self.rig_reader.not_evaluated)]
        return (*_topmost(self.reader.not_evaluated), *rig_keys)


#: What a job may leave out while it is planned: the test has not been made yet.
_BEFORE_THE_TEST = frozenset(
    (
        "certificate",
        "certificate.tested_on",
        "certificate.tested_by",
        "certificate.number",
        "readings",
        "readings.load_test",
    )
)


def load_job(
    path: Path, problems: Problems, called: str | None = None, *, before_the_test: bool = False
) -> LoadedJob | None:
    """The job at ``path`` with its rig, or ``None`` where the job is no mapping of keys.

    ``called`` is its name in messages, where that is not the path. Before the test, readings and the certificate's
    data may be absent; they are then gaps in the model, as after a mistake.

    Every mistake found is kept in ``problems``; the caller goes on to the tables and raises them together. A rig
    that cannot be read stands as an empty one, so that the rest of the job is still checked.
    """
    shown = str(path) if called is None else called
    data = read_bounded(path, shown, problems)
    if data is None:
        return None
    not_needed = _BEFORE_THE_TEST if before_the_test else frozenset[str]()
    reader = Reader(shown, path.parent, problems, not_needed=not_needed)
    job = _read(Job, data, reader)
    if job is None:
        return None
    job = at_output_shaft(job)
    inputs = {visible(path.name): digest(data)}
    rig, rig_reader = _read_rig(job.rig, reader, inputs)
    check_fit(job, rig, reader, rig_reader)
    return LoadedJob(job, rig, path.parent, reader, rig_reader, inputs)


def _read_rig(reference: FileReference | None, reader: Reader, inputs: dict[str, str]) -> tuple[Rig, Reader]:
    unread = Rig(), Reader("", reader.folder, reader.problems)
    path = None if reference is None else find(reference, reader, reader.folder, "rig")
    if reference is None or path is None:
        return unread
    shown = shown_name(reader, reference)
    data = read_bounded(path, shown, reader.problems)
    rig, found = (None, None) if data is None else _rig_of(data, shown, path.parent)
    if data is None or found is None:
        return unread
    reader.problems.found.extend(found.problems.found)
    if rig is None:
        return unread
    inputs[reference.name] = digest(data)
    places, not_evaluated = dict(found.places), list(found.not_evaluated)
    return rig, replace(found, problems=reader.problems, places=places, not_evaluated=not_evaluated)


@lru_cache(maxsize=16)
def _rig_of(data: bytes, shown: str, folder: Path) -> tuple[Rig | None, Reader]:
    """A rig with its reader, which has the mistakes of the file; many jobs were tested on one rig."""
    reader = Reader(shown, folder, Problems())
    return _read(Rig, data, reader), reader


def _topmost(paths: Iterable[str]) -> list[str]:
    """Paths of keys without those below another of them."""
    found: list[str] = []
    for path in paths:
        if not any(path.startswith(f"{above}.") for above in found):
            found.append(path)
    return found


def _read(of: type[Built], data: bytes, reader: Reader) -> Built | None:
    text = decode(data, reader.shown, reader.problems)
    root = None if text is None else parse(text, reader.shown, reader.problems)
    return None if root is None else reader.group(of, root)
