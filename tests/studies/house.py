"""The size and the shape of the program, measured: files, lines, imports, comments, circles, what an issue loads.

    python tests/studies/house.py

Prints one line a figure, as DEVELOPERS.md carries them. Nothing is asserted here; ``tests/test_import_order.py`` keeps the
rules. A few seconds.
"""

from __future__ import annotations

import ast
import io
import statistics
import subprocess
import sys
import tokenize
from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
PACKAGE = ROOT / "certgen"
#: Below this many lines a module is hardly a subject of its own.
SMALL = 60
_ISSUE = (
    "import sys, tempfile; from certgen.cli import main\n"
    "main(['issue', 'example_jobs/three_phase_full_plate/job.yaml', '--out', tempfile.mkdtemp()])\n"
    "print(sum(name.split('.')[0] == 'certgen' for name in sys.modules), file=sys.stderr)"
)


class Module:
    """One file of the program, as a measurer sees it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.text = path.read_text(encoding="utf-8")
        self.tree = ast.parse(self.text)
        self.lines = len(self.text.splitlines())

    @cached_property
    def name(self) -> str:
        """Its dotted name."""
        parts = self.path.relative_to(ROOT).with_suffix("").parts
        return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)

    @cached_property
    def comments(self) -> int:
        """Lines that carry a comment, those for a tool (``noqa``, ``type:``) apart."""
        tokens = tokenize.generate_tokens(io.StringIO(self.text).readline)
        said = (token.string for token in tokens if token.type == tokenize.COMMENT)
        return sum(not any(mark in text for mark in ("noqa", "type:", "fmt:")) for text in said)

    @cached_property
    def code(self) -> int:
        """Lines that are neither blank, comment nor docstring."""
        prose = set(_docstring_lines(self.tree))
        rows = enumerate(self.text.splitlines(), 1)
        return sum(bool(row.strip()) and not row.strip().startswith("#") and place not in prose for place, row in rows)

    @cached_property
    def import_lines(self) -> int:
        """Lines its import statements fill."""
        nodes = [node for node in ast.walk(self.tree) if isinstance(node, ast.Import | ast.ImportFrom)]
        return sum((node.end_lineno or node.lineno) - node.lineno + 1 for node in nodes)

    def imports(self, names: set[str]) -> set[str]:
        """Which modules of these it imports, wherever the import stands."""
        taken: set[str] = set()
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Import):
                taken |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                taken |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        return taken & names - {self.name, "certgen"}

    def assigned(self) -> Counter[str]:
        """How often each name is given a value: assignments, loops, comprehensions."""
        stored = (node for node in ast.walk(self.tree) if isinstance(node, ast.Name))
        return Counter(node.id for node in stored if isinstance(node.ctx, ast.Store))


def _docstring_lines(tree: ast.Module) -> Iterator[int]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
            yield from range(node.lineno, (node.end_lineno or node.lineno) + 1)


def circles(graph: dict[str, set[str]]) -> int:
    """How many groups of modules import each other in a ring (strongly connected parts of more than one)."""
    reach: dict[str, set[str]] = {}
    for start in graph:
        seen: set[str] = set()
        front = [start]
        while front:
            for other in graph[front.pop()] - seen:
                seen.add(other)
                front.append(other)
        reach[start] = seen
    rings = {frozenset(other for other in reach[one] if one in reach[other]) for one in graph if one in reach[one]}
    return len(rings)


def loaded_by_issue() -> int:
    """How many modules of the program one certificate loads, in a process of its own."""
    done = subprocess.run([sys.executable, "-c", _ISSUE], cwd=ROOT, check=True, capture_output=True, text=True)
    return int(done.stderr.splitlines()[-1])


def figures() -> Iterator[tuple[str, str]]:
    """Every figure by what it counts."""
    modules = [Module(path) for path in sorted(PACKAGE.rglob("*.py"))]
    names = {module.name for module in modules}
    graph = {module.name: module.imports(names) for module in modules}
    users: dict[str, set[str]] = defaultdict(set)
    for name, taken in graph.items():
        for other in taken:
            users[other].add(name)
    alone = [name for name in names if len(users[name]) == 1]
    siblings = [name for name in alone if min(users[name]).rpartition(".")[0] == name.rpartition(".")[0]]
    code = sum(module.code for module in modules)
    full = [module for module in modules if module.path.name != "__init__.py"]
    stored = sum((module.assigned() for module in modules), Counter[str]())
    yield "files", f"{len(modules)}"
    yield "lines", f"{sum(module.lines for module in modules)}"
    yield "lines of code", f"{code}"
    yield "imports, per cent of code", f"{100 * sum(module.import_lines for module in modules) / code:.1f}"
    yield "comments per 100 lines of code", f"{100 * sum(module.comments for module in modules) / code:.1f}"
    yield "median module, lines", f"{statistics.median(module.lines for module in full):.0f}"
    yield "longest module, lines", f"{max(module.lines for module in full)}"
    yield f"modules under {SMALL} lines", f"{sum(module.lines < SMALL for module in full)}"
    yield "modules with one importer", f"{len(alone)}, a sibling's {len(siblings)}"
    yield "rings of imports", f"{circles(graph)}"
    yield "modules one issue loads", f"{loaded_by_issue()}"
    yield "the name `one` given a value", f"{stored['one']}"
    yield "the name `found` given a value", f"{stored['found']}"
    by_room: Counter[str] = Counter()
    for module in full:
        by_room[module.path.relative_to(PACKAGE).parts[0]] += module.lines
    for room, lines in sorted(by_room.items()):
        if (PACKAGE / room).is_dir():
            files = sum(module.path.relative_to(PACKAGE).parts[0] == room for module in full)
            yield f"  {room}/", f"{files} files, {lines} lines"


if __name__ == "__main__":
    for what, figure in figures():
        print(f"{what:<34} {figure}")
