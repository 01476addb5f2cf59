"""One job issued: brought to its verdict, drawn, and written to a file or entered into an archive."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, replace
from html import unescape
from pathlib import Path

from certgen import __version__
from certgen.document.source import digest
from certgen.errors import CertgenError, NoNumber
from certgen.issuing.characters import fonts_of, in_fonts_of, require_showable, require_showable_page
from certgen.issuing.layouts import SheetOptions, is_tag, layout_of, record_of
from certgen.job.load import LoadedJob
from certgen.pipeline import Assessed, ReadJob, assess_job, assess_read, read_job
from certgen.results.model import Results

# What a certificate was made from, as one digest: a file that carries the same need not be made again.


_STATED = re.compile(rb"<dc:source>([0-9a-f]{64})</dc:source>")
_VERDICT = re.compile(rb"<pdf:Keywords>certificate [^<]*, verdict: ([^<]*)</pdf:Keywords>")
#: A page with all that is enclosed; whatever is larger is no certificate of this size.
_MOST_BYTES = 300_000_000


def made_from(inputs: Mapping[str, str], loaded: LoadedJob, options: SheetOptions) -> str:
    """SHA-256 over everything that makes the bytes of a certificate, its number apart.

    Parameters
    ----------
    inputs : mapping
        Every file it is made from, as the job names it -> SHA-256.
    loaded : LoadedJob
        The job, for its choice of sheet.
    options : SheetOptions
        What stands in place of that choice.

    Returns
    -------
    str
        Hexadecimal digits.
    """
    from certgen.sheet.pdf.logo import logo_of

    choice = loaded.job.sheet
    parts = [
        __version__,
        sorted(inputs.items()),
        Path(options.layout or choice.layout).name,
        repr(layout := layout_of(loaded, options.layout, options.language)),
        sorted(layout.spoken.sentences.items()) if layout.spoken.tag != "en" else "",
        repr(record_of(loaded, options.record, options.language)),
        repr(logo_of(loaded)),
        options.paper or choice.paper,
        options.units or choice.units,
        [font.sha256 for font in fonts_of(loaded)],
    ]
    return digest(json.dumps(parts, ensure_ascii=False).encode())


def issued_from(path: Path, source: Callable[[], str]) -> str | None:
    """The verdict of a certificate that stands there, whole, and was made from the same; ``None`` where none does.

    ``source`` gives what :func:`made_from` gives, and is asked only where there is a certificate to compare.
    """
    from certgen.archive.seal import read_seal

    try:
        if not path.is_file() or path.stat().st_size > _MOST_BYTES:
            return None
        data = path.read_bytes()
    except OSError:
        return None
    stated, verdict = _STATED.search(data), _VERDICT.search(data)
    if stated is None or verdict is None or stated[1].decode() != source():
        return None
    seal = read_seal(data)
    return unescape(verdict[1].decode("utf-8", "replace")) if seal is not None and seal.whole else None


# The certificate of a judged job: its page, with everything it was made from inside, sealed.


def numbered(results: Results, number: str) -> Results:
    """The same results under a certificate number."""
    return replace(results, certificate=replace(results.certificate, number=number))


@dataclass(frozen=True)
class Drawn:
    """The bytes of a sheet, the results it shows, its layout, and the titles of blocks it had no room for."""

    results: Results
    document: bytes
    layout: str
    left_out: tuple[str, ...]


def draw_job(path: Path, options: SheetOptions, *, number: str | None = None) -> Drawn:
    """One job's sheet as it would be written; ``number`` is for a job that states none.

    Raises
    ------
    InputError, RefusedTest, PageOverflow, CertgenError
        As the rooms raise them.
    """
    assessed = assess_job(path)
    if assessed.results.certificate.number is None and number is not None:
        assessed = replace(assessed, results=numbered(assessed.results, number))
    return draw_assessed(assessed, options)


def draw_assessed(assessed: Assessed, options: SheetOptions) -> Drawn:
    """The page with all it was made from inside, sealed."""
    from certgen.archive.enclosures import enclosures, inputs_of
    from certgen.archive.seal import sealed
    from certgen.results.serialization import as_json
    from certgen.sheet.engine.layout import RECORD
    from certgen.sheet.pdf.draw import about, compose, draw
    from certgen.sheet.pdf.logo import logo_of

    results, loaded, choice = assessed.results, assessed.loaded, assessed.loaded.job.sheet
    require_showable(loaded, results)
    layout = layout_of(loaded, options.layout, options.language)
    paper, units = options.paper or choice.paper, options.units or choice.units
    record = None if layout.purpose == RECORD else record_of(loaded, options.record, options.language)
    logo, own_fonts = logo_of(loaded), fonts_of(loaded)  # read first: what was read is enclosed
    sheet = {"layout": Path(options.layout or choice.layout).name, "paper": paper, "units": units}
    if record is not None:
        sheet["record"] = "true"
    if options.language or choice.language != "en":
        sheet["language"] = Path(options.language or choice.language).name
    if own_fonts:
        sheet["fonts"] = " ".join(font.sha256 for font in own_fonts)
    enclosed = enclosures(results, as_json(results).encode(), inputs_of(loaded, assessed.files, options.layout), sheet)
    source = made_from(results.traceability.inputs, loaded, options)
    with in_fonts_of(loaded, layout):
        page = compose(results, layout, paper=paper, units=units, logo=logo, record=record, pictures=loaded.pictures)
        require_showable_page(page)
        document = sealed(draw(page, replace(about(results, layout), source=source), enclosed))
    return Drawn(results, document, sheet["layout"], page.left_out)


# One job issued: brought to its verdict, drawn, and written to a file or entered into an archive.


_NO_NUMBER = (
    "the job has no certificate.number; write one, or let the register of an archive give the next with --archive."
)


@dataclass(frozen=True)
class Issued:
    """One certificate written."""

    path: Path
    number: str
    verdict: str
    new: bool
    left_out: tuple[str, ...] = ()  # titles of blocks the page had no room for
    language: str = ""  # of the job: a tag, or the file it names
    results: Results | None = None  # None where the very same files were issued before, and are not judged again


def issue_job(
    path: Path, *, out: Path | None, results_path: Path | None, options: SheetOptions, archive: Path | None = None
) -> Issued:
    """Bring one job to its verdict, draw the page and write it.

    Parameters
    ----------
    path : Path
        The job file.
    out : Path or None
        The PDF, or a folder for it; the current folder where it is left out.
    results_path : Path or None
        Where the results are written as JSON, if anywhere: a file, or a folder for it.
    options : SheetOptions
        What overrides the job's own choice of sheet.
    archive : Path or None
        The folder whose register gives the number and keeps the certificate, instead of ``out``; where both are left
        out, the one of the job's shop file. The number of a tag, which goes to ``out``, is that of the certificate
        issued there.

    Raises
    ------
    InputError, RefusedTest, PageOverflow, AlreadyIssued, CertgenError
        As the rooms raise them; nothing is written then.
    """
    read = read_job(path)
    tag = is_tag(read.loaded, options.layout)
    if archive is None and (out is None or tag):
        archive = _usual_archive(read.loaded)
    if tag:
        issued = _tagged(read, out, options, archive)
    elif archive is not None and out is not None:
        raise CertgenError("--out beside --archive is for tags; a certificate goes to one of the two.")
    else:
        issued = _certified(read, out, options, archive)
    if results_path is not None:
        results = issued.results or numbered(assess_read(read).results, issued.number)
        _write_results(results, results_path)
    return replace(issued, language=_language_named(read.loaded))


def _language_named(loaded: LoadedJob) -> str:
    """The language a job asks for: the tag of a shipped one, or the file of the shop's own."""
    from certgen.messages.languages import languages

    name = loaded.job.sheet.language
    return name if name in languages() else str(loaded.reader.folder / name)


