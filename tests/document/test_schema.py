from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from certgen.document import vocabulary as v
from certgen.document.build import Reader
from certgen.document.schema import kind_schema, quantity_pattern, schema_of
from certgen.document.source import Problems
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.standards.criteria import CriteriaSet
from certgen.units import USUAL_UNITS


def leaves(of: type, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every kind below a dataclass that is no group, with its path."""
    for name, field in v.keys_of(of).items():
        kind = field.metadata["kind"]
        while isinstance(kind, v.Each):
            kind = kind.kind
        if isinstance(kind, v.Group):
            yield from leaves(kind.of, f"{path}{name}.")
        elif not isinstance(kind, v.Custom):
            yield f"{path}{name}", kind


LEAVES = [
    pytest.param(kind, id=f"{of.__name__}: {path}") for of in (Job, Rig, CriteriaSet) for path, kind in leaves(of)
]


@pytest.mark.parametrize("kind", LEAVES)
def test_every_example_of_the_schema_is_one_that_is_read(kind: Any) -> None:
    schema = kind_schema(kind)
    if isinstance(kind, (v.Toleranced, v.PlateMeasure)):
        schema = schema["anyOf"][0]
    examples = schema.get("examples") or schema.get("enum") or [schema.get("minimum", "2026-03-14")]
    for example in examples:
        problems = Problems()
        reader = Reader("file.yaml", Path(), problems)
        node = yaml.compose(json.dumps(str(example), ensure_ascii=False), Loader=yaml.SafeLoader)
        assert reader.value(kind, node, "key") is not None
        assert not problems.found


@pytest.mark.parametrize("of", [Job, Rig, CriteriaSet])
def test_the_schema_knows_the_keys_the_reader_knows(of: type) -> None:
    schema = schema_of(of, "x")
    keys = v.keys_of(of)
    assert list(schema["properties"]) == list(keys)
    needed = {name: field.metadata["unless"] for name, field in keys.items() if field.metadata["required"]}
    assert schema.get("required", []) == [name for name, unless in needed.items() if not unless]
    either = [{"anyOf": [{"required": [name]}, {"required": [unless]}]} for name, unless in needed.items() if unless]
    assert schema.get("allOf", []) == either
    assert schema["additionalProperties"] is False


def test_keys_that_may_be_left_empty_may_be_null() -> None:
    properties = schema_of(Job, "x")["properties"]
    assert {"type": "null"} in properties["criteria"]["anyOf"]
    assert "anyOf" not in properties["certificate"]


def test_a_kind_without_a_schema_is_a_mistake_of_the_program() -> None:
    with pytest.raises(TypeError):
        kind_schema(object())


@pytest.mark.parametrize(
    ("dimension", "good", "wrong"),
    [
        ("power", ("1.5 kW", "1/2 hp", "1 1/2 hp", "2.0e3 W", "1.5 kilowatt"), ("1.5", "1.5 A", "kW", "1500 rpm")),
        ("torque", ("9.87 N*m", "12.4 lbf*ft", "9.87 N m"), ("9.87 N", "9.87", "9.87 kg")),
        ("speed", ("1425 rpm", "1425 1/min", "23 turn/s"), ("1425", "1425 Hz", "rpm")),
        ("temperature", ("40 degC", "-5 degC", "70 degF"), ("40", "40 V")),
        ("ratio", ("0.79", "82.8 %", "1"), ("0.79 A", "good")),
    ],
)
def test_a_wrong_unit_shows_in_the_editor(dimension: str, good: tuple[str, ...], wrong: tuple[str, ...]) -> None:
    """JSON Schema 2020-12, checked by the jsonschema library."""
    schema = jsonschema.Draft202012Validator(kind_schema(v.Measure(dimension)))
    assert [text for text in good if not schema.is_valid(text)] == []
    assert [text for text in wrong if schema.is_valid(text)] == []


@pytest.mark.parametrize("unit", sorted(USUAL_UNITS))
def test_every_usual_unit_fits_the_pattern_of_its_own_dimension(unit: str) -> None:
    dimension = USUAL_UNITS[unit][0]
    assert re.search(quantity_pattern((dimension,)), f"12.5 {unit}")
    assert re.search(quantity_pattern((dimension,)), f"12.5{unit}")
