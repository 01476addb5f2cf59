"""The shipped tables as plain data."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from typing import Any

import yaml

try:
    from yaml import CSafeLoader as _Loader
except ImportError:  # PyYAML built without libyaml
    from yaml import SafeLoader as _Loader  # type: ignore[assignment]


@lru_cache(maxsize=32)
def shipped_table(name: str) -> Any:
    """The data of one YAML file of this folder, read once."""
    text = resources.files("certgen.standards").joinpath(f"{name}.yaml").read_text(encoding="utf-8")
    return yaml.load(text, Loader=_Loader)
