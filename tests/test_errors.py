from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.errors import MOST_REPORTED, AlreadyIssued, CertgenError, InputError, PageOverflow, Problem, RefusedTest


def problem(file: str = "job.yaml", line: int = 3, column: int = 7, what: str = "no unit") -> Problem:
    return Problem(file, line, column, what, "write '400 V'")


def test_a_problem_is_one_sentence_with_its_place_first() -> None:
    assert str(problem()) == "job.yaml:3:7: no unit; write '400 V'."


def test_a_problem_of_a_whole_file_has_no_line() -> None:
    assert str(problem(line=0, column=0)) == "job.yaml: no unit; write '400 V'."


def test_problems_are_told_once_each_and_by_place() -> None:
    given_problems = [problem(line=9), problem("b.csv"), problem(line=3), problem(line=3, column=2), problem(line=9)]
    told = str(InputError(given_problems)).splitlines()
    assert told == [
        "b.csv:3:7: no unit; write '400 V'.",
        "job.yaml:3:2: no unit; write '400 V'.",
        "job.yaml:3:7: no unit; write '400 V'.",
        "job.yaml:9:7: no unit; write '400 V'.",
    ]


def test_lines_are_ordered_as_numbers() -> None:
    told = InputError([problem(line=10), problem(line=9)])
    assert [one.line for one in told.problems] == [9, 10]


def test_more_problems_than_a_person_reads_are_cut() -> None:
    error = InputError(problem(line=line) for line in range(1, MOST_REPORTED + 50))
    told = str(error).splitlines()
    assert len(error.problems) == MOST_REPORTED + 49
    assert len(told) == MOST_REPORTED + 1
    assert told[-1] == "There are more mistakes than these; mend these first."


def test_as_many_problems_as_are_told_are_all() -> None:
    told = str(InputError(problem(line=line) for line in range(1, MOST_REPORTED + 1))).splitlines()
    assert len(told) == MOST_REPORTED
    assert told[-1].startswith(f"job.yaml:{MOST_REPORTED}:")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a\nb", r"a\nb"),
        ("\x1b[31mred", r"\x1b[31mred"),
        ("\u202ereversed", r"\u202ereversed"),
        ("no\u00a0break", r"no\xa0break"),
        ("\U000e0001", r"\U000e0001"),
        ("\ud800", r"\ud800"),
        ("Zähler 3 µΩ °C 电机", "Zähler 3 µΩ °C 电机"),
    ],
)
def test_signs_that_cannot_be_seen_are_shown_as_escapes(text: str, shown: str) -> None:
    assert str(problem(what=text)) == f"job.yaml:3:7: {shown}; write '400 V'."


@given(file=st.text(), what=st.text(), instead=st.text())
def test_a_problem_is_always_one_line_a_terminal_shows_as_it_is(file: str, what: str, instead: str) -> None:
    told = str(Problem(file, 1, 1, what, instead))
    assert told.isprintable()


@pytest.mark.parametrize("kind", [InputError, RefusedTest, PageOverflow, AlreadyIssued])
def test_every_exception_a_person_meets_is_of_one_tree_and_ends_with_2(kind: type[CertgenError]) -> None:
    assert issubclass(kind, CertgenError)
    assert kind.exit_code == 2
