"""What is found out about a test is told everywhere: in the results, by ``check`` in the terminal, and on the pages."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from typed_job import ROWS, TypedJob, evidence, finding, scope

from certgen.assessment.statement import headline_of, scope_stated, with_suggestion
from certgen.document.source import Problems
from certgen.messages.catalogue import Message, text_of
from certgen.results.model import Results
from certgen.results.serialization import as_json
from certgen.sheet.engine.layout import find_layout, load_layout
from certgen.sheet.engine.place import compose
from certgen.sheet.engine.setting import TextMark
from certgen.terminal.results import results_text

pytestmark = pytest.mark.slow

SOUND = TypedJob()
SIXTY = replace(SOUND.having(frequency="60 Hz", speed="1727 rpm"), conditions={"ambient": "21 degC"})


def three_currents(row: int, *amperes: float) -> TypedJob:
    """The current of every line, alike but in one row."""
    columns = {name: unit for name, unit in SOUND.columns.items() if name != "current"}
    columns |= {f"current_{line}": "A" for line in "abc"}
    rows = [(n, kg, volts, watts, *(amperes if number == row else (each,) * 3))
            for number, (n, kg, volts, each, watts) in enumerate(ROWS, 1)]  # fmt: skip
    return replace(SOUND, columns=columns, rows=tuple(rows))


def no_load(watts: float) -> TypedJob:
    table = {"columns": {"voltage": "V", "current": "A", "input_power": "W"}, "rows": [[400, 1.9, watts]]}
    return replace(SOUND, readings={"no_load": table})


def cooling() -> TypedJob:
    warm = zip(ROWS, (80, 78, 70, 60, 45, 30), strict=True)
    rows = tuple((*row, celsius, 600 * place) for place, (row, celsius) in enumerate(warm))
    return replace(SOUND, columns={**SOUND.columns, "winding_temperature": "degC", "time": "s"}, rows=rows, warm=None)


def two_wattmeters() -> TypedJob:
    """The lighter wattmeter lost its sign: W1 - W2 = sqrt(3) Q (two-wattmeter method; Bird, chapter 24)."""
    columns = {name: unit for name, unit in SOUND.columns.items() if name != "input_power"}
    rows = []
    for n, kg, volts, amperes, watts in ROWS:
        apart = math.sqrt((math.sqrt(3.0) * volts * amperes) ** 2 - watts**2) / math.sqrt(3.0)
        rows.append((n, kg, volts, amperes, round(0.5 * (watts + apart)), abs(round(0.5 * (watts - apart)))))
    return replace(SOUND, columns={**columns, "wattmeter_1": "W", "wattmeter_2": "W"}, rows=tuple(rows))


def of_evidence(check: str) -> Callable[[Results], Iterator[Message | str]]:
    def told(results: Results) -> Iterator[Message | str]:
        found = evidence(results, check)
        assert found
        yield with_suggestion(found[0])

    return told


CONTRADICTIONS = {
    "row_off_its_neighbours": SOUND.spoilt("scale", 4, lambda kg: 10.0 * kg),
    "faster_than_synchronous": SOUND.spoilt("speed", 4, lambda rpm: 1530),
    "slip_grows_as_load_falls": SOUND.spoilt("speed", 5, lambda rpm: 1344),
    "supply_of_other_frequency": SIXTY,
    "watts_above_volt_amperes": SOUND.spoilt("current", 5, lambda amperes: 1.32),
    "lost_sign_of_wattmeter": two_wattmeters(),
    "efficiency_dips": SOUND.spoilt("input_power", 4, lambda watts: watts + 350),
    "no_load_watts_above_loaded": no_load(800.0),
    "currents_cannot_sum": three_currents(4, 2.7, 6.9, 2.7),
    "torque_without_power": SOUND.spoilt("input_power", 4, lambda watts: watts / 100.0),
    "winding_cools_under_load": cooling(),
    "winding_hotter_than_any": replace(SOUND, warm=600),
    "unit_suspected": SOUND.column("scale", lambda kg: round(kg / 9.80665, 4)),
    "columns_exchanged": replace(
        SOUND, rows=tuple((n, kg, amperes, volts, watts) for n, kg, volts, amperes, watts in ROWS)
    ),
}


def of_verdict(results: Results) -> Iterator[Message | str]:
    yield headline_of(results.verdict)


def of_scope(results: Results) -> Iterator[Message | str]:
    yield from (item.detail for item in results.verdict.scope if item.detail is not None)


def of_finding(name: str, outcome: str) -> Callable[[Results], Iterator[Message | str]]:
    def told(results: Results) -> Iterator[Message | str]:
        found = finding(results, name)
        assert found.outcome == outcome
        yield found.title

    return told


OVERLOADED = SOUND.having(power="1.3 kW", speed="1435 rpm", current="3.0 A", service_factor=1.15)
HOME = replace(
    SOUND.without("input_power"), fine=False, warm=None, conditions={}, rig={
        "name": "Arm brake", "absorber": {"kind": "arm"}, "arm_length": "0.5 m", "scale": {"reads": "mass"},
    }, plate={"voltage": "400 V", "current": "3.35 A"},
)  # fmt: skip
#: Falls past its greatest power of 1.65 kW: a plate of 2.2 kW is out of reach.
TO_BREAKDOWN = replace(SOUND.having(power="3 kW", current="6.6 A", speed="1420 rpm"), rows=(
    (1493, 0.206, 400, 1.92, 281), (1450, 1.441, 400, 2.70, 1353), (1418, 2.265, 400, 3.57, 2168),
    (1330, 3.400, 400, 6.00, 3400), (1200, 3.600, 400, 8.50, 4300), (1000, 3.200, 400, 10.5, 4900),
))  # fmt: skip

STATEMENTS: dict[str, tuple[TypedJob, Callable[[Results], Iterator[Message | str]]]] = {
    "insulation never measured": (SOUND, of_verdict),
    "how much of the plate": (SOUND, of_scope),
    "no plate": (replace(SOUND, plate={}), of_verdict),
    "not at rating": (replace(SOUND, rows=ROWS[:3]), of_verdict),
    "a winding hotter than its class": (
        replace(SOUND.having(insulation_class="B"), warm=250), of_finding("winding_temperature", "fail"),
    ),
    "power out of reach": (TO_BREAKDOWN, of_verdict),
    "service factor reached": (OVERLOADED, of_finding("service_factor", "pass")),
    "slip better than declared": (SOUND.having(speed="1390 rpm"), of_finding("slip_at_rated_power", "better")),
    "a single point": (replace(SOUND, rows=(ROWS[4],)), of_finding("current_at_rated_power", "pass")),
    "volts and amperes only": (HOME, of_verdict),
    "too much slip": (SOUND.having(speed="1445 rpm"), of_finding("slip_at_rated_power", "fail")),
}  # fmt: skip


@pytest.fixture(scope="module")
def layouts():
    paths = [find_layout(name) for name in ("certificate", "record")]
    return [load_layout(path, path.name, Problems()) for path in paths if path is not None]


def on_pages(results: Results, layouts) -> str:
    page = compose(results, layouts[0], paper="a4", units="si", record=layouts[1])
    return _bare(" ".join(
        mark.text for one in page.pages for box in one.boxes for mark in box.setting.marks if isinstance(mark, TextMark)
    ))  # fmt: skip


def _bare(text: str) -> str:
    return re.sub(r"\s", "", text).lower()


def assert_told(results: Results, sentences: list[str], layouts) -> None:
    terminal, pages, tree = (
        _bare(results_text(results, "job.yaml")),
        on_pages(results, layouts),
        _bare(as_json(results)),
    )
    for sentence in sentences:
        assert _bare(sentence) in terminal
        assert _bare(sentence) in pages
        assert all(_bare(part) in tree for part in re.split(r"(?<=[.?]) ", sentence))


@pytest.mark.parametrize("check", CONTRADICTIONS)
def test_a_contradiction_stands_in_results_terminal_and_record(tmp_path, check, layouts):
    results = CONTRADICTIONS[check].judged(tmp_path)
    assert results.verdict.outcome != "pass"
    assert_told(results, [text_of(one, units="si") for one in of_evidence(check)(results)], layouts)


@pytest.mark.parametrize("name", STATEMENTS)
def test_a_statement_stands_in_results_terminal_and_pages(tmp_path, name, layouts):
    job, told = STATEMENTS[name]
    results = job.judged(tmp_path)
    assert_told(results, [text_of(one, units="si") for one in told(results)], layouts)


def test_every_subject_of_the_scope_stands_with_the_verdict(tmp_path, layouts):
    results = SOUND.judged(tmp_path)
    stated = scope_stated(results.verdict)
    assert stated is not None
    assert _bare(text_of(stated, units="si")) in _bare(results_text(results, "job.yaml"))
    assert "insulationnottested" in on_pages(results, layouts)
    assert len(scope(results)) == 5
