"""Results and a layout in, the bytes of a one-page PDF out."""

from __future__ import annotations

from certgen.assessment.results import Results
from certgen.sheet.about import About
from certgen.sheet.draw import draw
from certgen.sheet.layout import Layout
from certgen.sheet.place import PlacedPage, compose

__all__ = ["PlacedPage", "about", "compose", "draw", "render"]


def render(results: Results, layout: Layout, *, paper: str, units: str) -> bytes:
    """The sheet as PDF: ``paper`` is a4 or letter, ``units`` si, us or both.

    Raises
    ------
    PageOverflow
        The content does not fit one page within the limits of the layout.
    """
    return draw(compose(results, layout, paper=paper, units=units), about(results, layout))


def about(results: Results, layout: Layout) -> About:
    """What the file says about itself: title with number, author, subject, verdict, program."""
    certificate, motor, made = results.certificate, results.motor, results.traceability
    kind = layout.blocks.heading.title or "Sheet"
    described = [part for part in (motor.maker, motor.model, motor.serial) if part]
    author = f"{certificate.tested_by}, {certificate.shop.name}" if certificate.shop else certificate.tested_by
    revision = f" revision {certificate.revision}" if certificate.revision > 1 else ""
    number = f"{certificate.number or ''}{revision}"
    return About(
        title=f"{kind} {number}".rstrip(),
        author=author,
        subject=", ".join([f"{motor.type} motor", *described]),
        number=number,
        verdict=results.verdict.outcome,
        program=f"{made.program} {made.version}",
        tested_on=certificate.tested_on,
    )
