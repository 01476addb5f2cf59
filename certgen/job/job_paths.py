"""The job files that a command line means: files, folders of them, and patterns."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import overload

from certgen.errors import CertgenError

_YAML = (".yaml", ".yml")
_PATTERN = re.compile(r"[*?\[]")
_HEAD = 64_000
_KEY = re.compile(rb"^([A-Za-z_][\w-]*)[ \t]*:", re.MULTILINE)
#: What every job file has at its top level, and rigs, layouts and criteria have not; and what else it may have.
_MARKS = frozenset(("certificate", "motor"))
_OTHERS = frozenset(("nameplate", "rig", "conditions", "inspection", "readings"))
_ALIKE = 0.8

MOST_JOBS = 1_000_000


class Jobs(Sequence[Path]):
    """Job files, kept as text: a path takes four times the room, and there may be a million."""

    def __init__(self) -> None:
        self._names: list[str] = []
        self._known: set[str] = set()

    @overload
    def __getitem__(self, at: int) -> Path: ...

    @overload
    def __getitem__(self, at: slice) -> list[Path]: ...

    def __getitem__(self, at: int | slice) -> Path | list[Path]:
        names = self._names[at]
        return Path(names) if isinstance(names, str) else [Path(name) for name in names]

    def __len__(self) -> int:
        return len(self._names)

    def add(self, job: Path, *, again: bool) -> None:
        """Put a job at the end; one that is there already only ``again``."""
        name = str(job)
        if again or name not in self._known:
            self._names.append(name)
            self._known.add(name)


def jobs_named(arguments: Sequence[Path]) -> Jobs:
    """Job files in the order they were named, those of a folder or pattern in the order of their names.

    A folder or pattern adds no job twice. A folder stands for every job file in it and below; a job file is known by
    its keys ``certificate`` and ``motor``, also where a slip of the pen is in them.

    Raises
    ------
    CertgenError
        A folder or pattern holds no job, or there are too many.
    """
    listed = Jobs()
    for argument in arguments:
        job = None
        for job in _jobs_of(argument):
            listed.add(job, again=job == argument)
            if len(listed) > MOST_JOBS:
                raise CertgenError(f"{argument}: these are more than {MOST_JOBS} jobs; name fewer at once.")
        if job is None:
            what = "folder holds no job file" if _is_folder(argument) else "pattern meets no job file"
            raise CertgenError(f"{argument}: this {what}; a job file has the keys 'certificate:' and 'motor:'.")
    return listed


def _jobs_of(argument: Path) -> Iterator[Path]:
    if _is_folder(argument):
        yield from _below(argument)
    elif _PATTERN.search(str(argument)) and not _is_there(argument):
        yield from _of_pattern(argument)
    else:
        yield argument


def _below(folder: Path) -> Iterator[Path]:
    """Job files of a folder and those below it, in the order of their paths, folder by folder; links are not followed."""
    try:
        with os.scandir(folder) as there:
            entries = sorted(there, key=lambda entry: entry.name)
    except OSError:  # what may not be looked into holds no job
        return
    for entry in entries:
        path = folder / entry.name
        if entry.is_dir(follow_symlinks=False):
            yield from _below(path)
        elif path.suffix.lower() in _YAML and entry.is_file() and begins_as_job(path):
            yield path


def _of_pattern(pattern: Path) -> list[Path]:
    """Files and folders that meet a pattern; files are taken at their word, folders searched."""
    fixed = Path(*(part for part in pattern.parts[: _first_open(pattern)]))
    open_part = str(Path(*pattern.parts[_first_open(pattern) :]))
    try:
        met = sorted(fixed.glob(open_part))
    except (ValueError, NotImplementedError) as cause:
        raise CertgenError(
            f"{pattern}: this is no pattern of files ({cause}); write for example 'jobs/*.yaml'."
        ) from cause
    return [job for path in met for job in (_jobs_of(path) if _is_folder(path) else [path])]


def _first_open(pattern: Path) -> int:
    return next(index for index, part in enumerate(pattern.parts) if _PATTERN.search(part))


def _is_folder(path: Path) -> bool:
    """Whether this is a folder; what cannot be looked at is reported when it is read."""
    try:
        return path.is_dir()
    except OSError:
        return False


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:
        return True


def begins_as_job(path: Path) -> bool:
    """Whether the keys at the top of a file mark it as a job."""
    try:
        with path.open("rb", buffering=0) as file:
            head = file.read(_HEAD)
    except OSError:
        return False
    keys = {name.decode("ascii", "replace") for name in _KEY.findall(head)}
    return keys >= _MARKS or _misspelt(keys)


def _misspelt(keys: set[str]) -> bool:
    """Whether these are the keys of a job but for a slip in those that mark one: it is read, and the slip reported."""
    if not keys & (_MARKS | _OTHERS):
        return False
    import difflib

    strange = [name.lower() for name in keys - _MARKS - _OTHERS]
    return all(difflib.get_close_matches(mark, strange, 1, _ALIKE) for mark in _MARKS - keys)
