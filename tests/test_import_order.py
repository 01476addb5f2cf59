"""The rooms stand in one direction: each imports earlier ones and the floor; heavy libraries stay in their place."""

from __future__ import annotations

import ast
import importlib
import inspect
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import certgen

pytestmark = pytest.mark.slow

PACKAGE = Path(certgen.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))
ROOMS = ("job", "readings", "reduction", "results", "assessment", "planning", "sheet", "archive")
FLOOR = ("document", "physics", "standards", "messages", "errors", "units", "quantity")
#: The version and the public names live in the package itself; modules take only the version from it.
ROOT = "certgen"
#: What stands above the rooms and may import them all.
ABOVE = (
    "pipeline",
    "issuing",
    "cli",
    "commands",
    "plotting",
    "frames",
    "recorder",
    "stopping",
    "streams",
    "terminal",
    "starter",
    "__main__",
    "__init__",
)


def part(module: Path) -> str:
    """The room, or the part of the floor, that a module belongs to."""
    return module.relative_to(PACKAGE).parts[0].removesuffix(".py")


def dotted(module: Path) -> str:
    parts = module.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def tree_of(module: Path) -> ast.Module:
    return ast.parse(module.read_text(encoding="utf-8"))


@cache
def imported(module: Path) -> frozenset[str]:
    """Every module imported anywhere in a file: at the top, within functions, and for type checking only."""
    return frozenset(_imports(tree_of(module), module))


def _imports(tree: ast.AST, module: Path) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: a relative import hides where it leads"
            assert node.module is not None
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in ("import_module", "__import__"):
            raise AssertionError(f"{module}: an import by name hides from this test")


def own_parts(module: Path) -> set[str]:
    """The rooms and parts of the floor a module imports."""
    names = {name.split(".")[1] for name in imported(module) if name.startswith(f"{ROOT}.")}
    return names - {"__version__"}


def libraries(module: Path) -> set[str]:
    return {name.split(".")[0] for name in imported(module)}


def of(*parts: str) -> list[Path]:
    return [module for module in MODULES if part(module) in parts]


def test_every_module_belongs_somewhere() -> None:
    assert {part(module) for module in MODULES} == {*ROOMS, *FLOOR, *ABOVE}


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_earlier_rooms_and_the_floor_only(room: str) -> None:
    allowed = {*ROOMS[: ROOMS.index(room) + 1], *FLOOR}
    assert of(room)
    for module in of(room):
        assert own_parts(module) <= allowed, dotted(module)


def test_the_floor_imports_no_room() -> None:
    for module in of(*FLOOR):
        assert own_parts(module) <= set(FLOOR), dotted(module)


#: Whose functions judge by what they are given; of formulas and reduction they name types and constants only.
JUDGES = "assessment"
#: The evidence of a test draws curves of its own through the readings, to hold each row against the others.
EVIDENCE = "certgen.assessment.plausibility."
#: How likely a decision is wrong is part of the decision rule; the sentence on what was assumed is words alone.
MAY_TAKE = {
    ("certgen.assessment.decision", "probability_below"),
    ("certgen.assessment.conditions", "assumed_in_words"),
}


def test_what_judges_computes_nothing() -> None:
    """Assessment takes from physics the array types, and from reduction what it hands on, but no function of either."""
    for module in of(JUDGES):
        if dotted(module).startswith(EVIDENCE):
            continue
        for source, name in _names_taken(module, "physics", "reduction"):
            if (dotted(module), name) in MAY_TAKE:
                continue
            where = f"{dotted(module)} takes {name} from {source}"
            assert not source.startswith("certgen.physics") or source == "certgen.physics.domain", where
            taken = getattr(importlib.import_module(source), name)
            assert not (inspect.isroutine(taken) or inspect.ismodule(taken)), where


def test_figures_know_nothing_of_their_judgement() -> None:
    assert of("results")
    for module in of("results"):
        assert JUDGES not in own_parts(module), dotted(module)


def _names_taken(module: Path, *parts: str) -> Iterator[tuple[str, str]]:
    """Module and name of everything a file imports from some parts of the program; no module is taken whole."""
    for node in ast.walk(tree_of(module)):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[1:2] in [[one] for one in parts]:
            yield from ((node.module, alias.name) for alias in node.names)


