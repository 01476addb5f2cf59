"""The six rooms in order: job, readings, reduction, assessment, sheet, archive."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from certgen.assessment.assess import assess
from certgen.assessment.comparisons import before_and_after
from certgen.assessment.results import Results
from certgen.document.build import Reader
from certgen.document.source import Problems, decode, read_bounded
from certgen.errors import CertgenError, InputError, NoNumber, RefusedTest
from certgen.job.earlier import load_earlier, named_from
from certgen.job.load import LoadedJob, digest, load_job
from certgen.named_layouts import is_tag, layout_of, named_file
from certgen.readings.model import Readings
from certgen.readings.read import read_readings
from certgen.reduction.reduce import reduce_test
from certgen.reduction.sweep_log import points_of_sweep
from certgen.standards.criteria import DEFAULT, SHIPPED, CriteriaSet, read_criteria, shipped_criteria

_NO_NUMBER = (
    "the job has no certificate.number; write one, or let the register of an archive give the next with --archive."
)


@dataclass(frozen=True)
class Assessed:
    """One job brought up to its verdict; ``files`` are the bytes it was made from, by their names in messages."""

    loaded: LoadedJob
    results: Results
    files: Mapping[str, bytes]


@dataclass(frozen=True)
class SheetOptions:
    """What the command line says of the sheet; ``None`` leaves the job's own choice."""

    layout: str | None = None
    paper: str | None = None
    units: str | None = None


@dataclass(frozen=True)
class Issued:
    """One certificate written."""

    path: Path
    number: str
    verdict: str
    new: bool
    left_out: tuple[str, ...] = ()  # titles of blocks the page had no room for
    results: Results | None = None  # None where the very same files were issued before, and are not judged again


def assess_job(path: Path) -> Assessed:
    """Read, reduce and judge one job.

    Raises
    ------
    InputError
        Every mistake found in the job, its rig, its readings and its criteria.
    RefusedTest
        The readings as a whole are physically impossible.
    """
    return _assessed(_read_job(path))


@dataclass(frozen=True)
class _Test:
    """One job with its tables and criteria, ready to be reduced."""

    loaded: LoadedJob
    readings: Readings
    criteria: CriteriaSet
    inputs: dict[str, str]


@dataclass(frozen=True)
class _ReadJob:
    """A job with everything it names, and the earlier test it is held against."""

    test: _Test
    earlier: _Test | None

    @property
    def inputs(self) -> dict[str, str]:
        """Every file the certificate is made from, named from the job, with its SHA-256."""
        if self.earlier is None:
            return self.test.inputs
        return {**self.test.inputs, **named_from(self.test.loaded, self.earlier.inputs)}


def _read_job(path: Path) -> _ReadJob:
    problems = Problems()
    loaded = load_job(path, problems)
    test = None if loaded is None else _read(loaded)
    earlier = None if loaded is None else load_earlier(loaded, path.name)
    earlier_test = None if earlier is None else _read(earlier)
    if problems.found:
        raise InputError(problems.found)
    if loaded is None or test is None:
        raise AssertionError(f"{path}: unusable, yet no mistake was kept")
    return _ReadJob(test, earlier_test)


def _assessed(read: _ReadJob) -> Assessed:
    results = _judged(read.test)
    if read.earlier is not None:
        results = _compared(results, read)
    return Assessed(read.test.loaded, results, dict(read.test.loaded.reader.problems.read))


def _read(loaded: LoadedJob) -> _Test | None:
    """Tables and criteria of a loaded job; ``None`` where a mistake was kept."""
    readings, found = read_readings(loaded), _criteria(loaded)
    if readings is None or found is None:
        return None
    criteria, criteria_digest = found
    return _Test(loaded, readings, criteria, {**loaded.inputs, **readings.inputs, **criteria_digest})


def _judged(test: _Test) -> Results:
    loaded = test.loaded
    readings = points_of_sweep(loaded.job, loaded.rig, test.readings)
    return assess(
        loaded.job,
        loaded.rig,
        readings,
        reduce_test(loaded.job, loaded.rig, readings),
        criteria=test.criteria,
        not_evaluated=loaded.not_evaluated,
        inputs=test.inputs,
    )


def _compared(results: Results, read: _ReadJob) -> Results:
    """The results held against those of the earlier test of the motor, whose files are traced too."""
    assert read.earlier is not None
    try:
        before = _judged(read.earlier)
    except RefusedTest as cause:
        raise RefusedTest(f"{read.earlier.loaded.reader.shown}: {cause}") from cause
    return replace(
        results,
        comparisons=(*results.comparisons, before_and_after(before, results)),
        traceability=replace(results.traceability, inputs=read.inputs),
    )


