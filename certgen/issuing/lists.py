"""Many jobs, each brought to its verdict, as one summary; and the sheet of a summary."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from certgen import __version__
from certgen.archive.store import write_again
from certgen.document.source import Problems
from certgen.errors import CertgenError, InputError, Unexpected, visible
from certgen.issuing.characters import font_files, fonts_in, require_showable_page
from certgen.issuing.layouts import SheetOptions, layout_about, spoken
from certgen.issuing.workers import lost_at
from certgen.job.load import load_job
from certgen.messages.catalogue import Message
from certgen.results.model import Results
from certgen.streams import refusal

if TYPE_CHECKING:
    from certgen.archive.register.entry import Registered
    from certgen.archive.register.trend import Trend
    from certgen.sheet.list_content import FollowedMotor, NotListed, Summary, SummaryRow


#: The layout of a summary, and its file where none is named.
LAYOUT, FILE = "summary", "summary.pdf"
#: Longest list drawn: more is for a spreadsheet, not for paper.
MOST_ROWS = 2000
PROGRAM = f"certgen {__version__}"


def row_of(results: Results) -> SummaryRow:
    """One test as a row of the summary."""
    from certgen.archive.register.entry import headlines, set_value, shown_number
    from certgen.assessment.statement import headline_of, scope_in_brief
    from certgen.messages.format import MISSING
    from certgen.sheet.list_content import SummaryRow

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
        headline=headline_of(results.verdict),
        scope=scope_in_brief(results.verdict) or "",
        set_by=set_value(results),
    )


def motor_named(kind: str, *marks: str | None) -> str:
    """A motor in a few words: maker, model, serial number, description, and its kind."""
    return ", ".join([*(mark for mark in marks if mark), kind])


def awaits_test(job: Path) -> bool:
    """Whether a job is sound as far as it goes, and its load test is still to be made."""
    problems = Problems()
    loaded = load_job(job, problems, before_the_test=True)
    if loaded is None or problems.found:
        return False
    return getattr(loaded.job.readings, "load_test", None) is None  # before the test there may be no readings at all


#: Longest reason on a sheet.
_LONGEST_REASON = 200


def not_listed(job: Path, cause: CertgenError | None) -> NotListed:
    """A job that is missing from a list: it awaits its test where there is no cause, else it could not be judged."""
    from certgen.sheet.list_content import NotListed

    named = str(Path(job.parent.name) / job.name)
    if cause is None:
        return NotListed(named, Message("summary.awaits_test"), awaiting=True)
    if isinstance(cause, InputError) and cause.problems:
        first = cause.problems[0]
        reason = f"{first.what}; {first.instead}"
    else:
        reason = str(cause).partition("\n")[0]
    return NotListed(named, reason if len(reason) <= _LONGEST_REASON else f"{reason[:_LONGEST_REASON]} ..")


@dataclass(frozen=True)
class Listed:
    """What a summary has of one job: its row, or why it is missing. Only this is kept of a test, and travels."""

    job: Path
    row: SummaryRow | None = None
    shop: str = ""
    fonts: tuple[Path, ...] = ()
    missing: NotListed | None = None
    error: str = ""
    exit_code: int = 0
    details: str = ""


def listed(job: Path) -> Listed:
    """Judge one job for a summary; whatever goes wrong becomes what is listed of it, and the others go on."""
    from certgen.pipeline import assess_job

    try:
        assessed = assess_job(job)
        shop = assessed.results.certificate.shop
        return Listed(job, row_of(assessed.results), shop.name if shop else "", font_files(assessed.loaded))
    except CertgenError as error:
        if awaits_test(job):
            return Listed(job, missing=not_listed(job, None))
        return _missing(job, error)
    except OSError as cause:  # what the machine refuses is no fault of the program
        return _missing(job, CertgenError(refusal(cause)))
    except Exception as failure:  # a fault of the program's own must not stop the jobs of others
        return _missing(job, Unexpected(failure))


def lost(job: Path, how: str) -> Listed:
    """What is listed of a job whose worker was lost."""
    error = lost_at(job, how)
    return Listed(job, missing=not_listed(job, error), error=str(error), exit_code=error.exit_code)


def _missing(job: Path, error: CertgenError) -> Listed:
    text = str(error) if error.names_its_file else f"{visible(str(job))}: {error}"
    return Listed(
        job,
        missing=not_listed(job, error),
        error=text,
        exit_code=error.exit_code,
        details=getattr(error, "details", ""),
    )


def summary_of(tested: Iterable[Listed], *, order: str | None = None) -> Summary:
    """The summary of some tests, in their order or sorted; the shop stands on it where all that name one name the same."""
    from certgen.sheet.list_content import Summary

    found = list(tested)
    shops = {one.shop for one in found if one.shop}
    rows = [one.row for one in found if one.row is not None]
    return Summary(
        tuple(rows if order is None else sorted(rows, key=SORTED_BY[order])),
        shop=shops.pop() if len(shops) == 1 else "",
        not_listed=tuple(one.missing for one in found if one.missing is not None),
        program=PROGRAM,
    )


#: Outcomes in the order of a list sorted by verdict: what asks for work first.
_OUTCOMES = ("fail", "conditional fail", "no verdict", "conditional pass", "pass")


def _by_power(row: SummaryRow) -> tuple[bool, float]:
    return row.power is None, -(row.power or 0.0)


def _by_verdict(row: SummaryRow) -> int:
    return _OUTCOMES.index(row.verdict) if row.verdict in _OUTCOMES else len(_OUTCOMES)


#: What a list can be sorted by; what is equal keeps its order.
SORTED_BY: dict[str, Callable[[SummaryRow], Any]] = {
    "number": lambda row: row.number,
    "date": lambda row: row.tested_on,
    "motor": lambda row: row.motor.casefold(),
    "verdict": _by_verdict,
    "power": _by_power,
}


def write_summary(summary: Summary, out: Path | None, options: SheetOptions, fonts: Iterable[Path] = ()) -> Path:
    """Draw a summary and write it to a file, or into a folder; ``fonts`` are files of the shop's own.

    Raises
    ------
    InputError, CertgenError, PageOverflow
        There are too many rows, the layout is wrong or about something else, or another file stands in its place;
        nothing is written then.
    """
    from certgen.sheet.engine.layout import in_language
    from certgen.sheet.engine.page import units_of
    from certgen.sheet.engine.place import compose_content
    from certgen.sheet.engine.subjects import SUMMARY
    from certgen.sheet.list_content import SummaryContent
    from certgen.sheet.pdf.draw import draw
    from certgen.sheet.pdf.fonts import shown_with
    from certgen.sheet.pdf.metadata import About

    if len(summary.rows) > MOST_ROWS:
        raise CertgenError(
            f"a sheet lists at most {MOST_ROWS} motors, and these are more; ask for fewer, or take "
            "'certgen register export' for a spreadsheet."
        )
    layout = in_language(layout_about(SUMMARY, options.layout or LAYOUT), spoken(options.language or "en"))
    content = SummaryContent(summary, units_of(layout, options.units or "si"), layout.words)
    latest = max((date.fromisoformat(row.tested_on) for row in summary.rows), default=None)
    title = str(Message("document.summary"))
    with shown_with(fonts_in(fonts)):
        page = compose_content(content, layout, options.paper or "a4")
        require_showable_page(page)
        document = draw(page, About(title, summary.shop, summary.source, "", "", PROGRAM, latest))
    path = out if out is not None else Path()
    path = path / FILE if path.is_dir() else path
    write_again(path, document, title=title)
    return path


# What the register found, as sheets: certificates as a summary, repeated tests as a trend page.


#: The layout of a trend page.
TREND_LAYOUT = "trend"


def write_list(
    found: Iterable[Registered], out: Path, options: SheetOptions, *, source: str = "", fonts: Iterable[Path] = ()
) -> Path:
    """Certificates of the register as a summary, in a file or a folder.

    Raises
    ------
    InputError, CertgenError, PageOverflow
        As ``write_summary``.
    """
    from certgen.sheet.list_content import Summary

    return write_summary(Summary(tuple(map(_row, found)), source=source, program=PROGRAM), out, options, fonts)


def _row(one: Registered) -> SummaryRow:
    from certgen.archive.register.kept_words import headline_kept, scope_kept
    from certgen.sheet.list_content import SummaryRow

    return SummaryRow(
        number=one.shown_number,
        tested_on=one.tested_on,
        motor=motor_named(one.motor_type, one.maker, one.model, one.serial, one.description),
        verdict=one.verdict,
        power=one.power,
        torque=one.torque,
        speed=one.speed,
        current=one.current,
        voltage=one.voltage,
        efficiency=one.efficiency,
        replaced_by=one.replacement or "",
        headline=headline_kept(one.headline),
        scope=scope_kept(one.scope),
        set_by=one.set_by,
    )


def shop_of(followed: Trend, archive: Path) -> str:
    """The shop of the latest test, as its certificate in the archive names it; empty where it names none."""
    import json

    from certgen.archive.enclosures import RESULTS
    from certgen.archive.verify import enclosed_files

    try:
        files = enclosed_files((archive / followed.tests[-1].file).read_bytes())
        shop = json.loads(files[RESULTS])["certificate"]["shop"]
    except (CertgenError, OSError, ValueError, KeyError, TypeError):
        return ""  # the page does without; 'certgen verify' says what is wrong with the file
    return str(shop["name"]) if isinstance(shop, dict) and "name" in shop else ""


def write_trend(
    followed: Trend, out: Path, options: SheetOptions, *, shop: str = "", fonts: Iterable[Path] = ()
) -> Path:
    """Repeated tests of a motor as a trend page, in a file or a folder.

    Raises
    ------
    InputError, CertgenError, PageOverflow
        The layout is wrong or about something else, or another file stands in its place; nothing is written then.
    """
    from certgen.archive.store import file_name
    from certgen.sheet.engine.layout import in_language
    from certgen.sheet.engine.page import units_of
    from certgen.sheet.engine.place import compose_content
    from certgen.sheet.engine.subjects import TREND
    from certgen.sheet.list_content import TrendContent
    from certgen.sheet.pdf.draw import draw
    from certgen.sheet.pdf.fonts import shown_with
    from certgen.sheet.pdf.metadata import About

    layout = in_language(layout_about(TREND, options.layout or TREND_LAYOUT), spoken(options.language or "en"))
    followed_here = replace(followed_motor(followed), shop=shop)
    content = TrendContent(followed_here, units_of(layout, options.units or "si"), layout.words)
    title = str(Message("document.trend", quantity=followed.quantity, motor=followed.motor))
    latest = max(date.fromisoformat(test.tested_on) for test in followed.tests)
    with shown_with(fonts_in(fonts)):
        page = compose_content(content, layout, options.paper or "a4")
        require_showable_page(page)
        document = draw(page, About(title, shop, "", "", "", PROGRAM, latest))
    path = out / file_name(f"{followed.motor} {followed.quantity} trend") if out.is_dir() else out
    write_again(path, document, title=title)
    return path


def followed_motor(followed: Trend) -> FollowedMotor:
    """A trend of the register as the plain data of its page."""
    from certgen.physics.control_chart import LEAST_VALUES
    from certgen.sheet.list_content import FollowedMotor, TrendTest

    broken = followed.broken()
    tests = tuple(
        TrendTest(test.shown_number, test.tested_on, value, broken.get(index, ()))
        for index, (test, value) in enumerate(zip(followed.tests, followed.values, strict=True))
    )
    return FollowedMotor(
        motor=followed.motor,
        quantity=followed.quantity,
        tests=tests,
        limits=followed.limits,
        least_tests=LEAST_VALUES,
        without_value=tuple(number for number, _ in followed.without_value),
        load=followed.load,
        program=PROGRAM,
    )
