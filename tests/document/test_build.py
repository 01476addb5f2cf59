from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from certgen.document import vocabulary as v
from certgen.document.build import Dimensioned, FileReference, Reader, Toleranced
from certgen.document.source import Problems, parse
from certgen.document.vocabulary import key


@dataclass(frozen=True)
class Inner:
    size: float = key(v.Measure("length", above=0.0, example="5 mm", bounds="more than zero"), "Size.", required=True)
    note: str | None = key(v.Text(10), "Note.", evaluated=False)


@dataclass(frozen=True)
class Outer:
    name: str = key(v.Text(20), "Name.", required=True)
    kind: str | None = key(v.Choice(("arm", "rope")), "Kind.")
    count: int | None = key(v.Whole(2, 10, 2), "Count.")
    share: float | None = key(v.Measure("ratio", low=0.0, high=1.0), "Share.")
    load: Dimensioned | None = key(v.MeasureOf(("mass", "force")), "Load.")
    arm: Toleranced | None = key(v.Toleranced(v.Measure("length", above=0.0)), "Arm.")
    day: date | None = key(v.Day(), "Day.")
    inner: Inner | None = key(v.Group(Inner), "Inner.")
    lines: tuple[str, ...] = key(v.Each(v.Text(10), 3), "Lines.", default=())
    file: FileReference | None = key(v.Reference(), "File.")
    later: str | None = key(v.Text(10), "Of no use yet.", evaluated=False)
    units: str = key(v.Choice(("si", "us")), "Units.", default="si")


def build(text: str) -> tuple[Any, Reader]:
    problems = Problems()
    reader = Reader("job.yaml", Path(), problems)
    root = parse(text, "job.yaml", problems)
    return (None if root is None else reader.group(Outer, root)), reader


def told(text: str) -> list[str]:
    return [str(one) for one in sorted(build(text)[1].problems.found)]


def value_of(name: str, written: str) -> Any:
    others = "" if name == "name" else "name: x"
    found, reader = build(f"{others}\n{name}: {written}\n")
    assert not reader.problems.found
    return getattr(found, name)


@pytest.mark.parametrize(
    ("name", "written", "value"),
    [
        ("name", "0048117", "0048117"),
        ("name", "no", "no"),
        ("name", "12:30:00", "12:30:00"),
        ("name", "'~'", "~"),
        ("name", '"  two   words  "', "two   words"),
        ("name", '"u\\u0308"', "ü"),
        ("name", "'电机 №5'", "电机 №5"),
        ("kind", "arm", "arm"),
        ("count", "4", 4),
        ("share", "80 %", 0.8),
        ("share", "0.8", 0.8),
        ("load", "2 kg", Dimensioned(2.0, "mass")),
        ("load", "2 N", Dimensioned(2.0, "force")),
        ("load", "1/2 kg", Dimensioned(0.5, "mass")),
        ("arm", "0.5 m", Toleranced(0.5)),
        ("arm", "{value: 0.5 m, tolerance: 1 mm}", Toleranced(0.5, tolerance=0.001)),
        ("arm", "{value: 0.5 m, expanded_uncertainty: 1 mm}", Toleranced(0.5, expanded_uncertainty=0.001)),
        ("arm", "{value: 0.5 m, tolerance: }", Toleranced(0.5)),
        ("day", "2026-03-14", date(2026, 3, 14)),
        ("inner", "{size: 5 mm}", Inner(0.005)),
        ("lines", "[a, b]", ("a", "b")),
        ("lines", "[]", ()),
        ("file", "../rigs/arm.yaml", FileReference("../rigs/arm.yaml", (2, 7))),
        ("units", "us", "us"),
    ],
)
def test_every_kind_is_read(name: str, written: str, value: Any) -> None:
    assert value_of(name, written) == value


@pytest.mark.parametrize("blank", ["", "~", "null", "''", '"  "'])
def test_a_key_left_empty_is_as_if_it_were_not_there(blank: str) -> None:
    assert build(f"name: x\nunits: {blank}\nlater: {blank}\n")[0] == build("name: x\n")[0]
    assert build(f"name: x\nunits: {blank}\nlater: {blank}\n")[1].not_evaluated == []


