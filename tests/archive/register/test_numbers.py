from __future__ import annotations

import sqlite3
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from multiprocessing import get_context
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.archive.register.certificates import enter
from certgen.archive.register.database import open_register
from certgen.archive.register.numbers import never_issued, next_number, pattern_of, read_pattern, set_pattern
from certgen.errors import CertgenError

pytestmark = pytest.mark.slow

PATTERN = "HB-{year}-{serial:04}"


def test_numbers_count_up_within_a_year(register: sqlite3.Connection, tmp_path: Path) -> None:
    set_pattern(register, read_pattern(PATTERN))
    taken = [next_number(register, tmp_path, year) for year in (2026, 2026, 2027, 2026)]
    assert taken == ["HB-2026-0001", "HB-2026-0002", "HB-2027-0001", "HB-2026-0003"]


def test_without_a_year_they_count_on(register: sqlite3.Connection, tmp_path: Path) -> None:
    set_pattern(register, read_pattern("bench {serial}"))
    assert [next_number(register, tmp_path, year) for year in (2026, 2027)] == ["bench 1", "bench 2"]


def test_a_new_pattern_starts_a_series_of_its_own(register: sqlite3.Connection, tmp_path: Path) -> None:
    set_pattern(register, read_pattern(PATTERN))
    next_number(register, tmp_path, 2026)
    set_pattern(register, read_pattern("Q{serial:02}"))
    assert pattern_of(register) == read_pattern("Q{serial:02}")
    assert next_number(register, tmp_path, 2026) == "Q01"


def test_a_number_that_a_job_brought_is_passed_over(register, tmp_path, make_entry) -> None:
    set_pattern(register, read_pattern(PATTERN))
    enter(register, tmp_path, make_entry("HB-2026-0001"), b"a")
    enter(register, tmp_path, make_entry("HB-2026-0002"), b"b")
    assert next_number(register, tmp_path, 2026) == "HB-2026-0003"


def test_a_number_taken_and_not_used_is_listed_and_never_given_again(register, tmp_path, make_entry) -> None:
    set_pattern(register, read_pattern(PATTERN))
    first, second = (next_number(register, tmp_path, 2026) for _ in range(2))
    enter(register, tmp_path, make_entry(second), b"b")
    assert never_issued(register) == [first]
    assert next_number(register, tmp_path, 2026) == "HB-2026-0003"


def test_without_a_pattern_the_way_to_one_is_told(register: sqlite3.Connection, tmp_path: Path) -> None:
    with pytest.raises(CertgenError, match=r"no certificate\.number .* 'certgen register start .* --numbers PATTERN'"):
        next_number(register, tmp_path, 2026)


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("HB-{year}", "needs {serial} once"),
        ("{serial}{serial}", "needs {serial} once"),
        ("HB-{year:02}-{serial}", "nothing else"),
        ("HB-{serial:4}", "needs {serial} once"),
        ("{serial}{0.__class__}", "nothing else"),
        ("{serial}\n", "printable"),
        ("x" * 60 + "{serial}", "at most 50 characters"),
    ],
)
def test_a_pattern_that_is_none_is_refused(text: str, wrong: str) -> None:
    with pytest.raises(CertgenError) as told:
        read_pattern(text)
    assert wrong in str(told.value)
    assert "write one for example 'HB-{year}-{serial:04}'" in str(told.value)


@given(st.integers(1, 9999), st.integers(1, 10**6), st.integers(1, 10**6))
def test_two_serials_never_make_one_number(year: int, first: int, second: int) -> None:
    pattern = read_pattern(PATTERN)
    assert (pattern.number(year, first) == pattern.number(year, second)) == (first == second)


def _take(folder: Path, count: int) -> list[str]:
    with closing(open_register(folder, make=False)) as register:
        return [next_number(register, folder, 2026) for _ in range(count)]


def test_processes_at_once_never_share_a_number(register: sqlite3.Connection, tmp_path: Path) -> None:
    set_pattern(register, read_pattern(PATTERN))
    with ProcessPoolExecutor(4, mp_context=get_context("spawn")) as pool:
        taken = [number for numbers in pool.map(_take, [tmp_path] * 4, [25] * 4) for number in numbers]
    assert sorted(taken) == [f"HB-2026-{serial:04}" for serial in range(1, 101)]
