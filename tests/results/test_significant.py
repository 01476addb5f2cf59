"""Eight significant digits, and what keeps its own."""

from __future__ import annotations

import dataclasses
import json
import math
from decimal import Context, Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.messages.catalogue import Message
from certgen.pipeline import assess_job
from certgen.quantity import Quantity
from certgen.results.model import LogLeftOut
from certgen.results.serialization import as_json
from certgen.results.significant import SIGNIFICANT_DIGITS, significant, to_significant

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parent.parent.parent / "example_jobs"
#: Written in a file, or an instant of a log: as it was read.
AS_READ = ("certificate", "motor", "nameplate", "readings", "traceability")
TIMES = ("from_", "from", "to", "seconds", "seconds_used", "hold", "time")


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_the_nearest_decimal_number_of_eight_digits(value):
    # Decimal arithmetic of the standard library rounds by itself, half to even as the printing of floats does.
    expected = float(Context(prec=SIGNIFICANT_DIGITS).create_decimal(Decimal(value)))
    assert significant(value) == expected
    assert significant(significant(value)) == significant(value)
    if abs(value) > 1e-300:
        assert significant(value) == pytest.approx(value, rel=0.5e-7)


def test_messages_within_messages_and_quantities_are_rounded():
    inner = Message("inner", part=1.0 / 3.0)
    said = Message("outer", inner=inner, many=(2.0 / 3.0, "text"), shown=Quantity(math.pi, "W", math.e, 2.0, True))
    assert to_significant(said) == Message(
        "outer",
        inner=Message("inner", part=0.33333333),
        many=(0.66666667, "text"),
        shown=Quantity(3.1415927, "W", 2.7182818, 2.0, True),
    )


def test_counts_and_times_stay_exact():
    left = LogLeftOut(Message("inner"), count=123456789012, from_=1234.567890123, to=2.0 / 3.0, fault=True)
    assert to_significant(left) == left


def _too_long(tree, name=""):
    if isinstance(tree, dict):
        for key, part in tree.items():
            if key not in TIMES:
                yield from _too_long(part, key)
    elif isinstance(tree, list):
        for part in tree:
            yield from _too_long(part, name)
    elif isinstance(tree, float) and tree != significant(tree):
        yield name, tree


@pytest.mark.parametrize("example", ["three_phase_full_plate", "logged_load_test", "swept_motor", "home_bench"])
def test_every_computed_number_of_the_results_carries_eight_digits(example):
    results = assess_job(EXAMPLES / example / "job.yaml").results
    tree = json.loads(as_json(results))
    assert [*_too_long({name: part for name, part in tree.items() if name not in AS_READ})] == []
    assert to_significant(results) == results
    assert all(getattr(to_significant(results), name) == getattr(results, name) for name in AS_READ)
    assert {field.name for field in dataclasses.fields(results)} >= set(AS_READ)
