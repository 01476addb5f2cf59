"""A list of labels with texts beside them, as several blocks need it."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.sheet.fonts import REGULAR, width
from certgen.sheet.setting import Area, Flow, Setting

_GAP = 0.9
_WIDEST_LABEL = 0.45


def set_pairs(pairs: Sequence[tuple[str, str]], area: Area) -> Setting:
    """Labels in one column, their texts wrapped in another."""
    flow = Flow(area)
    labels = max((width(label, REGULAR, area.size) for label, _ in pairs), default=0.0)
    labels = min(labels, _WIDEST_LABEL * area.width)
    x = labels + _GAP * area.size
    for label, text in pairs:
        top = flow.y
        flow.text(label, ink="muted", room=labels)
        after_label, flow.y = flow.y, top
        flow.text(text, x=x)
        flow.y = max(flow.y, after_label)
    return flow.done()
