"""The certificate of a judged job: its page, with everything it was made from inside, sealed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from certgen.assessment.results import Results
from certgen.issuing.layouts import layout_of
from certgen.issuing.made_from import made_from
from certgen.issuing.options import SheetOptions
from certgen.pipeline import Assessed, assess_job


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
    source = made_from(results.traceability.inputs, assessed.loaded, options)
    document = sealed(draw(page, replace(about(results, layout), source=source), enclosed))
    return Drawn(results, document, sheet["layout"], page.left_out)
