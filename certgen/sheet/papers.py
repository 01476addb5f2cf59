"""Papers a sheet may be printed on."""

from __future__ import annotations

from dataclasses import dataclass

_INCH = 25.4


@dataclass(frozen=True)
class Paper:
    """Width and height [mm]; a strip has no height of its own and is cut where its content ends, at most ``most``."""

    width: float
    height: float | None
    most: float = 400.0


#: Sources: ISO 216:2007 (A4, A5, A6); ANSI/ASME Y14.1 size A, 8.5 in by 11 in (Letter). Labels of 4 in by 6 in and tape
#: 60 mm wide: common practice, no source.
PAPERS = {
    "a4": Paper(210.0, 297.0),
    "letter": Paper(8.5 * _INCH, 11.0 * _INCH),
    "a5": Paper(148.0, 210.0),
    "a6": Paper(105.0, 148.0),
    "4x6in": Paper(4.0 * _INCH, 6.0 * _INCH),
    "strip60": Paper(60.0, None),
}

#: Papers of a layout that names none.
USUAL = ("a4", "letter")
