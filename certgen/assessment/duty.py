"""How long a load must be held before a rise of temperature says something, by the duty on the plate."""

from __future__ import annotations

import re
from dataclasses import dataclass

#: Duty types by their letters: IEC 60034-1, 4.2, from memory. 'CONT' and a bare time are how NEMA plates write it.
_CONTINUOUS = re.compile(r"S ?1\b.*|CONT.*", re.IGNORECASE)
_SHORT_TIME = re.compile(r"(?:S ?2\b\D*)?(\d+) ?MIN.*", re.IGNORECASE)


@dataclass(frozen=True)
class Duty:
    """Continuous, short-time with its running time [s], or a kind that is not judged (both fields unset)."""

    continuous: bool = False
    running_time: float | None = None


def duty_of(written: str | None) -> Duty:
    """The duty as the plate writes it; a plate that writes none means continuous duty."""
    text = (written or "S1").strip()
    if _CONTINUOUS.fullmatch(text):
        return Duty(continuous=True)
    short = _SHORT_TIME.fullmatch(text)
    return Duty(running_time=60.0 * float(short[1])) if short and float(short[1]) > 0.0 else Duty()
