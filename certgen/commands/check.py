"""``certgen check``: a job computed and judged, shown in the terminal; nothing is written."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.commands.each_job import add_jobs, add_language, add_require, each_job
from certgen.errors import CertgenError, InputError, visible

if TYPE_CHECKING:
    from certgen.messages.catalogue import Message
    from certgen.messages.languages import Language

HELP = "compute and judge a job and print it; write nothing; or check a layout or a language file"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add_jobs(command, at_least=0)
    command.add_argument(
        "--layout",
        action="append",
        default=[],
        metavar="FILE",
        type=Path,
        help="check a layout file, or a language of your own",
    )
    command.add_argument("--budget", action="store_true", help="also print the uncertainty budget at the rated point")
    add_language(command)
    command.add_argument("--json", action="store_true", help="the results of every job as JSON on standard output")
    add_require(command)


def run(options: argparse.Namespace) -> int:
    """Print the results of every job, and every mistake of a layout."""
    if not options.jobs and not options.layout:
        raise CertgenError("check: name a job file, or a layout with --layout FILE.")
    for path in options.layout:
        _check_layout(path)
    if not options.jobs:
        return 0
    from certgen.issuing.characters import require_showable
    from certgen.issuing.layouts import language_of
    from certgen.messages.format import Units
    from certgen.pipeline import assess_job
    from certgen.terminal.budget import budget_text
    from certgen.terminal.results import results_text

    if options.json:
        return _as_json(options)

    def checked(job: Path) -> str:
        assessed = assess_job(job)
        require_showable(assessed.loaded)
        units = Units(assessed.loaded.job.sheet.units, language=language_of(assessed.loaded, options.language))
        print(results_text(assessed.results, visible(str(job)), units))
        if options.budget:
            print(budget_text(assessed.results, units))
        return assessed.results.verdict.outcome

    return each_job(options, checked)


def _untranslated(path: Path, language: Language) -> Iterator[Message]:
    """How far a language goes, and each key that is still said in English."""
    from certgen.messages.catalogue import Message
    from certgen.messages.languages import catalogue
    from certgen.sheet.language_file import untranslated

    missing = untranslated(language)
    yield Message("terminal.language", path=str(path), tag=language.tag, count=len(missing))
    for key in missing:
        yield Message("terminal.language.missing", key=key, english=catalogue()[key])


def _as_json(options: argparse.Namespace) -> int:
    """One list with an entry each job: its results, or the mistakes in its files."""
    from certgen.commands.each_job import failures_reported, status_of
    from certgen.job.job_paths import jobs_named
    from certgen.pipeline import assess_job
    from certgen.results.serialization import as_json

    status = 0
    entries = []
    for job in jobs_named(options.jobs):
        try:
            with failures_reported(verbose=options.verbose):
                results = assess_job(job).results
        except CertgenError as error:
            entries.append({"job": str(job), "mistakes": mistakes_of(error)})
            status = max(status, error.exit_code)
            continue
        entries.append({"job": str(job), "results": json.loads(as_json(results))})
        status = max(status, status_of(job, results.verdict.outcome, options.require))
    print(json.dumps(entries, ensure_ascii=False, indent=1))
    return status


def mistakes_of(error: CertgenError) -> list[dict[str, str | int]]:
    """The mistakes behind an error, each with its place where it has one; line and column count from 1."""
    if isinstance(error, InputError) and error.problems:
        return [asdict(problem) for problem in error.problems]
    return [{"what": str(error)}]


def _check_layout(path: Path) -> None:
    """Read a layout file and say what it is; its mistakes come together."""
    from certgen.document.source import Problems
    from certgen.messages.catalogue import Message
    from certgen.sheet.engine.layout import load_layout, missing_of_certificate
    from certgen.sheet.language_file import is_language, load_language

    problems = Problems()
    if is_language(path):
        language = load_language(path, str(path), problems)
        if language is None:
            raise InputError(problems.found)
        for line in _untranslated(path, language):
            print(line)
        return
    layout = load_layout(path, str(path), problems)
    if layout is None:
        raise InputError(problems.found)
    blocks = sum(len(row.names) for row in layout.rows)
    key = "terminal.layout.one_page" if layout.pages == "one" else "terminal.layout.many_pages"
    print(Message(key, path=str(path), count=blocks, papers=tuple(layout.papers)))
    missing = missing_of_certificate(layout)
    if missing:
        print(Message("terminal.layout.no_certificate", path=str(path), missing=missing))
