from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.document import vocabulary as v
from certgen.document.wording import nearest, says, short
from certgen.job.model import Certificate, Conditions
from certgen.units import DIMENSIONS, read_quantity


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (v.Text(example="used"), "text, for example 'used'"),
        (v.Choice(("arm", "rope")), "one of: arm, rope"),
        (v.Whole(1, 9), "a whole number from 1 to 9"),
        (v.Whole(2, 10, 2), "a whole number from 2 to 10 in steps of 2"),
        (v.Measure("power", bounds="at least 0"), "a number with a unit of power, at least 0, for example '1.5 kW'"),
        (v.Measure("ratio", example="25"), "a number or a percentage, for example '25'"),
        (
            v.Measure("temperature", above=0.0),
            "a number with a unit of temperature, above absolute zero, for example '40 degC'",
        ),
        (v.MeasureOf(("mass", "force")), "a number with its unit, for example '2.5 kg' or '25 N'"),
        (v.Toleranced(v.Measure("length")), "a number with a unit of length, for example '0.5 m'"),
        (v.Day(), "a date such as 2026-03-14"),
        (v.Reference("load_test.csv"), "the name of a file, for example 'load_test.csv'"),
        (v.Each(v.Day()), "a list of a date such as 2026-03-14"),
        (v.Group(Certificate), "keys such as tested_on, tested_by"),
        (v.Group(Conditions), "keys such as ambient, supply_frequency, local_gravity"),
    ],
)  # fmt: skip
def test_every_kind_says_what_to_write(kind: object, words: str) -> None:
    assert says(kind) == words


def test_a_group_by_its_name_says_where_its_keys_go() -> None:
    assert says(v.Group(Certificate), "certificate") == "'certificate:' with tested_on, tested_by below it"


def test_a_kind_without_words_is_a_mistake_of_the_program() -> None:
    with pytest.raises(TypeError):
        says(object())


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_the_example_in_the_words_reads_as_what_is_asked(dimension: str) -> None:
    words = says(v.Measure(dimension))
    for example in words.split("'")[1::2]:
        assert read_quantity(example, dimension) > 0.0


@pytest.mark.parametrize(
    ("name", "advice"),
    [
        ("moter", "did you mean 'motor'"),
        ("Motor", "did you mean 'motor'"),
        ("motors", "did you mean 'motor'"),
        ("xyz", "known here: motor, rig, nameplate"),
        ("", "known here: motor, rig, nameplate"),
    ],
)
def test_the_nearest_known_word_is_named(name: str, advice: str) -> None:
    assert nearest(name, ("motor", "rig", "nameplate")) == advice


@given(name=st.text(max_size=300), known=st.lists(st.text(max_size=100), max_size=60))
def test_advice_is_of_bounded_length(name: str, known: list[str]) -> None:
    assert len(nearest(name, known)) <= 30 * (60 + 4) + 40
    assert len(short(name)) <= 62
