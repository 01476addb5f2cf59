"""``certgen watch``: a job checked again, and its draft drawn anew, whenever a file it is made from is saved."""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.commands.each_job import add_language, failures_reported, place_for, terminal_units
from certgen.errors import CertgenError, visible

if TYPE_CHECKING:
    from certgen.document.source import Problems
    from certgen.messages.catalogue import Message

HELP = "check a job whenever it, its rig, shop or readings are saved, and draw its page anew as a draft"

#: A file as it stood: when it was changed [ns], and its size [byte]; ``None`` where it is not there.
Stamp = tuple[int, int] | None
#: How long the watcher gathers what is saved at once, and how often it looks whether it is to stop. [ms]
_GATHERED, _LOOKS = 300, 1000
#: Folders beside the job's that are watched for a file it names and that is not there.
_MOST_FOLDERS = 100


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("job", metavar="JOB", type=Path, help="job file")
    command.add_argument(
        "--out", metavar="PATH", help="the draft, or a folder for it: NAME/ makes one (default: this folder)"
    )
    command.add_argument("--sheet", metavar="NAME", help="a layout by name, or a layout file")
    command.add_argument("--record", action="store_true", help="put the test record behind the page")
    command.add_argument("--open", action="store_true", help="show the draft with the system's viewer")
    add_language(command)


def run(options: argparse.Namespace) -> int:
    """Watch until stopped."""
    try:
        from watchfiles import Change, watch
    except ImportError:
        raise CertgenError("watching needs an extra: install it with pip install 'certgen[watch]'.") from None
    from certgen.messages.catalogue import Message

    options.out = place_for("--out", options.out)
    seen = look(options, None)
    _say(options, seen.lines)
    if options.open and seen.draft is not None:
        from certgen.terminal.viewer import show

        show(seen.draft, terminal_units(options))
    _say(options, [Message("watch.begin", count=len(seen.stamps))])
    while True:
        for saved in watch(
            *seen.folders,
            watch_filter=lambda _, name: not _is_output(Path(name)),
            debounce=_GATHERED,
            rust_timeout=_LOOKS,
            yield_on_timeout=True,
            recursive=False,
        ):
            changed = [path for path, stamp in seen.stamps.items() if stamp_of(path) != stamp]
            new = [Path(name) for kind, name in saved if kind == Change.added] if seen.wrong else []
            if changed or new:
                break
        names = changed or sorted(new)
        at, files = time.strftime("%H:%M:%S"), tuple(path.name for path in names)
        _say(options, [Message("watch.saved", time=at, files=files)])
        seen = look(options, seen)
        _say(options, seen.lines)


def _say(options: argparse.Namespace, lines: Sequence[Message | str]) -> None:
    from certgen.messages.catalogue import text_of
    from certgen.terminal.lines import on_one_line

    units = terminal_units(options)
    for line in lines:
        print(on_one_line(text_of(line, units=units)), flush=True)


def _is_output(path: Path) -> bool:
    """Whether a file is made by a program on the way, and nothing a job is made from."""
    return path.suffix.lower() == ".pdf" or path.name.startswith((".", "~")) or path.name.endswith("~")


def stamp_of(path: Path) -> Stamp:
    """How a file stands now."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


@dataclass(frozen=True)
class Look:
    """One look at a job.

    Attributes
    ----------
    lines : sequence
        What is said of it.
    report : tuple of str
        The whole of ``certgen check``, line by line, of the last look without a mistake.
    stamps : mapping
        Every file read, as it stood before it was read.
    folders : tuple of Path
        Where a change may count.
    wrong : bool
        Whether there was a mistake, so that a file may yet have to appear.
    draft : Path or None
        The page, where one was drawn.
    """

    lines: Sequence[Message | str]
    report: tuple[str, ...]
    stamps: Mapping[Path, Stamp] = field(default_factory=dict)
    folders: tuple[Path, ...] = ()
    wrong: bool = False
    draft: Path | None = None


def look(options: argparse.Namespace, before: Look | None) -> Look:
    """Check the job, draw its draft, and tell what changed since the look before."""
    from certgen.document.source import Problems

    problems = Problems()
    known: list[Path] = [options.job] if before is None else list(before.stamps)
    stamps = {path: stamp_of(path) for path in known}
    report = () if before is None else before.report
    try:
        with failures_reported(verbose=options.verbose):
            report, draft = _checked(options, problems)
    except CertgenError as error:
        lines: Sequence[Message | str] = str(error).splitlines()
        wrong, draft = True, None
    else:
        wrong = False
        lines = report if before is None or not before.report else list(changes(before.report, report))
    for name in problems.read:
        stamps.setdefault(Path(name), stamp_of(Path(name)))
    if not wrong:
        read = {path: stamp for path, stamp in stamps.items() if str(path) in problems.read or path == options.job}
        stamps = {path: stamp for path, stamp in read.items() if stamp is not None}  # a shipped layout stands elsewhere
    return Look(lines, report, stamps, _folders(options.job, stamps, wide=wrong), wrong, draft)


def _checked(options: argparse.Namespace, problems: Problems) -> tuple[tuple[str, ...], Path]:
    """The report of a job, with where its draft stands behind it."""
    from certgen.issuing.draft import write_draft_of
    from certgen.issuing.layouts import SheetOptions, language_of
    from certgen.messages.catalogue import Message, text_of
    from certgen.messages.format import Units
    from certgen.pipeline import assess_read, read_job
    from certgen.terminal.lines import on_one_line, verdict_words
    from certgen.terminal.results import results_text

    assessed = assess_read(read_job(options.job, problems))
    units = Units(assessed.loaded.job.sheet.units, language=language_of(assessed.loaded, options.language))
    text = results_text(assessed.results, visible(str(options.job)), units)
    sheet = SheetOptions(options.sheet, None, None, options.language, options.record)
    draft = write_draft_of(assessed, options.job, options.out, sheet)
    outcome = verdict_words(assessed.results.verdict.outcome, units)
    notes = [Message("terminal.left_out", path=str(draft.path), block=name) for name in draft.left_out]
    notes.append(Message("terminal.draft", path=str(draft.path), outcome=outcome))
    return (*text.splitlines(), *(on_one_line(text_of(one, units=units)) for one in notes)), draft.path


def changes(before: Sequence[str], after: Sequence[str]) -> Iterator[Message]:
    """What is otherwise in a report than in the one before: its first line always, then lines that came, went or changed."""
    from difflib import SequenceMatcher

    from certgen.messages.catalogue import Message

    if before == after:
        yield Message("watch.same", verdict=after[0])
        return
    for what, first, last, start, end in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if what == "equal":
            if start == 0:
                yield Message("watch.verdict", line=after[0])
            continue
        old, new = before[first:last], after[start:end]
        yield from (Message("watch.was", line=line.strip()) for line in old)
        yield from (Message("watch.now", line=line.strip()) for line in new)


def _folders(job: Path, stamps: Mapping[Path, Stamp], *, wide: bool) -> tuple[Path, ...]:
    """The folders of the files; after a mistake also those in which a file that a job names may yet appear."""
    folders = {path.resolve().parent for path in (job, *stamps)}
    if wide:
        above = job.resolve().parent.parent
        with os.scandir(above) as there:
            beside = sorted(Path(one.path) for one in there if one.is_dir(follow_symlinks=False))
        folders |= {above, *beside[:_MOST_FOLDERS]}
    return tuple(sorted(folder for folder in folders if folder.is_dir()))
