"""The lowest versions that pyproject.toml allows of what certgen and its fast tests need, a requirement a line."""

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
    return [f"{name}=={version}" for name, version in named if not name.startswith("types-")]


def main() -> None:
    """Print them all."""
    project = tomllib.loads(Path("pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    listed = [*project["dependencies"], *(one for extra in extras.values() for one in extra)]
    print("\n".join(sorted(set(lowest(listed)), key=str.lower)))


if __name__ == "__main__":
    main()
