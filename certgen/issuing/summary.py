"""Many jobs, each brought to its verdict, as one summary; and the sheet of a summary."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from certgen import __version__
from certgen.archive.written_again import write_again
from certgen.assessment.results import Results
from certgen.errors import CertgenError
from certgen.issuing.layouts import layout_about
from certgen.issuing.options import SheetOptions

if TYPE_CHECKING:
    from certgen.sheet.summary_content import Summary, SummaryRow

#: The layout of a summary, its file where none is named, and what a reader of the file is told that it is.
LAYOUT, FILE, TITLE = "summary", "summary.pdf", "Summary of motors tested"
#: Longest list drawn: more is for a spreadsheet, not for paper.
MOST_ROWS = 2000
PROGRAM = f"certgen {__version__}"


def row_of(results: Results) -> SummaryRow:
    """One test as a row of the summary."""
    from certgen.archive.register.entry import headlines
    from certgen.archive.register.search import shown_number
    from certgen.sheet.figures import MISSING
    from certgen.sheet.summary_content import SummaryRow

    certificate, motor = results.certificate, results.motor
    number = MISSING if certificate.number is None else shown_number(certificate.number, certificate.revision)
    values = headlines(results)
    return SummaryRow(
        number=number,
        tested_on=certificate.tested_on.isoformat(),
        motor=motor_named(motor.type, motor.maker, motor.model, motor.serial, motor.description),
        verdict=results.verdict.outcome,
        power=values["power"],
        torque=values["torque"],
        speed=values["speed"],
        current=values["current"],
        voltage=values["voltage"],
        efficiency=values["efficiency"],
    )


def motor_named(kind: str, *marks: str | None) -> str:
    """A motor in a few words: maker, model, serial number, description, and its kind."""
    return ", ".join([*(mark for mark in marks if mark), kind])


def summary_of(tested: Iterable[Results], *, unjudged: int = 0) -> Summary:
    """The summary of some tests, in their order; the shop stands on it where all have the same."""
    from certgen.sheet.summary_content import Summary

    listed = list(tested)
    shops = {one.certificate.shop.name if one.certificate.shop else "" for one in listed}
    shop = shops.pop() if len(shops) == 1 else ""
    return Summary(tuple(map(row_of, listed)), shop=shop, unjudged=unjudged, program=PROGRAM)


def write_summary(summary: Summary, out: Path | None, options: SheetOptions) -> Path:
    """Draw a summary and write it to a file, or into a folder.

    Raises
    ------
    InputError, CertgenError, PageOverflow
        There are too many rows, the layout is wrong or about something else, or another file stands in its place;
        nothing is written then.
    """
    from certgen.sheet.about import About
    from certgen.sheet.draw import draw
    from certgen.sheet.page import units_of
    from certgen.sheet.place import compose_content
    from certgen.sheet.subjects import SUMMARY
    from certgen.sheet.summary_content import SummaryContent

    if len(summary.rows) > MOST_ROWS:
        raise CertgenError(
            f"a sheet lists at most {MOST_ROWS} motors, these are {len(summary.rows)}; ask for fewer, or take "
            "'certgen register export' for a spreadsheet."
        )
    layout = layout_about(SUMMARY, options.layout or LAYOUT)
    content = SummaryContent(summary, units_of(layout, options.units or "si"), layout.words)
    page = compose_content(content, layout, options.paper or "a4")
    latest = max((date.fromisoformat(row.tested_on) for row in summary.rows), default=None)
    document = draw(page, About(TITLE, summary.shop, summary.source, "", "", PROGRAM, latest))
    path = out if out is not None else Path()
    path = path / FILE if path.is_dir() else path
    write_again(path, document, title=TITLE)
    return path
