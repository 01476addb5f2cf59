"""The tag of a motor: numbered as its certificate, written beside it, kept in no archive."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.archive.store import write_again
from certgen.archive.tags import DrawnAs, drawn_as
from certgen.document.source import digest
from certgen.errors import CertgenError, NoNumber, WrongPaper
from certgen.issuing.characters import in_fonts_of, require_showable, require_showable_page
from certgen.messages.catalogue import Message
from certgen.results.model import Results

if TYPE_CHECKING:
    from certgen.issuing.layouts import SheetOptions
    from certgen.job.load import LoadedJob
    from certgen.sheet.content import Digest
    from certgen.sheet.engine.layout import Layout


@dataclass(frozen=True)
class Certified:
    """The certificate in an archive that a tag belongs to."""

    number: str
    sha256: str


def certificate_of(inputs: Mapping[str, str], archive: Path) -> Certified:
    """The certificate that was issued from these files, each given with its SHA-256.

    Raises
    ------
    NoNumber
        The archive holds none.
    CertgenError
        There is no register, or another certificate stands in its place.
    """
    from certgen.archive.register.certificates import already_entered
    from certgen.archive.register.database import open_register
    from certgen.archive.register.entry import source_digest
    from certgen.archive.register.search import look_up

    with closing(open_register(archive, make=False)) as register:
        entered = already_entered(register, archive, source_digest(inputs))
        found = None if entered is None else look_up(register, entered.number, entered.revision)
    if found is None:
        raise NoNumber(
            f"{archive} holds no certificate issued from these files, and a tag takes its number from one; issue the "
            f"certificate first, with 'certgen issue JOB --archive {archive}' and without --sheet tag."
        )
    if found.replacement is not None:
        raise CertgenError(
            f"{archive}: the certificate {found.number} issued from these files is superseded by {found.replacement}; "
            f"make the tag of that one, from its job."
        )
    return Certified(found.number, found.pdf_sha256)


def digest_for(results: Results, certified: Certified | None) -> Digest:
    """What the tag's code names: the certificate's PDF where it is known, else the results as JSON."""
    from certgen.results.serialization import as_json
    from certgen.sheet.content import Digest

    if certified is not None:
        return Digest("pdf", certified.sha256)
    return Digest("results", digest(as_json(results).encode()))


#: The label for a job's paper, where it is not the usual one of the layout: common practice, no source.
_LABELS = {"letter": "4x6in"}


def label_for(layout: Layout, of_job: str, asked: str | None) -> str:
    """The paper of a tag: the one asked for, or the label that goes with the job's paper.

    Raises
    ------
    WrongPaper
        The layout is not made for the paper asked for.
    """
    papers = layout.papers
    if asked is not None:
        if asked not in papers:
            raise WrongPaper(f"--paper {asked}: a tag is not made for this paper; choose one of: {', '.join(papers)}.")
        return asked
    label = _LABELS.get(of_job, of_job)
    return label if label in papers else next(iter(papers))


def drawn_tag(
    results: Results, loaded: LoadedJob, asked: SheetOptions, digest: Digest
) -> tuple[bytes, tuple[str, ...]]:
    """The sealed tag of these results, and the titles of blocks it had no room for.

    Parameters
    ----------
    results : Results
        With the certificate's number.
    loaded : LoadedJob
        The job, for its logo and its choice of sheet.
    asked : SheetOptions
        What stands in place of the job's choice of layout, paper and units.
    digest : Digest
        What the tag's code names.
    """
    from certgen.archive.seal import sealed
    from certgen.issuing.layouts import layout_of
    from certgen.sheet.pdf.draw import about, compose, draw
    from certgen.sheet.pdf.logo import logo_of

    choice, layout = loaded.job.sheet, layout_of(loaded, asked.layout, asked.language)
    paper, units = label_for(layout, choice.paper, asked.paper), asked.units or choice.units
    require_showable(loaded)
    described = replace(
        about(results, layout),
        title=title_of(results.certificate.number or ""),
        verdict="",
        source=digest.sha256,
        drawn_as=drawn_as(Path(asked.layout or choice.layout).name, paper, units, asked.language or choice.language),
    )
    with in_fonts_of(loaded):
        page = compose(results, layout, paper=paper, units=units, logo=logo_of(loaded), digest=digest)
        require_showable_page(page)
        return sealed(draw(page, described)), page.left_out


def tag_again(certificate: bytes, number: str, named: DrawnAs) -> bytes:
    """The tag of a certificate, drawn again from the files the certificate carries.

    Raises
    ------
    CertgenError
        Its files give no results with this version, or the layout is not at hand.
    """
    import tempfile

    from certgen.archive.enclosures import CONTENTS, extract, read_contents
    from certgen.archive.verify import enclosed_files
    from certgen.issuing.layouts import SheetOptions
    from certgen.pipeline import assess_job
    from certgen.sheet.content import Digest
    from certgen.sheet.engine.layout import find_layout

    files = enclosed_files(certificate)
    contents = read_contents(files.get(CONTENTS, b""))
    if contents is None or find_layout(named.layout) is None:
        raise CertgenError(f"its layout '{named.layout[:60]}' is not at hand")
    with tempfile.TemporaryDirectory(prefix="certgen-") as folder:
        tree = Path(folder) / "tree"
        extract(files, tree)
        assessed = assess_job(tree / contents.job)
        of_tag = assessed.results.certificate
        results = replace(assessed.results, certificate=replace(of_tag, number=number))
        asked = SheetOptions(named.layout, named.paper, named.units, named.language)
        document, _ = drawn_tag(results, assessed.loaded, asked, Digest("pdf", named.digest))
    return document


def write_tag(document: bytes, results: Results, out: Path | None) -> tuple[Path, bool]:
    """Write a tag to a file, or into a folder under its number; returns the file, and whether it changed.

    A tag may be drawn again in its place, on another paper for example; nothing else is overwritten.

    Raises
    ------
    AlreadyIssued, CertgenError
        Another file stands in its place, or the folder cannot be written.
    """
    from certgen.archive.register.entry import certificate_file

    certificate = results.certificate
    assert certificate.number is not None
    path = out if out is not None else Path()
    if path.is_dir():
        name = certificate_file(certificate.number, certificate.revision).removesuffix(".pdf")
        path = path / f"{name}-tag.pdf"
    return path, write_again(path, document, title=title_of(certificate.number))


def title_of(number: str) -> str:
    """What the file of a tag is called in its own information."""
    return str(Message("document.tag", number=number))
