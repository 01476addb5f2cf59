from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from certgen.archive.register import database
from certgen.archive.register.certificates import _insert, enter
from certgen.archive.register.database import ADDED, FILE_NAME, VERSION, open_register, writing
from certgen.archive.register.entry import entry_of, headlines, set_value
from certgen.archive.register.search import Wanted, as_json, find, found
from certgen.errors import CertgenError
from certgen.pipeline import assess_job
from certgen.terminal.register import certificate_lines

pytestmark = pytest.mark.slow


@pytest.fixture
def filled(register, tmp_path, make_entry):
    rows = [
        {"number": "A-1", "serial": "0048117", "maker": "Ostler & Wray", "power": 370.0, "tested_on": "2026-01-05"},
        {"number": "A-2", "serial": "48_17", "maker": "Brandt Söhne", "verdict": "fail", "tested_on": "2026-02-05"},
        {"number": "A-3", "serial": "4811", "maker": "ostler & wray", "power": None, "tested_on": "2026-03-05"},
    ]
    for row in rows:
        enter(register, tmp_path, make_entry(**row), row["number"].encode())
    return register


@pytest.mark.parametrize(
    ("asked", "numbers"),
    [
        ({}, ["A-3", "A-2", "A-1"]),
        ({"serial": "0048117"}, ["A-1"]),
        ({"serial": "48*"}, ["A-3", "A-2"]),
        ({"serial": "48_*"}, ["A-2"]),
        ({"maker": "OSTLER & WRAY"}, ["A-3", "A-1"]),
        ({"maker": "ost*"}, ["A-3", "A-1"]),
        ({"verdict": "fail"}, ["A-2"]),
        ({"tested_from": "2026-02-05"}, ["A-3", "A-2"]),
        ({"tested_to": "2026-02-05"}, ["A-2", "A-1"]),
        ({"power_from": 300.0, "power_to": 400.0}, ["A-1"]),
        ({"text": "wray conv"}, ["A-3", "A-1"]),
        ({"text": "sohne"}, ["A-2"]),
        ({"text": "nowhere"}, []),
        ({"text": "wray", "tested_to": "2026-01-31"}, ["A-1"]),
        ({"number": "A-2"}, ["A-2"]),
    ],
)
def test_everything_asked_must_be_met(filled, asked, numbers) -> None:
    assert [one.number for one in find(filled, Wanted(**asked))] == numbers


@pytest.fixture
def long(register, make_entry):
    """More than three pages of rows, of few days, so that pages end within a day."""
    with writing(register):
        for index in range(4200):
            other = {"tested_on": f"2026-0{1 + index % 3}-05", "verdict": "fail" if index % 7 else "pass"}
            _insert(register, make_entry(f"A-{index}", **other), {}, f"{index}.pdf", f"{index:064x}")
        register.execute("UPDATE certificate SET state = 'issued'")
    return register


@pytest.mark.parametrize("verdict", [None, "pass"])
@pytest.mark.parametrize("most", [None, 0, 1, 500, 501, 1500, 4199, 10_000])
def test_pages_leave_nothing_out_and_give_nothing_twice(long, verdict: str | None, most: int | None) -> None:
    """Held against one plain sort of all rows."""
    rows = long.execute("SELECT tested_on, id, number FROM certificate WHERE verdict = ifnull(?, verdict)", [verdict])
    expected = [number for _, _, number in sorted(map(tuple, rows), reverse=True)]
    assert [one.number for one in found(long, Wanted(verdict=verdict), most)] == expected[:most]


def test_a_list_that_is_being_read_keeps_nobody_from_issuing(long, tmp_path, make_entry) -> None:
    """As when it is paged through on a terminal."""
    rows = found(long, Wanted())
    first = next(rows)
    with closing(open_register(tmp_path, make=False)) as other:
        other.execute("PRAGMA busy_timeout = 100")
        enter(other, tmp_path, make_entry("B-1", tested_on="2026-03-06"), b"page")
    numbers = [first.number, *(one.number for one in rows)]
    assert len(numbers) == len(set(numbers)) == 4200


def test_only_the_latest(filled) -> None:
    assert [one.number for one in find(filled, Wanted(), 2)] == ["A-3", "A-2"]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.text(max_size=30))
def test_no_sign_in_a_search_is_an_operator(filled, text: str) -> None:
    for asked in ({"text": text}, {"serial": text}, {"maker": f"{text}*"}, {"number": text}):
        assert len(find(filled, Wanted(**asked))) <= 3


