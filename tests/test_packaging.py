"""What the package declares: every library it imports, each in the extra that brings it, versions in one place."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

import certgen

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS = PROJECT["optional-dependencies"]
#: What pandas imports by itself for files of these kinds.
BY_PANDAS = {"fastparquet", "openpyxl"}


def names(requirements: list[str]) -> set[str]:
    return {re.split(r"[\[<>=]", one)[0].lower() for one in requirements}


def imported() -> dict[str, set[str]]:
    """Each library that the package imports, by its name on a registry, with the modules that do."""
    distributions = packages_distributions()
    found: dict[str, set[str]] = {}
    for path in (ROOT / "certgen").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            for top in tops(node):
                if top not in sys.stdlib_module_names and top != "certgen":
                    name = distributions[top][0].lower() if top in distributions else top
                    found.setdefault(name, set()).add(path.relative_to(ROOT).as_posix())
    return found


def tops(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [one.name.split(".")[0] for one in node.names]
    if isinstance(node, ast.ImportFrom) and node.module and not node.level:
        return [node.module.split(".")[0]]
    return []


def test_every_library_that_is_imported_is_declared_and_the_other_way_round() -> None:
    needed = imported()
    extras = set().union(*(names(EXTRAS[extra]) for extra in EXTRAS if extra != "test"))
    declared = names(PROJECT["dependencies"]) | extras
    assert {name: needed[name] for name in set(needed) - declared} == {}
    assert declared - set(needed) == BY_PANDAS


def test_every_dependency_says_its_lowest_version_and_the_tests_can_be_run_on_those() -> None:
    listed = [one for extra in EXTRAS.values() for one in extra if not one.startswith("certgen[")]
    for requirement in [*PROJECT["dependencies"], *listed]:
        assert re.fullmatch(r"[A-Za-z0-9._-]+>=[0-9.]+", requirement), requirement
    script = [sys.executable, str(ROOT / ".ci" / "lowest_versions.py")]
    told = subprocess.run(script, cwd=ROOT, check=True, capture_output=True, text=True).stdout.splitlines()
    bounds = {one.replace(">=", "==") for one in PROJECT["dependencies"]}
    assert bounds <= set(told)
    assert all(re.fullmatch(r"[A-Za-z0-9._-]+[=>]=[0-9.]+", line) for line in told)


def test_the_version_stands_in_one_place() -> None:
    assert "version" in PROJECT["dynamic"]
    assert re.fullmatch(r"\d+\.\d+\.\d+", certgen.__version__)
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert certgen.__version__ not in text


@pytest.mark.parametrize("extra", sorted(set(EXTRAS) - {"test"}))
def test_an_extra_that_is_named_to_a_user_exists(extra: str) -> None:
    """And every extra is named somewhere: in a message of the program or in the handbook."""
    files = [*(ROOT / "certgen").rglob("*.py"), *(ROOT / "docs").glob("*.md"), ROOT / "README.md"]
    told = "\n".join(path.read_text(encoding="utf-8") for path in files)
    named = set(re.findall(r"certgen\[([a-z]+)\]", told))
    assert named <= set(EXTRAS)
    assert extra in named
