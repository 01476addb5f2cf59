"""The job files that a command line means: files, folders of them, and patterns."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from certgen.errors import CertgenError

_YAML = (".yaml", ".yml")
_PATTERN = re.compile(r"[*?\[]")
_HEAD = 64_000
#: What every job file has at its top level, and rigs, layouts and criteria have not.
_MARKS = (re.compile(rb"^certificate[ \t]*:", re.MULTILINE), re.compile(rb"^motor[ \t]*:", re.MULTILINE))

MOST_JOBS = 100_000


def jobs_named(arguments: Sequence[Path]) -> list[Path]:
    """Job files in the order they were named, those of a folder or pattern in the order of their names.

    A folder or pattern adds no job twice. A folder stands for every job file in it and below; a job file is known by
    its keys ``certificate`` and ``motor``.

    Raises
    ------
    CertgenError
        A folder or pattern holds no job, or there are too many.
    """
    listed: list[Path] = []
    known: set[Path] = set()
    for argument in arguments:
        jobs = list(_jobs_of(argument))
        if not jobs:
            what = "folder holds no job file" if _is_folder(argument) else "pattern meets no job file"
            raise CertgenError(f"{argument}: this {what}; a job file has the keys 'certificate:' and 'motor:'.")
        listed.extend(jobs if jobs == [argument] else [job for job in jobs if job not in known])
        known.update(jobs)
        if len(listed) > MOST_JOBS:
            raise CertgenError(f"{argument}: these are more than {MOST_JOBS} jobs; name fewer at once.")
    return listed


def _jobs_of(argument: Path) -> Iterator[Path]:
    if _is_folder(argument):
        yield from sorted(path for path in argument.rglob("*") if _is_job(path))
    elif _PATTERN.search(str(argument)) and not _is_there(argument):
        yield from _of_pattern(argument)
    else:
        yield argument


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


def _is_job(path: Path) -> bool:
    if path.suffix.lower() not in _YAML:
        return False
    try:
        if not path.is_file():
            return False
        with path.open("rb") as file:
            head = file.read(_HEAD)
    except OSError:
        return False
    return all(mark.search(head) for mark in _MARKS)