def _usual_archive(loaded: LoadedJob) -> Path | None:
    """The archive of the shop file, made where it is not there yet; ``None`` where no shop file names one."""
    from certgen.archive.store import failure_reported

    archive = None if loaded.shop is None else loaded.shop.archive
    if archive is not None:
        with failure_reported(archive):
            archive.mkdir(parents=True, exist_ok=True)
    return archive


def _tagged(read: ReadJob, out: Path | None, options: SheetOptions, archive: Path | None) -> Issued:
    """The tag with the number of the certificate in the archive, or of the job."""
    from certgen.issuing.tag import certificate_of, digest_for, drawn_tag, write_tag

    certified = None if archive is None else certificate_of(read.inputs, archive)
    assessed = assess_read(read)
    results = assessed.results
    number = certified.number if certified else results.certificate.number
    if number is None:
        raise NoNumber(_NO_NUMBER)
    results = numbered(results, number)
    document, left_out = drawn_tag(results, assessed.loaded, options, digest_for(results, certified))
    path, new = write_tag(document, results, out)
    return Issued(path, number, results.verdict.outcome, new, left_out, results=results)


def _certified(read: ReadJob, out: Path | None, options: SheetOptions, archive: Path | None) -> Issued:
    from certgen.sheet.engine.layout import RECORD

    alone = layout_of(read.test.loaded, options.layout).purpose == RECORD
    if archive is None:
        return _written(read, out, options, "-record" if alone else "")
    if alone:
        raise CertgenError("an archive keeps certificates; put the record behind one with --record.")
    return _entered(read, archive, options)


