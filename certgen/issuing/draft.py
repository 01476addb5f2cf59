"""A draft: the page as it would be, marked across, without a number and with nothing inside; no certificate."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from certgen.errors import CertgenError
from certgen.issuing.characters import in_fonts_of, require_showable, require_showable_page
from certgen.issuing.layouts import SheetOptions, is_tag, layout_of, record_of
from certgen.pipeline import Assessed, assess_job
from certgen.results.model import Results


@dataclass(frozen=True)
class Draft:
    """A draft written, and the results it shows."""

    path: Path
    results: Results
    left_out: tuple[str, ...]  # titles of blocks the page had no room for
    language: str  # of the job: a tag, or the file it names


def write_draft(job: Path, out: Path | None, options: SheetOptions) -> Draft:
    """Bring one job to its verdict and write its page, marked as a draft; an earlier draft is replaced.

    Parameters
    ----------
    job : Path
        The job file.
    out : Path or None
        The PDF, or a folder for it; the current folder where it is left out.
    options : SheetOptions
        What overrides the job's own choice of sheet.

    Raises
    ------
    InputError, RefusedTest, PageOverflow, CertgenError
        As the rooms raise them; nothing is written then, nor where another file than a draft stands in its place.
    """
    return write_draft_of(assess_job(job), job, out, options)


def write_draft_of(assessed: Assessed, job: Path, out: Path | None, options: SheetOptions) -> Draft:
    """The same for a job that was judged."""
    from certgen.archive.seal import marked_as_draft
    from certgen.archive.store import file_name, write_whole

    path = out if out is not None else Path()
    if path.is_dir():
        named = job.resolve()
        path = path / file_name(f"{named.parent.name if named.stem == 'job' else named.stem}-draft")
    if path.is_file():
        with path.open("rb") as file:
            if not marked_as_draft(file.read(200)):
                raise CertgenError(f"{path}: this file is no draft and is left as it is; name another with --out.")
    document, left_out = drawn_draft(assessed, options)
    write_whole(path, document)
    return Draft(path, assessed.results, left_out, options.language or assessed.loaded.job.sheet.language)


def drawn_draft(assessed: Assessed, options: SheetOptions) -> tuple[bytes, tuple[str, ...]]:
    """The page of judged results as a draft, and the titles of blocks it had no room for."""
    from certgen.sheet.engine.layout import RECORD
    from certgen.sheet.pdf.draw import about, compose, draw
    from certgen.sheet.pdf.logo import logo_of

    loaded, choice = assessed.loaded, assessed.loaded.job.sheet
    require_showable(loaded, assessed.results)
    if is_tag(loaded, options.layout):
        raise CertgenError("a tag belongs to an issued certificate, so there is no draft of one; leave out --draft.")
    layout = layout_of(loaded, options.layout, options.language)
    record = None if layout.purpose == RECORD else record_of(loaded, options.record, options.language)
    results = replace(assessed.results, certificate=replace(assessed.results.certificate, number=None))
    across = layout.words("draft.across")
    described = about(results, layout)
    described = replace(described, title=f"{across}: {described.title}", number="", verdict="", draft=True)
    paper, units = options.paper or choice.paper, options.units or choice.units
    with in_fonts_of(loaded, layout):
        page = compose(
            results, layout, paper=paper, units=units, logo=logo_of(loaded), record=record, pictures=loaded.pictures
        )
        require_showable_page(page)
        return draw(page, described, across=across), page.left_out
