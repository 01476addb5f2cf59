"""What the register found, as sheets: certificates as a summary, repeated tests as a trend page."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.archive.written_again import write_again
from certgen.issuing.layouts import layout_about
from certgen.issuing.options import SheetOptions
from certgen.issuing.summary import PROGRAM, motor_named, write_summary

if TYPE_CHECKING:
    from certgen.archive.register.search import Registered
    from certgen.archive.register.trend import Trend
    from certgen.sheet.summary_content import SummaryRow
    from certgen.sheet.trend_content import FollowedMotor

#: The layout of a trend page.
TREND_LAYOUT = "trend"


def write_list(found: Iterable[Registered], out: Path, options: SheetOptions, *, source: str = "") -> Path:
    """Certificates of the register as a summary, in a file or a folder.

    Raises
    ------
    InputError, CertgenError, PageOverflow
        As ``write_summary``.
    """
    from certgen.sheet.summary_content import Summary

    return write_summary(Summary(tuple(map(_row, found)), source=source, program=PROGRAM), out, options)


def _row(one: Registered) -> SummaryRow:
    from certgen.sheet.summary_content import SummaryRow

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
    )


def write_trend(followed: Trend, out: Path, options: SheetOptions) -> Path:
    """Repeated tests of a motor as a trend page, in a file or a folder.

    Raises
    ------
    InputError, CertgenError, PageOverflow
        The layout is wrong or about something else, or another file stands in its place; nothing is written then.
    """
    from certgen.archive.store import file_name
    from certgen.sheet.about import About
    from certgen.sheet.draw import draw
    from certgen.sheet.page import units_of
    from certgen.sheet.place import compose_content
    from certgen.sheet.subjects import TREND
    from certgen.sheet.trend_content import TrendContent

    layout = layout_about(TREND, options.layout or TREND_LAYOUT)
    content = TrendContent(followed_motor(followed), units_of(layout, options.units or "si"), layout.words)
    page = compose_content(content, layout, options.paper or "a4")
    title = f"Trend of {followed.quantity}, motor {followed.motor}"
    latest = max(date.fromisoformat(test.tested_on) for test in followed.tests)
    document = draw(page, About(title, "", "", "", "", PROGRAM, latest))
    path = out / file_name(f"{followed.motor} {followed.quantity} trend") if out.is_dir() else out
    write_again(path, document, title=title)
    return path


def followed_motor(followed: Trend) -> FollowedMotor:
    """A trend of the register as the plain data of its page."""
    from certgen.physics.control_chart import LEAST_VALUES
    from certgen.sheet.trend_content import FollowedMotor, TrendTest

    broken: dict[int, tuple[str, ...]] = {}
    for signal in followed.signals:
        broken[signal.at] = (*broken.get(signal.at, ()), signal.rule)
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
        without_value=followed.without_value,
        program=PROGRAM,
    )
