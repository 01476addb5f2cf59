"""The lines that bring a recording into a job file."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

from certgen.readings.recording.rows import REMARK, Header

_PLAIN = re.compile(r"[\w%*/^()°·²Ω.][\w%*/^()°·²Ω. -]*")


def job_lines(file: str, headers: Sequence[Header]) -> list[str]:
    """A load test that reads a recording, as it stands in a job file below ``readings``."""
    lines = ["  load_test:", f"    file: {_scalar(file)}", "    columns:"]
    for one in headers:
        if one.name == REMARK:
            lines.append(f"      {one.name}: {{from: {_scalar(one.heading)}}}")
        elif one.name:
            lines.append(f"      {one.name}: {{from: {_scalar(one.heading)}, unit: {_scalar(one.unit)}}}")
    return [*lines, "    steady: {hold: 5 s}    # find the steady stretches; left out: each line is a load point"]


def _scalar(text: str) -> str:
    """A text in YAML, in quotes where it needs them."""
    plain = _PLAIN.fullmatch(text) is not None and text[0] not in "%*" and not text.endswith(" ")
    return text if plain else json.dumps(text, ensure_ascii=False)