@pytest.mark.parametrize(
    ("floor", "allowed"),
    [
        ("errors", set()),
        ("quantity", set()),
        ("units", set()),
        ("physics", {"physics", "errors"}),
        ("document", {"document", "errors", "units", "quantity"}),
        ("messages", {"messages", "physics", "errors", "units", "quantity"}),
        ("standards", {"standards", "physics", "messages", "document", "errors", "units", "quantity"}),
    ],
)
def test_the_floor_is_laid_in_order_too(floor: str, allowed: set[str]) -> None:
    for module in of(floor):
        assert own_parts(module) <= allowed, dotted(module)


@pytest.mark.parametrize("name_of_part", [*FLOOR, *ROOMS])
def test_the_modules_of_a_part_form_no_circle(name_of_part: str) -> None:
    """No module is reached again from what it imports, wherever in the file the import stands."""
    by_name = {dotted(module): module for module in of(name_of_part)}
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join((*trail, name))
        if name in done:
            return
        for other in sorted(imported(by_name[name]) & by_name.keys() - {ROOT}):
            visit(other, (*trail, name))
        done.add(name)

    for name in sorted(by_name):
        visit(name, ())
    assert done == set(by_name)


@pytest.mark.parametrize("library", ["yaml", "reportlab", "pandas", "matplotlib", "pint"])
def test_reduction_computes_on_numbers_alone(library: str) -> None:
    for module in of("reduction", "physics"):
        assert library not in libraries(module), dotted(module)


def test_physics_needs_numpy_and_nothing_else() -> None:
    allowed = {
        "numpy",
        "math",
        "statistics",
        "dataclasses",
        "collections",
        "typing",
        "functools",
        "__future__",
        "certgen",
    }
    for module in of("physics"):
        assert libraries(module) <= allowed, dotted(module)


def test_pint_stands_in_units_only() -> None:
    assert {dotted(module) for module in MODULES if "pint" in libraries(module)} == {"certgen.units"}


def test_what_draws_stands_in_the_sheet_only() -> None:
    assert {part(module) for module in MODULES if "reportlab" in libraries(module)} == {"sheet"}


def test_pictures_for_screens_are_drawn_in_one_place() -> None:
    assert {part(module) for module in MODULES if "matplotlib" in libraries(module)} <= {"plotting"}


@pytest.mark.parametrize("library", ["pypdf", "pyhanko", "pyhanko_certvalidator", "cryptography", "asn1crypto"])
def test_what_reads_and_signs_pages_stands_in_the_archive_only(library: str) -> None:
    users = [module for module in MODULES if library in libraries(module)]
    assert {part(module) for module in users} == {"archive"}
    for module in users:
        tree = tree_of(module)
        assert library not in set(_module_level_imports(tree)), dotted(module)


@pytest.mark.parametrize("library", ["scipy", "pikepdf", "fontTools", "hypothesis", "pytest"])
def test_what_only_tests_need_is_not_imported(library: str) -> None:
    for module in MODULES:
        assert library not in libraries(module), dotted(module)


def test_a_module_is_a_subject() -> None:
    for module in MODULES:
        vague = ("utils", "helpers", "common", "manager", "misc", "util", "helper", "base", "core")
        assert module.stem not in vague, dotted(module)
        text = module.read_text(encoding="utf-8")
        assert len(text.splitlines()) <= 550, dotted(module)
        assert ast.get_docstring(tree_of(module)), dotted(module)


def _module_level_imports(tree: ast.Module) -> Iterator[str]:
    for node in tree.body:
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module.split(".")[0]


@pytest.mark.parametrize("library", ["pandas", "matplotlib", "reportlab", "pint"])
def test_heavy_libraries_load_where_they_are_used(library: str) -> None:
    for module in of(*FLOOR, *ABOVE, "job", "readings", "reduction", "results", "assessment", "planning", "archive"):
        tree = tree_of(module)
        assert library not in set(_module_level_imports(tree)), dotted(module)
