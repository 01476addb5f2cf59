"""How a published limit is named on the page, and which standard a criteria set rests on where it has none."""

from __future__ import annotations

from certgen.standards.criteria import STATUSES

IEC, NEMA = "iec-60034-1", "nema-mg-1"


def standard_behind(criteria: str) -> str:
    """The standard whose tables hold beside a criteria set, by the set's name; a shop's own rests on IEC 60034-1."""
    return NEMA if criteria == NEMA else IEC


def cited(title: str, clause: str, status: str) -> str:
    """A source as the page prints it.

    Raises
    ------
    ValueError
        The status is none of those there are.
    """
    if status not in STATUSES:
        raise ValueError(f"{title}, {clause}: unknown status {status!r}")
    if status == "common practice":
        return f"common practice, no source ({clause})"
    return f"{title}, {clause}" + (", from memory" if status == "from memory" else "")
