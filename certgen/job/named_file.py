"""A file of the shop's own that stands where a known name could."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from certgen.document.build import FileReference
from certgen.document.references import find, shown_name
from certgen.document.wording import nearest
from certgen.job.load import LoadedJob

_YAML = (".yaml", ".yml")


def named_file(name: str, key: str, known: Iterable[str], loaded: LoadedJob) -> tuple[Path, str] | None:
    """A file of the shop's own that stands where a known name could, and how messages call it; mistakes are kept."""
    reader = loaded.reader
    place = reader.places.get(key, (1, 1))
    if not name.endswith(_YAML):
        instead = f"{nearest(name, known)}, or name a file ending in .yaml"
        reader.problems.add(reader.shown, place, f"{key}: '{name[:40]}' is not known", instead)
        return None
    reference = FileReference(name, place)
    path = find(reference, reader, loaded.folder, key)
    return None if path is None else (path, shown_name(reader, reference))
