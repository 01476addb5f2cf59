from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from certgen.document import vocabulary as v
from certgen.document.build import Reader
from certgen.document.schema import kind_schema, schema_of
from certgen.document.source import Problems
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.standards.criteria import CriteriaSet


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
