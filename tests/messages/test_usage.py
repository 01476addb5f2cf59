"""The catalogue and the program belong together: every key is used, every place is filled, no sentence stands elsewhere."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import certgen
from certgen.messages.catalogue import catalogue, places_of

PACKAGE = Path(certgen.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))
#: What makes a message, or a text of a page, of a key.
MAKERS = {"Message", "words"}


@cache
def tree_of(module: Path) -> ast.Module:
    return ast.parse(module.read_text(encoding="utf-8"))


def _patterns(tree: ast.AST) -> Iterator[str]:
    """Every text constant, and every text with gaps as a pattern: a gap stands for one or more parts of a key."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield re.escape(node.value)
        elif isinstance(node, ast.JoinedStr):
            parts = (
                re.escape(str(part.value)) if isinstance(part, ast.Constant) else r"[a-z_0-9.]+" for part in node.values
            )
            pattern = "".join(parts)
            if re.match(r"[a-z_]+\\\.", pattern):
                yield pattern


def used_keys() -> set[str]:
    """Keys that stand in the code, whole or made of parts, or in a shipped table."""
    patterns = {pattern for module in MODULES for pattern in _patterns(tree_of(module))}
    tables = "\n".join(
        table.read_text(encoding="utf-8") for table in PACKAGE.rglob("*.yaml") if table.parent.name != "messages"
    )
    whole = {re.sub(r"\\(.)", r"\1", pattern) for pattern in patterns if "[a-z_0-9.]+" not in pattern}
    made = [re.compile(pattern) for pattern in patterns if "[a-z_0-9.]+" in pattern]
    return {
        key
        for key in catalogue()
        if key in whole
        or any(pattern.fullmatch(key) for pattern in made)
        or re.search(rf"\b{re.escape(key)}\b", tables)
    }


def test_every_key_is_used() -> None:
    assert sorted(catalogue().keys() - used_keys()) == []


def _calls() -> Iterator[tuple[str, ast.Call]]:
    for module in MODULES:
        for node in ast.walk(tree_of(module)):
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                name = ast.unparse(node.func).split(".")[-1]
                if name in MAKERS and isinstance(node.args[0].value, str):
                    yield f"{module.relative_to(PACKAGE)}:{node.lineno}", node


def test_every_key_that_is_asked_for_is_there() -> None:
    missing = [(place, key) for place, node in _calls() if (key := _key(node)) not in catalogue()]
    assert missing == []


def test_every_place_is_filled_and_nothing_else_is_given() -> None:
    wrong = []
    for place, node in _calls():
        given = {word.arg for word in node.keywords}
        if None in given:
            continue
        places = set(places_of(catalogue()[_key(node)]))
        # A text that is handed on as a template is asked for without values.
        if given != places and (given or ast.unparse(node.func).endswith("Message")):
            wrong.append((place, _key(node), sorted(map(str, given ^ places))))
    assert wrong == []


def _key(node: ast.Call) -> str:
    constant = node.args[0]
    assert isinstance(constant, ast.Constant)
    return str(constant.value)
