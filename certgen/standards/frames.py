"""What a frame number says of shaft height and shaft diameter."""

from __future__ import annotations

import re
from dataclasses import dataclass

from certgen.messages.catalogue import Message
from certgen.standards.criteria import cited, shipped_table

_INCH, _MILLIMETRE = 0.0254, 1e-3
_WRITTEN = re.compile(r"(?:(IEC|NEMA)\s*)?([0-9]{2,3})\s*([A-Z]{0,3})")
#: Letters behind a frame of two digits that leave its shaft as it is: a face, a longer foot.
_SAME_SHAFT = ("", "C", "H")


@dataclass(frozen=True)
class Frame:
    """A frame of one standard: height of the shaft above the feet and the diameters its shaft may have. [m]"""

    standard: str
    height: float
    diameters: tuple[float, ...]
    source: Message | str


def frames_named(written: str) -> tuple[Frame, ...]:
    """The frames that a marking may mean; none where no table has it, two where IEC and NEMA both have the number.

    Parameters
    ----------
    written : str
        As on the plate: '90L', '143T', 'IEC 56', 'NEMA 56C'.
    """
    found = _WRITTEN.fullmatch(" ".join(written.upper().split()))
    if found is None:
        return ()
    standard, number, letters = found.groups()
    frames = []
    if standard != "NEMA":
        frames += _iec(number, letters)
    if standard != "IEC":
        frames += _nema(number, letters)
    return tuple(frames)


def _iec(number: str, letters: str) -> list[Frame]:
    table = shipped_table("frame_sizes")["iec"]
    shafts = table["shaft_mm"].get(int(number))
    if shafts is None or letters not in ("", "S", "M", "L"):
        return []
    diameters = tuple(sorted({one * _MILLIMETRE for one in shafts}))
    return [Frame("IEC", int(number) * _MILLIMETRE, diameters, _cited(table))]


def _nema(number: str, letters: str) -> list[Frame]:
    table = shipped_table("frame_sizes")["nema"]
    sizes = table["inches"]
    name = number if len(number) == 2 and letters in _SAME_SHAFT else f"{number}{letters.removesuffix('C')}"
    if name not in sizes:
        return []
    height, diameter = sizes[name]
    return [Frame("NEMA", height * _INCH, (diameter * _INCH,), _cited(table))]


def _cited(table: dict[str, str]) -> Message | str:
    return cited(table["title"], table["clause"], table["status"])
