"""What certgen needs in the lowest versions that pyproject.toml allows, and what its fast tests need, a line each."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

#: What the fast tests leave alone: checks of style and types, and libraries only other tests compare with.
LEFT_OUT = {"certgen", "distributed", "dss-python", "mypy", "pytest-xdist", "ruff"}


def lowest(requirements: list[str]) -> list[str]:
    """Each requirement at its lower bound."""
    found = [re.fullmatch(r"([A-Za-z0-9._-]+)(?:\[.*\])?(?:>=([0-9.]+))?", one) for one in requirements]
    named = [(match[1], match[2]) for match in found if match is not None and match[1] not in LEFT_OUT]
    return [f"{name}=={version}" for name, version in named]


def main() -> None:
    """Print them all."""
    project = tomllib.loads(Path("pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    promised = [*project["dependencies"], *(one for name, extra in extras.items() if name != "test" for one in extra)]
    pinned = lowest(promised)
    named = {one.split("==")[0] for one in pinned} | LEFT_OUT
    tools = [one for one in extras["test"] if one.split(">=")[0].split("[")[0] not in named]
    print("\n".join(sorted([*pinned, *tools], key=str.lower)))


if __name__ == "__main__":
    main()