def _written(read: ReadJob, out: Path | None, options: SheetOptions, kind: str) -> Issued:
    """The certificate as a file: the one that stands there if it was made from the very same, or a new one."""
    from certgen.archive.register.entry import certificate_file
    from certgen.archive.store import issue_once

    certificate = read.loaded.job.certificate
    if certificate.number is None:
        raise NoNumber(_NO_NUMBER)
    target = out if out is not None else Path()
    if target.is_dir():
        name = certificate_file(certificate.number, certificate.revision)
        target = target / f"{name.removesuffix('.pdf')}{kind}.pdf"
    verdict = issued_from(target, lambda: made_from(read.inputs, read.loaded, options))
    if verdict is not None:
        return Issued(target, certificate.number, verdict, new=False)
    drawn = draw_assessed(assess_read(read), options)
    return _issued(drawn.results, target, issue_once(target, drawn.document), drawn)


def _entered(read: ReadJob, archive: Path, options: SheetOptions) -> Issued:
    """The certificate in the archive: the one made from these very files before, or a new one."""
    from certgen.archive.register.certificates import already_entered, enter, number_being_entered
    from certgen.archive.register.database import open_register
    from certgen.archive.register.entry import entry_of, source_digest

    source = source_digest(read.inputs)
    with closing(open_register(archive, make=True)) as register:
        before = already_entered(register, archive, source)
        if before is not None:
            return Issued(before.path, before.number, before.verdict, new=False)
        assessed = assess_read(read)
        certificate = assessed.results.certificate
        units = options.units or assessed.loaded.job.sheet.units
        stated = certificate.number or number_being_entered(register, source)
        if stated is None:
            _use_pattern_of(read, register)
        with _number(register, archive, stated, certificate.tested_on.year) as number:
            drawn = draw_assessed(replace(assessed, results=numbered(assessed.results, number)), options)
            entry = entry_of(drawn.results, source, units)
            entered = enter(register, archive, entry, drawn.document, drawn.results.traceability.inputs)
    return _issued(numbered(drawn.results, entered.number), entered.path, entered.new, drawn)


def _use_pattern_of(read: ReadJob, register: sqlite3.Connection) -> None:
    """Let a register without a pattern give numbers by that of the shop file; one it has stays."""
    from certgen.archive.register.numbers import pattern_of, read_pattern, set_pattern

    shop = read.loaded.shop
    if shop is not None and shop.file.numbers is not None and pattern_of(register) is None:
        set_pattern(register, read_pattern(shop.file.numbers))


@contextmanager
def _number(register: sqlite3.Connection, archive: Path, stated: str | None, year: int) -> Iterator[str]:
    """The number stated, or the register's next, which is not used up where the certificate cannot be written."""
    from certgen.archive.register.numbers import give_back, next_number

    if stated is not None:
        yield stated
        return
    number = next_number(register, archive, year)
    try:
        yield number
    except BaseException:
        with suppress(sqlite3.Error):
            give_back(register, number)
        raise


def _issued(results: Results, path: Path, new: bool, drawn: Drawn) -> Issued:
    assert results.certificate.number is not None
    return Issued(path, results.certificate.number, results.verdict.outcome, new, drawn.left_out, results=results)


def _write_results(results: Results, path: Path) -> None:
    from certgen.archive.store import file_name, write_whole
    from certgen.results.serialization import as_json

    if path.is_dir():
        path = path / file_name(results.certificate.number or "certificate", ".json")
    write_whole(path, as_json(results).encode())
