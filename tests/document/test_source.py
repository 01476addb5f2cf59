from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.source import (
    MOST_ALIASES,
    MOST_BYTES,
    MOST_DEPTH,
    Problems,
    decode,
    parse,
    place_of,
    read_bounded,
)
from certgen.errors import MOST_REPORTED


def parsed(text: str) -> tuple[yaml.MappingNode | None, list[str]]:
    problems = Problems()
    root = parse(text, "job.yaml", problems)
    return root, [str(one) for one in problems.found]


def test_nodes_know_their_line_and_column_counted_from_1() -> None:
    root, told = parsed("motor:\n  type: dc\n  rows: [1, {a: 2}]\n")
    assert root is not None
    assert not told
    ((key, motor),) = root.value
    assert place_of(key) == (1, 1)
    assert [(place_of(name), place_of(value)) for name, value in motor.value] == [((2, 3), (2, 9)), ((3, 3), (3, 9))]
    one, inner = motor.value[1][1].value
    assert place_of(one) == (3, 10)
    assert place_of(inner.value[0][1]) == (3, 17)


def test_columns_count_characters_and_not_bytes() -> None:
    root, _ = parsed("{ü: 1, 电: 2}\n")
    assert root is not None
    assert [place_of(value) for _, value in root.value] == [(1, 5), (1, 11)]


def test_scalars_stay_the_text_they_were() -> None:
    """YAML 1.1 would make a false, an octal number, a number of base 60, a date and nothing of these."""
    words = ["no", "0048117", "12:30:00", "2026-03-14", "~", "1e3", "0x1F", "1_000", "yes", ".inf"]
    root, _ = parsed("\n".join(f"k{number}: {word}" for number, word in enumerate(words)))
    assert root is not None
    assert [value.value for _, value in root.value] == words


def test_a_byte_order_mark_is_dropped() -> None:
    problems = Problems()
    assert decode(b"\xef\xbb\xbfname: x\n", "job.yaml", problems) == "name: x\n"
    assert not problems.found


@pytest.mark.parametrize(
    ("data", "place"),
    [(b"\xff", (1, 1)), (b"a\nb\xe4", (2, 2)), ("ü\n\t°".encode() + b"\xb0", (2, 3)), (b"\xef\xbb\xbfa\xff", (1, 2))],
)
def test_a_byte_that_is_no_text_is_told_with_its_place(data: bytes, place: tuple[int, int]) -> None:
    problems = Problems()
    assert decode(data, "job.yaml", problems) is None
    assert [(one.line, one.column) for one in problems.found] == [place]


@given(data=st.binary(max_size=60))
def test_bytes_are_text_or_one_problem(data: bytes) -> None:
    problems = Problems()
    text = decode(data, "job.yaml", problems)
    assert (text is None) == (len(problems.found) == 1)


@given(text=st.text(max_size=80) | st.text("ab:- \n[]{}\"'&*!|>#%@\t?,", max_size=80))
def test_any_text_is_keys_with_values_or_one_problem(text: str) -> None:
    root, told = parsed(text)
    assert (root is None) == (len(told) == 1)
    assert all(one.isprintable() for one in told)


def test_nesting_is_followed_to_its_bound_and_no_further() -> None:
    brackets = MOST_DEPTH - 1
    assert parsed(f"a: {'[' * brackets}{']' * brackets}")[0] is not None
    assert parsed(f"a: {'[' * (brackets + 1)}{']' * (brackets + 1)}")[0] is None


def test_aliases_of_plain_values_are_read_up_to_their_bound() -> None:
    root, told = parsed("a: &a 1\nb: [" + "*a, " * MOST_ALIASES + "2]")
    assert root is not None
    assert not told
    assert parsed("a: &a 1\nb: [" + "*a, " * (MOST_ALIASES + 1) + "2]")[0] is None


def test_an_alias_of_a_list_is_read_where_it_stands_alone() -> None:
    root, _ = parsed("a: &a [1, 2]\nb: *a")
    assert root is not None
    assert [one.value for one in root.value[1][1].value] == ["1", "2"]


def test_a_quoted_text_with_the_tag_of_no_tag_is_read() -> None:
    assert parsed("a: ! 'x'")[0] is not None


def test_files_are_read_up_to_their_bound(tmp_path: Path) -> None:
    problems = Problems()
    file = tmp_path / "job.yaml"
    file.write_bytes(b"x" * MOST_BYTES)
    assert read_bounded(file, "job.yaml", problems) == b"x" * MOST_BYTES
    file.write_bytes(b"x" * (MOST_BYTES + 1))
    assert read_bounded(file, "job.yaml", problems) is None
    assert len(problems.found) == 1


@pytest.mark.parametrize("name", ["absent.yaml", ".", "x" * 300, "a/b/c"])
def test_what_is_no_file_is_told(tmp_path: Path, name: str) -> None:
    problems = Problems()
    assert read_bounded(tmp_path / name, name, problems) is None
    assert [one.file for one in problems.found] == [name]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    problems = Problems()
    assert read_bounded(tmp_path / "pipe", "pipe", problems) is None
    assert len(problems.found) == 1


def test_problems_are_kept_up_to_one_more_than_are_told() -> None:
    problems = Problems()
    for line in range(10 * MOST_REPORTED):
        problems.add("job.yaml", (line, 1), "wrong", "write it right")
    assert len(problems.found) == MOST_REPORTED + 1
