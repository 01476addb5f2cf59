"""Small faults put into the program one at a time: does a test notice each?

    python tests/studies/mutations.py [--mutants N] [--seed S] [--room NAME] [--minutes M]

Takes a sample of places over all rooms where a comparison, an operator, a constant, a condition or a returned value can
be wrong, makes each wrong in a copy of the program, and runs the tests that stand nearest first (those named like the
module, then its room's, then the examples) until one fails. Prints every mutant that survived, with its line, and the share
that was noticed; what a reader then finds to change no behaviour (a tolerance beside a test, a cache, a wording for
developers) is to be taken off the count. Half a minute for each, as a rule.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
PACKAGE = ROOT / "certgen"
#: Seconds after which a mutant that hangs its tests counts as noticed.
HANGS = 900

_COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
    ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
_COMPUTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}  # fmt: skip


@dataclass(frozen=True)
class Place:
    """Where a fault can be put: a module, the how-manieth node of its tree, and what the line says."""

    module: Path
    node: int
    line: int
    what: str


def _faults(node: ast.AST) -> Iterator[tuple[str, Callable[[ast.AST], None]]]:
    """What can be made wrong at a node, in words, and how."""
    match node:
        case ast.Compare(ops=[op]) if type(op) in _COMPARED:
            other = _COMPARED[type(op)]
            yield f"{type(op).__name__} -> {other.__name__}", lambda made: setattr(made, "ops", [other()])
        case ast.BinOp(op=op) if type(op) in _COMPUTED and not _of_texts(node):
            swapped = _COMPUTED[type(op)]
            yield f"{type(op).__name__} -> {swapped.__name__}", lambda made: setattr(made, "op", swapped())
        case ast.BoolOp(op=op):
            turned: ast.boolop = ast.Or() if isinstance(op, ast.And) else ast.And()
            yield "and <-> or", lambda made: setattr(made, "op", turned)
        case ast.Constant(value=bool() as value):
            yield f"{value} -> {not value}", lambda made: setattr(made, "value", not value)
        case ast.Constant(value=(int() | float()) as value):
            wrong = value + 1 if isinstance(value, int) else value * 1.2 or 1.0
            yield f"{value} -> {wrong}", lambda made: setattr(made, "value", wrong)
        case ast.IfExp() | ast.If():
            yield "condition negated", _negated


def _negated(node: ast.AST) -> None:
    assert isinstance(node, ast.IfExp | ast.If)
    node.test = ast.UnaryOp(op=ast.Not(), operand=node.test)


def _of_texts(node: ast.BinOp) -> bool:
    parts = (node.left, node.right)
    return any(isinstance(part, ast.JoinedStr | ast.Constant) and not _is_number(part) for part in parts)


def _is_number(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, int | float)


def _passed_by(tree: ast.Module) -> set[int]:
    """Nodes of annotations, decorators and ``__all__``: nothing runs there that a test could see."""
    passed: set[int] = set()
    for node in ast.walk(tree):
        parts: list[ast.AST] = []
        if isinstance(node, ast.AnnAssign):
            parts = [node.annotation]
        elif isinstance(node, ast.FunctionDef):
            parts = [*node.decorator_list, *([node.returns] if node.returns else [])]
            parts += [one.annotation for one in (*node.args.args, *node.args.kwonlyargs) if one.annotation]
        elif isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            parts = [node]
        passed |= {id(inner) for part in parts for inner in ast.walk(part)}
    return passed


def places(module: Path) -> Iterator[Place]:
    """Every place of a module where a fault can be put."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    passed = _passed_by(tree)
    for index, node in enumerate(ast.walk(tree)):
        if id(node) not in passed:
            yield from (Place(module, index, getattr(node, "lineno", 0), what) for what, _ in _faults(node))


def mutated(place: Place) -> str:
    """The module's text with its fault. Comments are lost, which no test reads."""
    tree = copy.deepcopy(ast.parse(place.module.read_text(encoding="utf-8")))
    node = list(ast.walk(tree))[place.node]
    for what, put in _faults(node):
        if what == place.what:
            put(node)
    return ast.unparse(ast.fix_missing_locations(tree))


def tests_of(module: Path) -> list[list[str]]:
    """Tests in the order they are worth running, nearest first, as groups."""
    room, stem = module.relative_to(PACKAGE).parts[0].removesuffix(".py"), module.stem
    every = [path.relative_to(ROOT) for path in sorted((ROOT / "tests").rglob("test_*.py"))]
    near = [str(path) for path in every if stem in path.stem]
    of_room = [f"tests/{room}"] if (ROOT / "tests" / room).is_dir() else []
    of_page = ["tests/test_example_jobs.py", "tests/sheet/test_render.py", "tests/published"]
    return [group for group in (near, of_room, of_page) if group]


def noticed(place: Place) -> bool:
    """Whether a test fails, or hangs, with the fault in place."""
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder)
        shutil.copytree(PACKAGE, tree / "certgen", ignore=shutil.ignore_patterns("__pycache__"))
        for name in ("tests", "example_jobs", "layouts", "docs", "README.md", "DEVELOPERS.md", "pyproject.toml", ".ci"):
            (tree / name).symlink_to(ROOT / name)
        (tree / place.module.relative_to(ROOT)).write_text(mutated(place), encoding="utf-8")
        return any(_fails(tree, tests) for tests in tests_of(place.module))


def _fails(tree: Path, tests: list[str]) -> bool:
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
    surroundings = {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(
            command,
            cwd=tree,
            env=surroundings,
            check=False,
            capture_output=True,
            stdin=subprocess.DEVNULL,
            timeout=HANGS,
        )
    except subprocess.TimeoutExpired:
        return True
    return done.returncode not in (0, 5)  # 5: the paths hold no test


def sample(count: int, seed: int, room: str | None) -> list[Place]:
    """Places drawn so that every room has its turn, in the order of the draw."""
    by_room: dict[str, list[Place]] = {}
    for module in sorted(PACKAGE.rglob("*.py")):
        name = module.relative_to(PACKAGE).parts[0].removesuffix(".py")
        if room in (None, name):
            by_room.setdefault(name, []).extend(places(module))
    chance = random.Random(seed)
    for held in by_room.values():
        chance.shuffle(held)
    drawn: list[Place] = []
    while len(drawn) < count and any(by_room.values()):
        drawn += [held.pop() for held in by_room.values() if held]
    return drawn[:count]


def main() -> int:
    """Run the study; 0 where 95 per cent or more were noticed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--mutants", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--room")
    parser.add_argument("--minutes", type=float, default=float("inf"), help="begin no further mutant after this time")
    arguments = parser.parse_args()
    started, tried, survived = time.monotonic(), 0, 0
    for place in sample(arguments.mutants, arguments.seed, arguments.room):
        if time.monotonic() - started > 60.0 * arguments.minutes:
            break
        tried += 1
        if not noticed(place):
            survived += 1
            line = place.module.read_text(encoding="utf-8").splitlines()[place.line - 1].strip()
            print(
                f"survived  {place.module.relative_to(ROOT)}:{place.line}  {place.what}\n          {line}", flush=True
            )
    share = (tried - survived) / tried if tried else 0.0
    print(f"{tried} mutants, {tried - survived} noticed ({100 * share:.1f} %)")
    return 0 if share >= 0.95 else 1


if __name__ == "__main__":
    sys.exit(main())
