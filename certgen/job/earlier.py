"""The job of an earlier test of the same motor, named by ``compare_with``."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import PurePosixPath

from certgen.document.references import find, shown_name
from certgen.document.wording import short
from certgen.job.load import LoadedJob, load_job

_KEY = "compare_with"


def load_earlier(loaded: LoadedJob, own_name: str) -> LoadedJob | None:
    """The job that ``compare_with`` names, or ``None`` where it names none or the mistake was kept.

    ``own_name`` is the file name of the job that names it. The earlier job stays within the folder above the naming
    job's own, and so do the files it names in turn. What it is itself compared with is not followed.
    """
    reference, reader = loaded.job.compare_with, loaded.reader
    if reference is None:
        return None
    path = find(reference, reader, loaded.folder, _KEY)
    if path is None:
        return None
    own, fence = loaded.folder.resolve(), loaded.folder.resolve().parent
    wrong = ""
    if path == (own / own_name).resolve():
        wrong = "is this job itself"
    elif not path.parent.parent.is_relative_to(fence):
        wrong = "stands outside any job's folder, so its own files could lie anywhere"
    if wrong:
        what = f"{_KEY}: '{short(reference.name)}' {wrong}"
        reader.problems.add(
            reader.shown, reference.place, what, "name the job of the earlier test, in a folder of its own"
        )
        return None
    return load_job(path, reader.problems, shown_name(reader, reference))


def named_from(loaded: LoadedJob, inputs: Mapping[str, str]) -> dict[str, str]:
    """Digests of an earlier job's files, each called as the naming job would call it."""
    reference = loaded.job.compare_with
    assert reference is not None  # there is an earlier job
    folder = PurePosixPath(reference.name).parent
    return {_tidied(folder / name): found for name, found in inputs.items()}


def _tidied(path: PurePosixPath) -> str:
    parts: list[str] = []
    for part in path.parts:
        if part == ".." and parts and parts[-1] != "..":
            parts.pop()
        else:
            parts.append(part)
    return str(PurePosixPath(*parts))
