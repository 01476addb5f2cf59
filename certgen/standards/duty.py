"""Duty types as plates write them: how long a motor runs, how it rests, and the form a page prints."""

from __future__ import annotations

import re
from dataclasses import dataclass

CONTINUOUS, SHORT_TIME, INTERMITTENT, WITH_IDLE = "S1", "S2", "S3", "S6"
#: Types of periodic duty whose plate gives the loaded part of a cycle.
PERIODIC = (INTERMITTENT, "S4", "S5", WITH_IDLE)
TYPES = (CONTINUOUS, SHORT_TIME, *PERIODIC, "S7", "S8", "S9", "S10")
#: One cycle of a periodic duty where the plate gives none. [s]
USUAL_CYCLE = 600.0

_TYPE = re.compile(r"S[\s-]?(10|[1-9])(?![0-9])\s*[-:,]?\s*(.*)", re.IGNORECASE | re.DOTALL)
_CONTINUOUS = re.compile(r"CONT(\.|INUOUS)?( DUTY)?|DB", re.IGNORECASE)
_TIME = re.compile(r"(\d+(?:[.,]\d+)?)\s*(MIN(?:\.|UTES?)?|H(?:RS?|OURS?)?)(?![A-Z])", re.IGNORECASE)
_PART = re.compile(r"(\d+(?:[.,]\d+)?)\s*%(?:\s*(?:ED|CDF))?", re.IGNORECASE)
#: Starts an hour, inertias and the like, which S4 and later types add; they are printed and not read.
_FURTHER = ("S4", "S5", "S7", "S8", "S9", "S10")


@dataclass(frozen=True)
class Duty:
    """A duty that was read off a plate; ``printed`` is its form on a page."""

    type: str
    printed: str
    running_time: float | None = None  # of short-time duty [s]
    loaded_part: float | None = None  # of a cycle [1]
    cycle: float | None = None  # of periodic duty [s]

    @property
    def continuous(self) -> bool:
        """Whether rated load may be held for ever."""
        return self.type == CONTINUOUS


def read_duty(written: str | None) -> Duty | None:
    """The duty on a plate.

    Parameters
    ----------
    written : str or None
        As punched: 'S1', 'CONT', 'S2 60 min', '30 MIN', 'S3 40 %', 'S3-25% 10 min', 'S6 40%', '40 % ED'.

    Returns
    -------
    Duty or None
        A plate without a duty is for continuous duty. ``None`` for a text that is no duty, or one that lacks what its
        type needs: the time of S2, the loaded part of S3 and S6.

    References
    ----------
    IEC 60034-1, 4.2, types S1 to S10; the names as a maker and OPC 10020 (Powertrain), Table 74, list them; the cycle of
    10 min from memory. No duty marked means continuous: GOST IEC 60034-1-2014, 5.1.
    """
    text = " ".join((written or "").split())
    if not text or _CONTINUOUS.fullmatch(text):
        return Duty(CONTINUOUS, CONTINUOUS)
    match = _TYPE.fullmatch(text)
    if match is not None:
        return _of_type(f"S{match[1]}", match[2].strip())
    if _TIME.fullmatch(text):
        return _short_time(text)
    return _periodic(INTERMITTENT, text) if _PART.fullmatch(text) else None


def _of_type(kind: str, rest: str) -> Duty | None:
    if kind == CONTINUOUS:
        return Duty(CONTINUOUS, CONTINUOUS)
    if kind == SHORT_TIME:
        return _short_time(rest)
    if kind in PERIODIC:
        return _periodic(kind, rest)
    return Duty(kind, f"{kind} {rest}".strip())


def _short_time(rest: str) -> Duty | None:
    match = _TIME.fullmatch(rest)
    seconds = None if match is None else _seconds(match)
    if not seconds:
        return None
    return Duty(SHORT_TIME, f"{SHORT_TIME} {seconds / 60.0:g} min", running_time=seconds)


def _periodic(kind: str, rest: str) -> Duty | None:
    part, time = _PART.search(rest), _TIME.search(rest)
    beside = _TIME.sub("", _PART.sub("", rest, count=1), count=1).strip(" ,;/-")
    share = None if part is None else _number(part[1]) / 100.0
    cycle = None if time is None else _seconds(time)
    if (beside and kind not in _FURTHER) or share is None or not 0.0 < share <= 1.0 or cycle == 0.0:
        return None
    printed = [f"{kind} {100.0 * share:g} %"]
    if cycle is not None and cycle != USUAL_CYCLE:
        printed.append(f"{cycle / 60.0:g} min")
    printed += [beside] if beside else []
    return Duty(kind, " ".join(printed), loaded_part=share, cycle=cycle or USUAL_CYCLE)


def _seconds(match: re.Match[str]) -> float:
    return _number(match[1]) * (60.0 if match[2].upper().startswith("M") else 3600.0)


def _number(text: str) -> float:
    return float(text.replace(",", "."))
