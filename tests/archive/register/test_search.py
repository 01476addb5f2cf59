from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from certgen.archive.register.certificates import enter
from certgen.archive.register.search import Wanted, find


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


def test_only_the_latest(filled) -> None:
    assert [one.number for one in find(filled, Wanted(), 2)] == ["A-3", "A-2"]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.text(max_size=30))
def test_no_sign_in_a_search_is_an_operator(filled, text: str) -> None:
    for asked in ({"text": text}, {"serial": text}, {"maker": f"{text}*"}, {"number": text}):
        assert len(find(filled, Wanted(**asked))) <= 3
