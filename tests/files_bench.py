"""One table of a job read from files that a test writes, without a job around it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from certgen.document.build import Reader
from certgen.document.source import Problems
from certgen.job.rig import Rig
from certgen.job.table import table
from certgen.readings.model import FileRead, Table
from certgen.readings.read import Room


@dataclass(frozen=True)
class Result:
    """The table, what was found in its files, and the mistakes as a person reads them."""

    table: Table | None
    files: tuple[FileRead, ...]
    mistakes: tuple[str, ...]

    @property
    def good(self) -> Table:
        """The table, where nothing was wrong."""
        assert self.mistakes == ()
        assert self.table is not None
        return self.table

    @property
    def file(self) -> FileRead:
        """What was found in the one file."""
        assert self.mistakes == ()
        (file,) = self.files
        return file

    @property
    def notes(self) -> tuple[str, ...]:
        """The notes on the one file in English."""
        return tuple(map(str, self.file.notes))


def read(folder: Path, declared: str, files: Mapping[str, str | bytes] | None = None, rig: Any = None) -> Result:
    """A table declared as YAML, with its files written beside it."""
    for name, data in (files or {}).items():
        (folder / name).write_bytes(data if isinstance(data, bytes) else data.encode("utf-8"))
    reader = Reader("job.yaml", folder, Problems())
    source = reader.value(table(), yaml.compose(declared, Loader=yaml.SafeLoader), "load_test")
    room = Room(folder, rig or Rig())
    found = None if source is None else room.table(source, reader)
    mistakes = tuple(str(one).replace(f"{folder}/", "") for one in sorted(reader.problems.found))
    return Result(found, tuple(room.files), mistakes)
