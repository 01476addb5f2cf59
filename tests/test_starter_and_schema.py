"""What ``certgen new`` and ``certgen schema`` give."""

from __future__ import annotations

import dataclasses
import json
import re
from importlib import resources
from pathlib import Path

import jsonschema
import pytest
import yaml

from certgen.cli import COMMANDS, main
from certgen.commands.schema import schema_text
from certgen.document.schema import key_schemas
from certgen.document.vocabulary import Day, key
from certgen.issuing.lists import awaits_test
from certgen.pipeline import assess_job
from certgen.results.serialization import as_json

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parent.parent / "example_jobs"
TESTED = [job for job in sorted(EXAMPLES.glob("*/job.yaml")) if not awaits_test(job)]


class Text(yaml.SafeLoader):
    """YAML with dates left as text, as an editor's validator sees them."""


Text.yaml_implicit_resolvers = {
    sign: [(tag, pattern) for tag, pattern in found if tag != "tag:yaml.org,2002:timestamp"]
    for sign, found in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def read(path):
    return yaml.load(path.read_text(encoding="utf-8"), Loader=Text)


@pytest.mark.parametrize("of", ["job", "rig", "shop", "layout", "criteria", "results"])
def test_schemas_are_schemas(of):
    jsonschema.Draft202012Validator.check_schema(json.loads(schema_text(of)))


def test_starter_checks_clean_and_fits_the_schemas(tmp_path, capsys):
    assert main(["new", str(tmp_path / "bench")]) == 0
    job, rig = tmp_path / "bench" / "motor_1" / "job.yaml", tmp_path / "bench" / "rigs" / "arm_brake.yaml"
    shop = tmp_path / "bench" / "shop.yaml"
    assert capsys.readouterr().out.split() == [str(job), str(rig), str(shop)]
    assert main(["check", str(job)]) == 0
    jsonschema.validate(read(job), json.loads(schema_text("job")))
    jsonschema.validate(read(rig), json.loads(schema_text("rig")))
    jsonschema.validate(read(shop), json.loads(schema_text("shop")))


@pytest.mark.parametrize("example", TESTED, ids=lambda path: path.parent.name)
def test_the_results_of_every_example_fit_their_schema(example):
    """JSON Schema 2020-12, checked by the jsonschema library."""
    schema = json.loads(schema_text("results"))
    tree = json.loads(as_json(assess_job(example).results))
    assert tree["format"] == 1
    assert [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(tree)] == []
    assert _unknown(tree, schema, schema) == set()
    del tree["verdict"]["outcome"]
    assert not jsonschema.Draft202012Validator(schema).is_valid(tree)


def _unknown(tree, schema, root):
    """Keys of a tree that its schema does not name, as paths."""
    if "$ref" in schema:
        schema = root["$defs"][schema["$ref"].rpartition("/")[2]]
    for choice in schema.get("anyOf", ()):
        if jsonschema.Draft202012Validator({**choice, "$defs": root["$defs"]}).is_valid(tree):
            return _unknown(tree, choice, root)
    if isinstance(tree, dict) and "properties" in schema:
        new = set(tree) - set(schema["properties"])
        if schema["properties"].get("values") == {"type": "object"}:
            return new
        parts = (_unknown(part, schema["properties"][name], root) for name, part in tree.items() if name not in new)
        return new.union(*parts)
    if isinstance(tree, list):
        return set().union(*(_unknown(part, schema["items"], root) for part in tree))
    return set()


def test_starter_never_overwrites(tmp_path, capsys):
    assert main(["new", str(tmp_path)]) == 0
    job = tmp_path / "motor_1" / "job.yaml"
    job.write_text("mine", encoding="utf-8")
    capsys.readouterr()
    assert main(["new", str(tmp_path)]) == 2
    assert "left as it is" in capsys.readouterr().err
    assert job.read_text(encoding="utf-8") == "mine"


def test_schema_refuses_what_the_program_refuses(tmp_path):
    main(["new", str(tmp_path)])
    job = read(tmp_path / "motor_1" / "job.yaml")
    job["nameplate"]["powr"] = "1 kW"
    with pytest.raises(jsonschema.ValidationError, match="powr"):
        jsonschema.validate(job, json.loads(schema_text("job")))


def test_schema_says_what_is_recorded_only():
    @dataclasses.dataclass
    class Group:
        used: str | None = key(Day(), "Changes a result.")
        kept: str | None = key(Day(), "Changes none.", evaluated=False)

    keys = key_schemas(Group)
    assert "not evaluated" in keys["kept"]["description"]
    assert "not evaluated" not in keys["used"]["description"]


def test_every_key_kept_in_a_remark_of_the_starter_works(tmp_path, capsys):
    """With the '#' of every key taken away, job and rig are still without a mistake and state their uncertainty.

    The gear alone stays behind its sign: the example rows are of a motor without one.
    """
    main(["new", str(tmp_path)])
    key_behind_sign = re.compile(r"^(\s*)# (?!gear)(\s*\w+: |\s+\{|\w+:$)", re.MULTILINE)
    taken = 0
    for name in ("motor_1/job.yaml", "rigs/arm_brake.yaml"):
        path = tmp_path / name
        text, count = key_behind_sign.subn(r"\1\2", path.read_text(encoding="utf-8"))
        path.write_text(text, encoding="utf-8")
        taken += count
    assert taken > 15
    capsys.readouterr()
    assert main(["check", str(tmp_path / "motor_1" / "job.yaml")]) == 0
    assert re.search(r"^  at rated current: torque \S+ ± \S+ N·m", capsys.readouterr().out, re.MULTILINE)


def test_the_starter_names_the_commands_that_take_it_on():
    text = resources.files("certgen.starter").joinpath("job.yaml").read_text(encoding="utf-8")
    for command in ("plan", "check", "issue", "record"):
        assert f"certgen {command}" in text
        assert command in COMMANDS
