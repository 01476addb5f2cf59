"""What the command line says of a sheet."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SheetOptions:
    """What the command line says of the sheet; ``None`` leaves the job's own choice."""

    layout: str | None = None
    paper: str | None = None
    units: str | None = None
