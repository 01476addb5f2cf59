"""Thirty tests as odd as they come: few points and many, everything measured, the longest texts, each verdict, each kind."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sheet.geometry import assert_sound
from sheet.results_factory import CAUTIONS, make_results, with_uncertainties
from sheet.wider_results import with_everything

from certgen.job.model import DC, MOTOR_TYPES, Nameplate, Shop
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.results.model import Caution, Characteristic, Results, ScopeItem, Verdict
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import PlacedPage, compose
from certgen.sheet.engine.setting import MM, TextMark

pytestmark = pytest.mark.slow

SCOPE = ("nameplate", "insulation", "winding_temperature", "service_factor", "starting")
STATES = ("met", "failed", "reached", "not declared", "not tested")
HEADLINES = {
    "pass": Message("headline.pass"),
    "conditional pass": Message("headline.conditional_pass"),
    "conditional fail": Message("headline.conditional_fail"),
    "fail": Message("headline.fail"),
    "no verdict": Message("headline.no_verdict"),
}
BAN = Caution("insulation", "Do not energise this motor: its winding touches the frame.", "0.1 MΩ", 3, True)
LONG = "Zerlegbar-verstellbarer Sonderantrieb mit außergewöhnlich langer Bezeichnung"


def judged(outcome: str) -> Results:
    """A usual test with one of the verdicts, and every state of its scope."""
    scope = tuple(ScopeItem(name, state) for name, state in zip(SCOPE, STATES, strict=True))
    verdict = Verdict(outcome, ("A reason that the verdict rests on.",), headline=HEADLINES[outcome], scope=scope)
    return replace(with_uncertainties(make_results(8)), verdict=verdict)


def of_kind(kind: str) -> Results:
    """A usual test of one kind of motor."""
    results = with_uncertainties(make_results(8))
    return replace(results, motor=replace(results.motor, type=kind))


def with_long_texts(results: Results) -> Results:
    """Every text of a job as long as its key allows, or nearly so."""
    shop = Shop(
        "S" * 40 + " " + "T" * 39, tuple("Halle 12, " + LONG[:60] for _ in range(3)), "c" * 40 + "@bench.example"
    )
    certificate = replace(
        results.certificate, number="NUMBER-" + "9" * 40, tested_by="Q" * 40, issued_to=LONG + LONG, shop=shop,
        remarks=("remark " * 140).strip(), function="f" * 60, deviations=("departed " * 110).strip(), place=LONG * 2,
    )  # fmt: skip
    motor = replace(
        results.motor, description=(LONG + ", ") * 2, maker=LONG, model=LONG, serial="8" * 80, condition=LONG
    )
    return replace(results, certificate=certificate, motor=motor)


EXTREME: dict[str, Results] = {
    **{f"{count} points": with_uncertainties(make_results(count)) for count in (1, 2, 3, 12, 60)},
    **{f"{count} rich points": make_results(count, rich=True) for count in (1, 3, 60)},
    **{f"{count} flagged points": make_results(count, flagged=True) for count in (3, 60)},
    **{f"everything, {count} points": with_everything(make_results(count, rich=True)) for count in (3, 12, 60)},
    **dict(zip(HEADLINES, map(judged, HEADLINES), strict=True)),
    **dict(zip(MOTOR_TYPES, map(of_kind, MOTOR_TYPES), strict=True)),
    "longest texts": with_long_texts(with_uncertainties(make_results(8))),
    "longest texts, everything": with_long_texts(with_everything(make_results(12, rich=True))),
    "banned": replace(judged("fail"), cautions=(BAN, *CAUTIONS)),
    "many cautions": replace(
        judged("fail"), cautions=tuple(replace(BAN, id=f"c{index}", do_not_energise=False) for index in range(9))
    ),
    "no cautions": replace(judged("pass"), cautions=()),
    "no plate": replace(judged("no verdict"), nameplate=Nameplate(), findings=()),
    "no points": replace(make_results(1), points=(), at_rated_current=None, at_rated_power=None),
    "nothing but a verdict": replace(
        make_results(1), points=(), findings=(), cautions=(), nameplate=Nameplate(), characteristic=Characteristic()
    ),
    "large": replace(of_kind(DC), nameplate=Nameplate(power=2.2e6, voltage=690.0, current=2200.0, speed=62.8)),
    "small": replace(
        of_kind(DC), nameplate=Nameplate(power=0.4, voltage=6.0, current=0.12, speed=1200.0),
        points=tuple(replace(point, torque=Quantity(3.2e-4, "N*m")) for point in make_results(3).points),
    ),
}  # fmt: skip


def texts_of(page: PlacedPage) -> list[TextMark]:
    return [mark for box in page.boxes for mark in box.setting.marks if isinstance(mark, TextMark)]


def test_there_are_thirty() -> None:
    assert len(EXTREME) >= 30


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", EXTREME)
def test_a_certificate_holds_on_one_page(certificate_layout: Layout, name: str, paper: str) -> None:
    results = EXTREME[name]
    for units in ("si", "both"):
        page = compose(results, certificate_layout, paper=paper, units=units)
        assert_sound(page, certificate_layout)
        assert min(mark.size for mark in texts_of(page)) >= 8.0 - 1e-9
        boxes = {box.name: box for box in page.boxes}
        assert {"heading", "identity", "verdict", "signature", "scope"} <= boxes.keys()
        if results.cautions:
            assert boxes["cautions"].bottom < 0.55 * page.height


@pytest.mark.parametrize("name", EXTREME)
def test_its_record_leaves_nothing_out(record_layout: Layout, name: str) -> None:
    results = EXTREME[name]
    first = compose(results, record_layout, paper="letter", units="both")
    for page in first.pages:
        assert_sound(page, record_layout)
        assert min(mark.size for mark in texts_of(page)) >= 7.5 - 1e-9
    numbers = {
        mark.text.rstrip("†‡§")
        for page in first.pages
        for box in page.boxes
        if box.name == "load_points"
        for mark in box.setting.marks
        if isinstance(mark, TextMark) and mark.x == 0.0
    }
    assert {str(index + 1) for index in range(len(results.points))} <= numbers
    assert first.pages[-1].boxes[-2].name == "end_mark"


def test_what_forbids_to_switch_on_takes_the_whole_width_white_on_black(certificate_layout: Layout) -> None:
    page = compose(EXTREME["banned"], certificate_layout, paper="a4", units="si")
    (box,) = [box for box in page.boxes if box.name == "cautions"]
    bans = [mark for mark in box.setting.marks if isinstance(mark, TextMark) and mark.ink == "paper"]
    assert "Do not energise this motor" in " ".join(mark.text for mark in bans)
    assert max(mark.size for mark in bans) >= 10.0
    assert box.width / MM == pytest.approx(186.0)