def as_before(register) -> None:
    """Make of a register one of the version before: without what was added, and marked so."""
    for column in ADDED:
        register.execute(f"ALTER TABLE certificate DROP COLUMN {column}")
    register.execute("PRAGMA user_version = 1")


def test_a_register_from_before_moves_once_and_keeps_its_word(register, tmp_path, make_entry) -> None:
    enter(register, tmp_path, make_entry("B-1", verdict="not tested"), b"old")
    as_before(register)
    before = (tmp_path / FILE_NAME).read_bytes()
    with closing(open_register(tmp_path, make=False)) as again:
        (old,) = find(again, Wanted())
        assert (old.verdict, old.headline, old.scope, old.set_by) == ("not tested", "", "", "")
        assert again.execute("PRAGMA user_version").fetchone()[0] == VERSION
        assert (tmp_path / "register-version-1.sqlite3").read_bytes() == before
        enter(again, tmp_path, make_entry("B-2", verdict="no verdict", headline="Bench-rated 0.37 kW"), b"new")
        assert again.execute("PRAGMA user_version").fetchone()[0] == VERSION
        assert [one.number for one in find(again, Wanted(verdict="no verdict"))] == ["B-2", "B-1"]
        assert [one.number for one in find(again, Wanted(verdict="not tested"))] == ["B-1"]
        assert [one.headline for one in find(again, Wanted())] == ["Bench-rated 0.37 kW", ""]
    with closing(open_register(tmp_path, make=False)):
        pass
    assert sorted(path.name for path in tmp_path.glob("*.sqlite3")) == ["register-version-1.sqlite3", FILE_NAME]


def test_a_register_from_before_that_cannot_be_written_is_read_as_it_is(
    register, tmp_path, make_entry, monkeypatch
) -> None:
    enter(register, tmp_path, make_entry("B-1", verdict="not tested"), b"old")
    as_before(register)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(database, "_keep_copy", full)
    with closing(open_register(tmp_path, make=False)) as again:
        assert [one.number for one in find(again, Wanted(verdict="no verdict"))] == ["B-1"]
        assert again.execute("PRAGMA user_version").fetchone()[0] == 1
        with pytest.raises(CertgenError, match="No space left on device"):
            enter(again, tmp_path, make_entry("B-2"), b"new")


def test_headline_and_scope_stand_beside_the_word(register, tmp_path, make_entry) -> None:
    told = {"verdict": "no verdict", "headline": "Bench-rated 0.226 hp at 2.3 A", "scope": "starting NOT TESTED"}
    enter(register, tmp_path, make_entry("C-1", **told), b"one")
    enter(register, tmp_path, make_entry("C-2", headline="Pass"), b"two")
    plain, rated = certificate_lines(find(register, Wanted()))
    assert "  no verdict (Bench-rated 0.226 hp at 2.3 A)  " in rated
    assert rated.endswith("  [starting NOT TESTED]")
    assert "  pass  " in plain
    kept = json.loads("".join(as_json(find(register, Wanted(number="C-1")))))[0]
    assert kept["headline"] == told["headline"]
    assert kept["scope"] == told["scope"]


def example(name: str):
    return assess_job(Path(__file__).parents[3] / "example_jobs" / name / "job.yaml").results


def test_a_test_of_one_load_is_registered_with_what_it_read() -> None:
    """The reading of the example: 2861 rpm and 1.699 A on the meters, 0.513 kg on an arm of half a metre."""
    results = example("one_point_test")
    found = headlines(results)
    assert found["speed"] == pytest.approx(2861 * 3.141592653589793 / 30)
    assert found["current"] == pytest.approx(1.699)
    # (0.513 - 0.002) kg / 1.002 x 9.81 m/s2 x 0.5 m and 0.03 N m of tare, by hand; the calibration is near 1.002
    assert found["torque"] == pytest.approx(2.531, abs=0.003)
    assert found["power"] == pytest.approx(found["torque"] * found["speed"])
    assert found["efficiency"] == pytest.approx(found["power"] / 954)
    assert set_value(results) == ""
    assert entry_of(results, "source").scope.startswith("load test only; insulation")


@pytest.mark.parametrize(
    ("name", "set_by"), [("worn_rotor", "power"), ("unmarked_rated", "power"), ("home_bench", "current")]
)
def test_a_value_that_was_set_is_not_told_as_measured(name: str, set_by: str) -> None:
    assert set_value(example(name)) == set_by


def test_the_headline_is_kept_in_the_units_of_the_certificate() -> None:
    results = example("home_bench")
    assert entry_of(results, "source", "us").headline == "Bench-rated 0.25 hp at 4.2 A"
    assert entry_of(results, "source").headline.startswith("Bench-rated 1")
