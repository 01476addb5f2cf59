"""What a tag's code holds: lines of plain text, a word and its value each, the same whatever units the page prints.

The handbook documents the lines (``docs/sheets.md``); scanners and scripts may rely on them.
"""

from __future__ import annotations

from certgen.sheet.content import Content, headline_point
from certgen.sheet.figures import MISSING, plain
from certgen.sheet.tag_figures import tag_point
from certgen.units import from_si

FIRST_LINE = "certgen tag 1"

#: Headline figures in the order of their lines, each with its unit as the unit registry writes it.
FIGURES = (
    ("power", "shaft_power", "W"),
    ("torque", "torque", "N*m"),
    ("speed", "speed", "rpm"),
    ("current", "current", "A"),
    ("voltage", "voltage", "V"),
    ("frequency", "frequency", "Hz"),
)
#: Longest number in a code, so that it stays small enough to print.
_LONGEST = 80


def code_text(content: Content) -> str:
    """The text of the code."""
    certificate = content.results.certificate
    lines = [FIRST_LINE, f"number {(certificate.number or MISSING)[:_LONGEST]}"]
    if certificate.revision > 1:
        lines.append(f"revision {certificate.revision}")
    lines += [f"tested {certificate.tested_on.isoformat()}", f"verdict {content.results.verdict.outcome}"]
    named = headline_point(content.results)
    lines += [f"{word} {value}" for word, value in _figures(content)] if named else []
    if content.digest is not None:
        lines.append(f"{content.digest.of}-sha256 {content.digest.sha256}")
    return "\n".join(lines)


def _figures(content: Content) -> list[tuple[str, str]]:
    point = tag_point(content)
    found = [(word, getattr(point, name), unit) for word, name, unit in FIGURES]
    return [(word, f"{plain(from_si(item.value, unit))} {unit}") for word, item, unit in found if item is not None]
