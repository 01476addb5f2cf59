"""The register handed on: CSV for a spreadsheet, JSON for a program."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from dataclasses import asdict

from certgen.archive.register.search import Registered

#: Columns of either form, with the unit of a value in its name.
COLUMNS = {
    "number": "number", "revision": "revision", "verdict": "verdict", "tested_on": "tested_on", "tested_by": "tested_by",
    "issued_to": "issued_to", "motor_type": "motor_type", "maker": "maker", "model": "model", "serial": "serial",
    "description": "description", "voltage": "voltage_V", "power": "power_W", "torque": "torque_Nm",
    "speed": "speed_rad_per_s", "current": "current_A", "efficiency": "efficiency", "reason": "revision_reason",
    "replacement": "replaced_by", "because": "replaced_because", "file": "file", "pdf_sha256": "pdf_sha256",
    "entered_at": "entered_at",
}  # fmt: skip

#: A cell that begins so is run as a formula by spreadsheets (OWASP, CSV injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")  # the last four in full width


def as_csv(found: Iterable[Registered]) -> str:
    """Comma-separated text (RFC 4180) with a header; no cell is a formula."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS.values())
    for one in found:
        row = _row(one)
        writer.writerow([_harmless(row[name]) for name in COLUMNS])
    return text.getvalue()


def as_json(found: Iterable[Registered]) -> str:
    """A JSON list of the same columns; what is not known is null."""
    rows = []
    for one in found:
        row = _row(one)
        rows.append({title: row[name] for name, title in COLUMNS.items()})
    return json.dumps(rows, ensure_ascii=False, indent=1) + "\n"


def _row(one: Registered) -> dict[str, object]:
    return asdict(one) | {"replacement": one.replacement}


def _harmless(value: object) -> object:
    """A text that a spreadsheet would run gets an apostrophe before it, which makes it text there."""
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.9g}"
    text = str(value)
    return f"'{text}" if text.startswith(_FORMULA) else text
