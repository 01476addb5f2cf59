"""The shipped tables as plain data."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from typing import Any

import yaml

from certgen.document.source import LOADER


@lru_cache(maxsize=32)
def shipped_table(name: str) -> Any:
    """The data of one YAML file of this folder, read once."""
    text = resources.files("certgen.standards").joinpath(f"{name}.yaml").read_text(encoding="utf-8")
    return yaml.load(text, Loader=LOADER)