def test_a_needed_key_left_empty_is_told_at_the_key() -> None:
    assert told("kind: arm\nname: \n") == [
        "job.yaml:2:1: name: this key is left empty; write text, for example 'a few words'."
    ]


def test_a_needed_key_that_is_missing_is_told_at_what_should_hold_it() -> None:
    assert told("name: x\ninner:\n  note: y\n") == [
        "job.yaml:3:3: inner.size: this key is missing; write a number with a unit of length, more than zero, for "
        "example '5 mm'."
    ]


def test_places_of_keys_are_those_of_their_values() -> None:
    _, reader = build("name: x\ninner:\n  size: 5 mm\nlines: [a, b]\narm: {value: 1 m, tolerance: 1 mm}\n")
    assert reader.places == {
        "name": (1, 7),
        "inner": (3, 3),
        "inner.size": (3, 9),
        "lines": (4, 8),
        "lines[1]": (4, 9),
        "lines[2]": (4, 12),
        "arm": (5, 6),
        "arm.value": (5, 14),
        "arm.tolerance": (5, 30),
    }


def test_keys_without_use_are_collected_where_they_are_written() -> None:
    _, reader = build("name: x\nlater: y\ninner: {size: 5 mm, note: z}\narm: {value: 1 m, tolerance: 1 mm}\n")
    assert set(reader.not_evaluated) == {"later", "inner.note"}
    assert build("name: x\ninner: {size: 5 mm}\narm: 1 m\n")[1].not_evaluated == []


def test_every_mistake_of_a_file_is_told_and_what_is_right_is_kept() -> None:
    text = "nam: x\nkind: belt\ncount: 3\nshare: 2\nload: 5 V\nday: today\nlines: [a, [b]]\nunits: us\n"
    found, reader = build(text)
    assert found.units == "us"
    assert (found.kind, found.count, found.share, found.load, found.day) == (None,) * 5
    assert [(one.line, one.what.split(":")[0]) for one in sorted(reader.problems.found)] == [
        (1, "nam"),
        (1, "name"),
        (2, "kind"),
        (3, "count"),
        (4, "share"),
        (5, "load"),
        (6, "day"),
        (7, "lines[2]"),
    ]


def test_a_list_too_long_or_none_is_told() -> None:
    assert told("name: x\nlines: [a, b, c, d]\n") == ["job.yaml:2:8: lines: the list has 4 entries; keep it to 3."]
    assert told("name: x\nlines: a\n") == [
        "job.yaml:2:8: lines: a list is needed here; write [text, for example 'a few words', ..]."
    ]


def test_bounds_include_their_ends_where_they_say_so() -> None:
    assert value_of("share", "0") == 0.0
    assert value_of("share", "1") == 1.0
    assert told("name: x\nshare: 1.000001\n")
    assert told("name: x\ninner: {size: 0 mm}\n")


@pytest.mark.parametrize("text", ["20", "2.0", "+4", " ٤", "4 ", "1e1", "-4", "", "00000000000000004"])
def test_whole_numbers_are_written_plainly(text: str) -> None:
    found, _ = build(f"name: x\ncount: '{text}'\n")
    assert found.count is None


def test_a_key_of_any_length_makes_a_message_of_a_bounded_one() -> None:
    (message,) = told(f"name: x\n? {'k' * 100_000}\n: 1\n")
    assert len(message) < 400


#: Control signs but tab and line feed, and the marks that turn the direction of writing.
_TURNS_OR_MOVES = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]")


@given(text=st.text(max_size=30))
@example("a\u202eb")
@example("a\x1b[31m")
def test_text_is_kept_as_written_or_told(text: str) -> None:
    quoted = "".join(f"\\U{ord(sign):08X}" for sign in text)
    found, reader = build(f'name: x\nlater: "{quoted}"\n')
    if found is not None and not reader.problems.found:
        kept = found.later
        assert kept is None or (len(kept) <= 10 and kept == kept.strip())
        assert _TURNS_OR_MOVES.search(kept or "") is None
    else:
        assert len(reader.problems.found) == 1
