"""What commands over several jobs share: the job arguments, ``--require``, and one bad job not stopping the others."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.errors import CertgenError, Unexpected, visible

if TYPE_CHECKING:
    from certgen.messages.format import Units

#: The variable that names the archive of a shop, for commands that are given none.
ARCHIVE = "CERTGEN_ARCHIVE"


def usual_archive() -> Path | None:
    """The archive that the surroundings name; ``None`` where they name none."""
    named = os.environ.get(ARCHIVE, "")
    return Path(named) if named else None


def place_for(option: str, text: str | None, ending: str = ".pdf") -> Path | None:
    """Where something is written: a file, or a folder; one whose name ends in '/' is made.

    Raises
    ------
    CertgenError
        The name could be either, or the folder cannot be made.
    """
    if text is None:
        return None
    path = Path(text)
    if text == "-":
        return path
    if text.endswith(("/", os.sep)):
        from certgen.archive.store import failure_reported

        with failure_reported(path):
            path.mkdir(parents=True, exist_ok=True)
        return path
    try:
        known = path.exists()
    except OSError:
        known = True  # reported where it is written
    if known or path.suffix.lower() == ending:
        return path
    raise CertgenError(
        f"{option} {visible(text)}: is this a file or a folder? Neither is there yet. Write {visible(text)}{ending} for a "
        f"file, or {visible(text)}/ for a new folder."
    )


_OUTCOMES = ("pass", "conditional pass")


def add_jobs(command: argparse.ArgumentParser, *, at_least: int = 1) -> None:
    """Declare the job files."""
    many = "job file, a folder or pattern of job files, or - for a job on standard input"
    command.add_argument("jobs", nargs="+" if at_least else "*", metavar="JOB", type=Path, help=many)


def add_workers(command: argparse._ActionsContainer) -> None:
    """Declare ``--workers``."""
    command.add_argument("--workers", type=_workers, metavar="N", help="processes at once (default: one a processor)")


def _workers(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 256:
        raise argparse.ArgumentTypeError(f"'{text}' is no number of processes; write 1 to 256")
    return int(text)


def add_require(command: argparse.ArgumentParser) -> None:
    """Declare ``--require``."""
    command.add_argument(
        "--require",
        choices=_OUTCOMES,
        metavar="OUTCOME",
        help="exit with 1 unless the verdict is at least this (pass, conditional pass)",
    )


def add_language(command: argparse.ArgumentParser, default: str = "the job's choice") -> None:
    """Declare ``--language``."""
    command.add_argument("--language", metavar="TAG", help=f"language printed: en, de, es or fr (default: {default})")


def terminal_units(options: argparse.Namespace, language: str = "en") -> Units:
    """The units and the language in which a command without a job answers, or one with a job of that language.

    Raises
    ------
    CertgenError
        There is no such language.
    """
    from certgen.issuing.layouts import spoken
    from certgen.messages.format import SI, Units

    return Units(getattr(options, "units", None) or SI, language=spoken(options.language or language))


def status_of(job: Path, outcome: str, require: str | None) -> int:
    """0 where the outcome is as good as required, else 1, reported on standard error."""
    if require is None or outcome in _OUTCOMES[: _OUTCOMES.index(require) + 1]:
        return 0
    print(f"{visible(str(job))}: the verdict is '{outcome}', '{require}' was required", file=sys.stderr)
    return 1


@contextmanager
def failures_reported(*, verbose: bool) -> Iterator[None]:
    """A fault of the program's own at one job as an error among others, its trace printed where asked for.

    Raises
    ------
    Unexpected
        In place of whatever nobody foresaw.
    """
    try:
        yield
    except (CertgenError, OSError):
        raise
    except Exception as failure:
        unexpected = Unexpected(failure)
        if verbose:
            print(unexpected.details, end="", file=sys.stderr)
        raise unexpected from failure


def each_job(options: argparse.Namespace, one: Callable[[Path], str]) -> int:
    """Run every job to its outcome; one bad job does not stop the others, and the worst exit status counts."""
    from certgen.job.job_paths import jobs_named

    status = 0
    for job in jobs_named(options.jobs):
        try:
            with failures_reported(verbose=options.verbose):
                outcome = one(job)
        except CertgenError as error:
            print(error if error.names_its_file else f"{visible(str(job))}: {error}", file=sys.stderr)
            status = max(status, error.exit_code)
            continue
        status = max(status, status_of(job, outcome, options.require))
    return status
