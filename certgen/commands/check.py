"""``certgen check``: a job computed and judged, shown in the terminal; nothing is written."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from certgen.commands.each_job import add_jobs, add_language, add_require, each_job, terminal_units
from certgen.commands.schema import roots
from certgen.errors import CertgenError, InputError, visible

if TYPE_CHECKING:
    from certgen.document.build import Reader
    from certgen.messages.catalogue import Message
    from certgen.messages.languages import Language

HELP = "compute and judge a job and print it; write nothing; or check a rig, shop, criteria, layout or language file"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add_jobs(command, at_least=0)
    command.add_argument(
        "--layout",
        action="append",
        default=[],
        metavar="FILE",
        type=Path,
        help="check this file as a layout, or as a language of your own",
    )
    command.add_argument("--budget", action="store_true", help="also print the uncertainty budget at the rated point")
    add_language(command)
    command.add_argument("--json", action="store_true", help="the results of every job as JSON on standard output")
    add_require(command)


def run(options: argparse.Namespace) -> int:
    """Print the results of every job, and every mistake of a layout."""
    if not options.jobs and not options.layout:
        raise CertgenError("check: name a job file, or a rig, shop, criteria or layout file.")
    kinds = {path: kind_of(path) for path in options.jobs}
    alone = {path: kind for path, kind in kinds.items() if kind not in ("", "job")} | dict.fromkeys(
        options.layout, "layout"
    )
    options.jobs = [path for path in options.jobs if path not in alone]
    if not options.json:
        alone_status = _all_alone(alone, terminal_units(options), verbose=options.verbose)
        return max(alone_status, _check_jobs(options)) if options.jobs else alone_status
    return _as_json(options, alone)


def _check_jobs(options: argparse.Namespace) -> int:
    from certgen.issuing.characters import require_showable
    from certgen.issuing.layouts import language_of
    from certgen.messages.format import Units
    from certgen.pipeline import assess_job
    from certgen.terminal.budget import budget_text
    from certgen.terminal.results import results_text

    def checked(job: Path) -> str:
        assessed = assess_job(job)
        require_showable(assessed.loaded, assessed.results)
        units = Units(assessed.loaded.job.sheet.units, language=language_of(assessed.loaded, options.language))
        text = results_text(assessed.results, visible(str(job)), units)
        print(text.partition("\n")[0] if options.quiet else text)
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


def _as_json(options: argparse.Namespace, alone: Mapping[Path, str]) -> int:
    """One list with an entry each file: what it is and its mistakes; of a job its results, or the mistakes in its files."""
    from certgen.commands.each_job import failures_reported, status_of
    from certgen.job.job_paths import jobs_named
    from certgen.pipeline import assess_job
    from certgen.results.serialization import as_json

    status = 0
    entries: list[dict[str, Any]] = []
    for path, kind in alone.items():
        try:
            for _ in told_alone(path, kind):
                pass
        except CertgenError as error:
            entries.append({"file": str(path), "kind": kind, "mistakes": mistakes_of(error)})
            status = max(status, error.exit_code)
            continue
        entries.append({"file": str(path), "kind": kind, "mistakes": []})
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


# A file of another kind by itself.


def kind_of(path: Path) -> str:
    """What kind of file this is, by the keys at its top: job, rig, shop, criteria, layout or language; empty where none.

    What cannot be read as YAML, and what may be a job as well as anything, is left to the reader of jobs.
    """
    from certgen.document.source import Problems, decode, parse, read_bounded
    from certgen.document.vocabulary import keys_of
    from certgen.job.job_paths import begins_as_job
    from certgen.sheet.language_file import is_language

    if path.suffix.lower() not in (".yaml", ".yml") or not _is_file(path):
        return ""
    if begins_as_job(path):
        return "job"
    if is_language(path):
        return "language"
    problems = Problems()
    data = read_bounded(path, str(path), problems)
    text = None if data is None else decode(data, str(path), problems)
    root = None if text is None else parse(text, str(path), problems)
    if root is None:
        return ""
    written = {str(getattr(at, "value", "")) for at, _ in root.value}
    found = {kind: len(written & keys_of(of).keys()) for kind, of in roots().items()}
    most = max(found.values())
    return next((kind for kind, count in found.items() if count == most), "") if most else ""


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:
        return False


def _all_alone(files: Mapping[Path, str], units: str, *, verbose: bool) -> int:
    """Tell what each file is; a bad one does not stop the others."""
    from certgen.commands.each_job import failures_reported
    from certgen.messages.catalogue import text_of

    status = 0
    for path, kind in files.items():
        try:
            with failures_reported(verbose=verbose):
                for line in told_alone(path, kind):
                    print(text_of(line, units=units))
        except CertgenError as error:
            print(error if error.names_its_file else f"{visible(str(path))}: {error}", file=sys.stderr)
            status = max(status, error.exit_code)
    return status


def told_alone(path: Path, kind: str) -> Iterator[Message]:
    """What is said of a file by itself.

    Raises
    ------
    InputError
        Every mistake in it.
    """
    from certgen.document.build import Reader
    from certgen.document.source import Problems, decode, read_bounded

    if kind in ("layout", "language"):
        yield from _layout(path)
        return
    from certgen.messages.catalogue import Message

    reader = Reader(str(path), path.parent, Problems())
    data = read_bounded(path, reader.shown, reader.problems)
    text = None if data is None else decode(data, reader.shown, reader.problems)
    name = None if text is None else _PARTS[kind](text, reader)
    if name is None or reader.problems.found:
        raise InputError(reader.problems.found)
    yield Message(f"terminal.file.{kind}", path=str(path), name=name)
    if reader.not_evaluated:
        yield Message("terminal.file.recorded", keys=tuple(reader.not_evaluated))


def _rig(text: str, reader: Reader) -> str | None:
    from certgen.document.source import parse
    from certgen.job.consistency import check_rig
    from certgen.job.rig import Rig

    root = parse(text, reader.shown, reader.problems)
    rig = None if root is None else reader.group(Rig, root)
    if rig is None:
        return None
    check_rig(rig, reader)
    return rig.name or ""


def _shop(text: str, reader: Reader) -> str | None:
    """The shop file with every file it names: they must be there, the logo one that can be drawn."""
    from certgen.archive.register.numbers import read_pattern
    from certgen.document.references import find
    from certgen.issuing.characters import read_named
    from certgen.job.shop import built_shop
    from certgen.sheet.pdf.logo import LogoRefused, read_logo

    shop = built_shop(text.encode(), reader)
    if shop is None:
        return None
    named = {"logo": shop.logo, "rig": shop.rig}
    found = {key: find(one, reader, reader.folder / "job", key) for key, one in named.items() if one is not None}
    for font in shop.fonts:
        read_named(font, reader, reader.folder / "job")
    if shop.numbers is not None:
        try:
            read_pattern(shop.numbers)
        except CertgenError as error:
            reader.wrong_at("numbers", str(error).rstrip("."), "put the pattern between quotes")
    logo = found.get("logo")
    if logo is not None:
        try:
            read_logo(logo.read_bytes())
        except LogoRefused as refused:
            reader.wrong_at("logo", refused.what, refused.instead)
    return shop.name or ""


def _criteria(text: str, reader: Reader) -> str | None:
    from certgen.standards.criteria import read_criteria

    found = read_criteria(text, reader)
    return None if found is None else found.title or ""


_PARTS: Mapping[str, Callable[[str, Reader], str | None]] = {"rig": _rig, "shop": _shop, "criteria": _criteria}


def _layout(path: Path) -> Iterator[Message]:
    """What a layout or a language file is; its mistakes come together."""
    from certgen.document.source import Problems
    from certgen.messages.catalogue import Message
    from certgen.sheet.engine.layout import load_layout, missing_of_certificate
    from certgen.sheet.language_file import is_language, load_language

    problems = Problems()
    if is_language(path):
        language = load_language(path, str(path), problems)
        if language is None:
            raise InputError(problems.found)
        yield from _untranslated(path, language)
        return
    layout = load_layout(path, str(path), problems)
    if layout is None:
        raise InputError(problems.found)
    blocks = sum(len(row.names) for row in layout.rows)
    key = "terminal.layout.one_page" if layout.pages == "one" else "terminal.layout.many_pages"
    yield Message(key, path=str(path), count=blocks, papers=tuple(layout.papers))
    missing = missing_of_certificate(layout)
    if missing:
        yield Message("terminal.layout.no_certificate", path=str(path), missing=missing)