def _criteria(loaded: LoadedJob) -> tuple[CriteriaSet, dict[str, str]] | None:
    name = loaded.job.criteria or DEFAULT
    if name in SHIPPED:
        return shipped_criteria(name), {}
    found = named_file(name, "criteria", SHIPPED, loaded)
    if found is None:
        return None
    path, shown = found
    problems = loaded.reader.problems
    data = read_bounded(path, shown, problems)
    text = None if data is None else decode(data, shown, problems)
    if data is None or text is None:
        return None
    criteria = read_criteria(text, Reader(shown, path.parent, problems))
    return None if criteria is None else (criteria, {name: digest(data)})


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
        The folder whose register gives the number and keeps the certificate, instead of ``out``; the number of a
        tag, which goes to ``out``, is that of the certificate issued there.

    Raises
    ------
    InputError, RefusedTest, PageOverflow, AlreadyIssued, CertgenError
        As the rooms raise them; nothing is written then.
    """
    read = _read_job(path)
    if is_tag(read.test.loaded, options.layout):
        issued = _tagged(read, out, options, archive)
    elif archive is not None and out is not None:
        raise CertgenError("--out beside --archive is for tags; a certificate goes to one of the two.")
    else:
        issued = _certified(read, out, options, archive)
    if results_path is not None:
        results = issued.results or _numbered(_assessed(read).results, issued.number)
        _write_results(results, results_path)
    return issued


def _tagged(read: _ReadJob, out: Path | None, options: SheetOptions, archive: Path | None) -> Issued:
    """The tag with the number of the certificate in the archive, or of the job."""
    from certgen.sheet.draw import draw
    from certgen.sheet.logo import logo_of
    from certgen.sheet.render import about, compose
    from certgen.tag_of_job import certificate_of, digest_for, title_of, write_tag

    certified = None if archive is None else certificate_of(read.inputs, archive)
    assessed = _assessed(read)
    results, choice = assessed.results, assessed.loaded.job.sheet
    number = certified.number if certified else results.certificate.number
    if number is None:
        raise NoNumber(_NO_NUMBER)
    results = _numbered(results, number)
    layout = layout_of(assessed.loaded, options.layout)
    digest, logo = digest_for(results, certified), logo_of(assessed.loaded)
    paper, units = options.paper or choice.paper, options.units or choice.units
    page = compose(results, layout, paper=paper, units=units, logo=logo, digest=digest)
    document = draw(page, replace(about(results, layout), title=title_of(number), verdict=""))
    path, new = write_tag(document, results, out)
    return Issued(path, number, results.verdict.outcome, new, page.left_out, results)


def _certified(read: _ReadJob, out: Path | None, options: SheetOptions, archive: Path | None) -> Issued:
    return _written(_assessed(read), out, options) if archive is None else _entered(read, archive, options)


def _written(assessed: Assessed, out: Path | None, options: SheetOptions) -> Issued:
    from certgen.archive.register.entry import certificate_file
    from certgen.archive.store import issue_once

    certificate = assessed.results.certificate
    if certificate.number is None:
        raise NoNumber(_NO_NUMBER)
    drawn = _drawn(assessed, options)
    target = out if out is not None else Path()
    if target.is_dir():
        target = target / certificate_file(certificate.number, certificate.revision)
    return _issued(assessed.results, target, issue_once(target, drawn.document), drawn)


def _entered(read: _ReadJob, archive: Path, options: SheetOptions) -> Issued:
    """The certificate in the archive: the one made from these very files before, or a new one."""
    from certgen.archive.register.database import open_register
    from certgen.archive.register.entry import entry_of, source_digest
    from certgen.archive.register.issuing import already_entered, enter
    from certgen.archive.register.numbers import next_number

    source = source_digest(read.inputs)
    with closing(open_register(archive, make=True)) as register:
        before = already_entered(register, archive, source)
        if before is not None:
            return Issued(before.path, before.number, before.verdict, new=False)
        assessed = _assessed(read)
        certificate = assessed.results.certificate
        number = certificate.number or next_number(register, archive, certificate.tested_on.year)
        numbered = replace(assessed, results=_numbered(assessed.results, number))
        drawn = _drawn(numbered, options)
        entered = enter(register, archive, entry_of(numbered.results, source), drawn.document)
    return _issued(_numbered(numbered.results, entered.number), entered.path, entered.new, drawn)


def _issued(results: Results, path: Path, new: bool, drawn: Drawn) -> Issued:
    assert results.certificate.number is not None
    return Issued(path, results.certificate.number, results.verdict.outcome, new, drawn.left_out, results)


def _numbered(results: Results, number: str) -> Results:
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
        assessed = replace(assessed, results=_numbered(assessed.results, number))
    return _drawn(assessed, options)


def _drawn(assessed: Assessed, options: SheetOptions) -> Drawn:
    """The page with all it was made from inside, sealed."""
    from certgen.archive.enclosures import enclosures, inputs_of
    from certgen.archive.seal import sealed
    from certgen.assessment.tree import as_json
    from certgen.sheet.logo import logo_of
    from certgen.sheet.render import about, compose, draw

    results, choice = assessed.results, assessed.loaded.job.sheet
    layout = layout_of(assessed.loaded, options.layout)
    paper, units = options.paper or choice.paper, options.units or choice.units
    page = compose(results, layout, paper=paper, units=units, logo=logo_of(assessed.loaded))
    sheet = {"layout": Path(options.layout or choice.layout).name, "paper": paper, "units": units}
    enclosed = enclosures(
        results, as_json(results).encode(), inputs_of(assessed.loaded, assessed.files, options.layout), sheet
    )
    document = sealed(draw(page, about(results, layout), enclosed))
    return Drawn(results, document, sheet["layout"], page.left_out)


def _write_results(results: Results, path: Path) -> None:
    from certgen.archive.store import file_name, write_whole
    from certgen.assessment.tree import as_json

    if path.is_dir():
        path = path / file_name(results.certificate.number or "certificate", ".json")
    write_whole(path, as_json(results).encode())
