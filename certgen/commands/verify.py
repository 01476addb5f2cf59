"""``certgen verify``: is a certificate whole, and does its data still give its numbers."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping
from contextlib import ExitStack, closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from certgen.commands.each_job import ARCHIVE, add_language, add_workers, terminal_units, usual_archive
from certgen.errors import CertgenError, Unexpected, visible
from certgen.streams import refusal

if TYPE_CHECKING:
    from certgen.archive.enclosures import Contents
    from certgen.archive.facts import Fact, Verification
    from certgen.archive.register.search import Answering
    from certgen.archive.reissue_check import MadeAgain


# A file given on the command line, read within a bound.


def read_given(path: Path, most: int) -> bytes:
    """The bytes of an ordinary file; nothing that may never end is begun.

    Raises
    ------
    CertgenError
        It is absent, no ordinary file, larger than ``most`` bytes, or may not be read. The message begins with what is
        wrong: whoever prints it names the file.
    """
    try:
        if path.exists() and not path.is_file():
            raise CertgenError("this is not an ordinary file; give the name of a file.")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except OSError as cause:
        raise CertgenError(f"cannot be read ({cause.strerror or cause}); check its name and permissions.") from cause
    if len(data) > most:
        raise CertgenError(f"larger than {most // 1_000_000} MB, which no such file is; give the right one.")
    return data


# ``certgen verify``: is a certificate whole, and does its data still give its numbers.


HELP = "check that a certificate is unchanged, and that its data still gives its numbers and its page"

_MARKS = ("good", "not_good", "not_checked", "replaced")
_FINGERPRINT = 64  # hexadecimal digits of a SHA-256


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("pages", nargs="+", metavar="PDF", type=Path, help="certificate")
    command.add_argument(
        "--extract",
        type=Path,
        metavar="DIR",
        help="also write the enclosed files into this folder (one certificate)",
    )
    command.add_argument(
        "--archive",
        type=Path,
        default=usual_archive(),
        metavar="DIR",
        help=f"also ask the register of this archive (default: {ARCHIVE}, where that is set; else one that lies beside "
        "the file)",
    )
    command.add_argument(
        "--json", action="store_true", help="the facts of every certificate as JSON on standard output"
    )
    signer = command.add_mutually_exclusive_group()
    signer.add_argument(
        "--signed-by",
        metavar="FILE|SHA256",
        help="the certificate (PEM, DER) the signature must be by, or the SHA-256 of the signer's, also in a file",
    )
    signer.add_argument(
        "--shop",
        type=Path,
        metavar="FILE",
        help="your own shop file: the signature must be by one of its 'signing_keys'; its fonts help to draw the page again",
    )
    add_language(command, "en")
    add_workers(command)


@dataclass(frozen=True)
class Looked:
    """A file to be verified, and against what; every part of it may travel to another process."""

    page: Path
    trusted: bytes | None
    archive: Path | None
    extract_to: Path | None = None
    language: str | None = None
    shop: Path | None = None  # whose fonts are lent to a page that was drawn with them


@dataclass(frozen=True)
class Told:
    """What is printed of one file, the exit status for it, and its facts as plain data."""

    text: str = ""
    error: str = ""
    status: int = 0
    details: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict)


def run(options: argparse.Namespace) -> int:
    """Print the facts of every certificate; the worst exit status counts."""
    from certgen.issuing.workers import workers_for

    if options.extract is not None and len(options.pages) > 1:
        raise CertgenError("--extract takes one certificate at a time; name one PDF.")
    trusted = _signer(options)
    if options.archive is not None:
        with ExitStack() as stack:
            _register(options.archive, stack)  # what is wrong with it is said once, and before all else
    terminal_units(options)  # a language that is not there is said once as well
    files = [
        Looked(page, trusted, options.archive, options.extract, options.language, options.shop)
        for page in options.pages
    ]
    status = 0
    entries: list[Mapping[str, Any]] = []
    with workers_for(len(files), options.workers, None) as workers:
        for outcome in map(looked_at, files) if workers is None else workers.results(looked_at, files, lost):
            if outcome.error:
                print(outcome.error, file=sys.stderr)
                if options.verbose and outcome.details:
                    print(outcome.details, end="", file=sys.stderr)
            elif not options.json:
                print(outcome.text.partition("\n")[0] if options.quiet else outcome.text)
            entries.append(outcome.facts)
            status = max(status, outcome.status)
    if options.json:
        print(json.dumps(entries, ensure_ascii=False, indent=1))
    return status


def looked_at(file: Looked) -> Told:
    """Verify one file; whatever goes wrong is said of it, and the others go on."""
    try:
        with ExitStack() as stack:
            if file.archive is None:
                return _one(file, _beside(file.page, stack), beside=True)
            return _one(file, _register(file.archive, stack))
    except CertgenError as error:
        return _failed(file, error)
    except OSError as cause:  # what the machine refuses is no fault of the program
        return _failed(file, CertgenError(refusal(cause)))
    except Exception as failure:  # whatever a stranger's file may do
        return _failed(file, Unexpected(failure))


def lost(file: Looked, how: str) -> Told:
    """What is said of a file whose worker was lost."""
    from certgen.issuing.workers import lost_at

    error = lost_at(file.page, how)
    return Told(error=str(error), status=error.exit_code, facts=_mistake(file.page, error))


def _failed(file: Looked, error: CertgenError) -> Told:
    details = getattr(error, "details", "")
    return Told(
        error=f"{visible(str(file.page))}: {error}",
        status=error.exit_code,
        details=details,
        facts=_mistake(file.page, error),
    )


def _mistake(page: Path, error: CertgenError) -> dict[str, Any]:
    return {"page": str(page), "good": False, "mistake": str(error)}


def _facts(page: Path, found: Verification) -> dict[str, Any]:
    """The facts of one certificate as plain data, with the key of each message."""
    from certgen.results.serialization import as_tree

    return {"page": str(page), "good": found.good, "headline": as_tree(found.headline), **as_tree(found)}


def _signer(options: argparse.Namespace) -> bytes | None:
    """Whom the signature must be by; ``None`` where nobody was named."""
    if options.shop is not None:
        from certgen.job.shop import fingerprints

        return "\n".join(fingerprints(options.shop)).encode()
    return None if options.signed_by is None else _trusted(options.signed_by)


def _trusted(given: str) -> bytes:
    """The bytes of a certificate, or the fingerprint of one as it was given."""
    if len(given.replace(":", "").replace(" ", "")) == _FINGERPRINT and not Path(given).exists():
        return given.encode()
    try:
        return read_given(Path(given), 1_000_000)
    except CertgenError as error:
        raise CertgenError(f"--signed-by {given}: {error}") from error


def _register(archive: Path, stack: ExitStack, *, only_read: bool = False) -> Answering:
    from certgen.archive.register.database import open_register
    from certgen.archive.register.search import Answering

    return Answering(stack.enter_context(closing(open_register(archive, make=False, only_read=only_read))), archive)


def _beside(page: Path, stack: ExitStack) -> Answering | None:
    """The register of the folder a file lies in, where there is one that can be read."""
    from certgen.archive.register.database import FILE_NAME

    try:
        return _register(page.parent, stack, only_read=True) if (page.parent / FILE_NAME).is_file() else None
    except (CertgenError, OSError):
        return None


def _one(file: Looked, register: Answering | None, *, beside: bool = False) -> Told:
    from certgen.archive.enclosures import extract
    from certgen.archive.reading import MOST_PDF
    from certgen.archive.seal import marked_as_draft, marked_as_tag
    from certgen.archive.signature import judged
    from certgen.archive.verify import enclosed_files, verify

    data = read_given(file.page, MOST_PDF)
    if marked_as_draft(data):
        return _draft(file)
    if marked_as_tag(data):
        return _tag(file, data, None if beside else register)

    def signatures(document: bytes) -> Fact:
        return judged(document, file.trusted)

    def make(job: Path, contents: Contents) -> MadeAgain:
        return _make(job, contents, file.shop)

    found = verify(data, make, signatures, register=register, beside=beside)
    lines = [_text(file, found)]
    if file.extract_to is not None:
        lines += map(str, extract(enclosed_files(data), file.extract_to))
    return Told("\n".join(lines), status=0 if found.good else 1, facts=_facts(file.page, found))


def _draft(file: Looked) -> Told:
    from certgen.issuing.layouts import spoken
    from certgen.messages.catalogue import Message, text_of
    from certgen.messages.format import SI, Units
    from certgen.results.serialization import as_tree
    from certgen.terminal.lines import on_one_line

    said = Message("terminal.verify.draft")
    facts = {"page": str(file.page), "good": False, "headline": as_tree(said), "facts": []}
    headline = Message("terminal.outcome", name=str(file.page), outcome=said)
    units = Units(SI, language=spoken(file.language or "en"))
    return Told(on_one_line(text_of(headline, units=units)), status=1, facts=facts)


def _tag(file: Looked, data: bytes, register: Answering | None) -> Told:
    from certgen.archive.tags import DrawnAs, verify_tag
    from certgen.issuing.tag import tag_again

    def draw(tag: DrawnAs) -> bytes:
        assert register is not None
        number, certificate = register.certificate(tag.digest)
        return tag_again(certificate, number, tag)

    found = verify_tag(data, None if register is None else draw, register=register)
    return Told(_text(file, found), status=0 if found.good else 1, facts=_facts(file.page, found))


def _make(job: Path, contents: Contents, shop: Path | None = None) -> MadeAgain:
    """The certificate of a job made by this program; figures without a page where its layout is not at hand."""
    from dataclasses import replace

    from certgen.archive.reissue_check import MadeAgain
    from certgen.issuing.certificate import draw_job
    from certgen.issuing.characters import lend_fonts
    from certgen.issuing.layouts import SheetOptions
    from certgen.messages.catalogue import Message
    from certgen.messages.languages import languages
    from certgen.pipeline import assess_job
    from certgen.results.serialization import as_json
    from certgen.sheet.engine.layout import find_layout

    asked = contents.sheet
    trouble: Message | str | None
    if shop is not None and "fonts" in asked:
        lend_fonts(job, asked["fonts"].split(), shop)
    known = {"paper": ("a4", "letter"), "units": ("si", "us", "both")}
    paper, units = (asked[name] if asked.get(name) in choices else None for name, choices in known.items())
    layout, language = asked.get("layout", ""), asked.get("language")
    try:
        own = language if language in languages() else None  # a language of the shop's own comes with the job
        options = SheetOptions(None if find_layout(layout) is None else layout, paper, units, own, "record" in asked)
        drawn = draw_job(job, options, number=contents.number)
        results, document, trouble = drawn.results, drawn.document, None
        if drawn.layout != layout:
            document, trouble = b"", Message("verify.page.no_layout", layout=layout[:60])
    except CertgenError as cause:
        results, document, trouble = assess_job(job).results, b"", str(cause)
        results = replace(results, certificate=replace(results.certificate, number=contents.number))
    made = results.traceability
    return MadeAgain(as_json(results).encode(), document, f"{made.program} {made.version}", trouble)


def _text(file: Looked, found: Verification) -> str:
    """The facts of one certificate, each on a line with a mark before it, details below."""
    from certgen.issuing.layouts import spoken
    from certgen.messages.catalogue import Message, text_of
    from certgen.messages.format import SI, Units
    from certgen.terminal.lines import on_one_line, verdict_words

    units = Units(SI, language=spoken(file.language or "en"))

    def said(key: str, **values: object) -> str:
        return text_of(Message(key, **values), units=units)

    page, outcome = str(file.page), found.headline
    if found.number:
        key = "terminal.verify.certificate" if found.verdict else "terminal.verify.tag"
        verdict = {"verdict": verdict_words(found.verdict, units)} if found.verdict else {}
        lines = [said(key, page=page, outcome=outcome, number=found.number, **verdict)]
    else:
        lines = [said("terminal.outcome", name=page, outcome=outcome)]
    marks = {state: said(f"terminal.verify.mark.{state}") for state in _MARKS}
    width = max(map(len, marks.values()))
    for fact in found.facts:
        mark = marks[fact.state.replace(" ", "_")]
        name = Message(f"verify.name.{fact.name.replace(' ', '_')}")
        shown = said("terminal.verify.fact", name=name, words=fact.words)
        lines.append(f"  {mark:>{width}}  {shown}")
        lines += [f"         {text_of(detail, units=units)}" for detail in fact.details]
    return "\n".join(on_one_line(line) for line in lines)
