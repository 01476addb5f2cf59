"""The same job, the same bytes: every example under several linear-algebra kernels, and other Pythons where named.

    python tests/studies/kernels.py [--kernels NAME ...] [--pythons PATH ...]

Each example is issued with its record and its results once for every kernel (OPENBLAS_CORETYPE, as numpy's own
linear algebra takes it; one that this processor cannot run is named and passed by) and by every Python given, which must
have the program's libraries. Prints what differs, with the greatest relative difference; exit status 1 if anything does.
A minute for each.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent.parent
KERNELS = ("Haswell", "Nehalem", "Prescott")

_ISSUE = """
import contextlib, io, sys
from pathlib import Path
from certgen.cli import main
out = Path(sys.argv[1])
for job in sorted(Path("example_jobs").glob("*/job.yaml")):
    target = out / job.parent.name
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        main(["issue", str(job), "--record", "--out", f"{target}.pdf", "--results", f"{target}.json"])
"""


def issued(out: Path, python: str, kernel: str) -> bool:
    """Whether every example could be issued into a folder by a Python under a kernel."""
    out.mkdir()
    surroundings = {**os.environ, "OPENBLAS_CORETYPE": kernel, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [python, "-c", _ISSUE, str(out)], cwd=ROOT, env=surroundings, check=False, capture_output=True
    )
    return done.returncode == 0


def leaves(tree: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every value of a tree by its path."""
    if isinstance(tree, dict):
        for name, part in tree.items():
            yield from leaves(part, f"{path}.{name}")
    elif isinstance(tree, list):
        for place, part in enumerate(tree):
            yield from leaves(part, f"{path}[{place}]")
    else:
        yield path, tree


def difference(first: Path, second: Path) -> str:
    """How many values of two results differ, and by how much at most."""
    one, other = (dict(leaves(json.loads(path.read_text(encoding="utf-8")))) for path in (first, second))
    differing = [path for path in one.keys() | other.keys() if one.get(path) != other.get(path)]
    parts = [
        abs(one[path] - other[path]) / max(abs(one[path]), abs(other[path]))
        for path in differing
        if isinstance(one.get(path), float) and isinstance(other.get(path), float)
    ]
    return f"{len(differing)} values, {max(parts, default=0.0):.1e} at most ({', '.join(sorted(differing)[:3])})"


def main() -> int:
    """Issue under each, compare with the first, report."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kernels", nargs="+", default=list(KERNELS))
    parser.add_argument("--pythons", nargs="+", default=[sys.executable])
    options = parser.parse_args()
    by_digest: dict[str, dict[str, list[Path]]] = defaultdict(lambda: defaultdict(list))
    with tempfile.TemporaryDirectory() as folder:
        for number, python in enumerate(options.pythons):
            for kernel in options.kernels:
                out = Path(folder) / f"{number}-{kernel}"
                if not issued(out, python, kernel):
                    print(f"{python} {kernel}: not run on this machine")
                    continue
                for path in out.iterdir():
                    by_digest[path.name][hashlib.sha256(path.read_bytes()).hexdigest()].append(path)
        differing = {name: alike for name, alike in sorted(by_digest.items()) if len(alike) > 1}
        for name, alike in differing.items():
            first, *others = (paths[0] for paths in alike.values())
            print(f"{name}: {len(alike)} kinds")
            if name.endswith(".json"):
                print("\n".join(f"  {other.parent.name}: {difference(first, other)}" for other in others))
    print(f"{len(by_digest)} files, {len(differing)} not the same everywhere")
    return 1 if differing or not by_digest else 0


if __name__ == "__main__":
    sys.exit(main())
