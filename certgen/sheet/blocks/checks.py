"""The checks drawn: a row each, with the range allowed, the plate's value and what was measured, all on one scale.

The scale runs from limit to limit: the plate's value stands at 0, a lower limit at -1, an upper one at +1, whatever the
quantity, so that plate and limits line up over all rows; between and beyond them it is linear. Where a row has one limit
only, its other side has the same scale. A row without a value of the plate of its own has zero at -1 below an upper limit;
above a lower one every doubling is one step.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from certgen.messages.format import MISSING
from certgen.results.model import Finding
from certgen.sheet.blocks.findings import cells_of, withheld
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import (
    HAIRLINE,
    MM,
    THIN,
    Area,
    Block,
    FaceMark,
    Flow,
    Mark,
    RuleMark,
    Setting,
    SignMark,
    TextMark,
    TooNarrow,
)
from certgen.sheet.pdf.fonts import BASELINE, BOLD, LEADING, REGULAR, width
from certgen.sheet.pdf.structure import HEADING, TABLE, Tag, row_of_cells

#: Rows shown at most, but for those that are no pass.
MOST_ROWS = 8
#: Where the scale ends: what lies beyond stands there with an arrow.
END = 1.55
#: Height of a row, of the bar in it, of the plate's tick. [mm]
ROW, _BAR, _TICK = 4.4, 2.3, 3.4
#: Size of the dot and the square; half the ends of a bar of uncertainty. [pt]
_DOT, _SQUARE, _CAP = 4.6, 4.8, 1.5
#: Width of the scale in mm: the most, and the least it may have.
_WIDEST, _LEAST = 70.0, 26.0
_GUTTER = 0.9
#: Title, scale, measured, allowed, outcome.
_COLUMNS = 5
_PASSED = ("pass", "better")
_NOT_TESTED = "not tested"
#: Checks on the readings themselves, no concern of whoever buys the motor while they pass.
_OF_READINGS = ("energy_balance",)


@dataclass(frozen=True)
class Check:
    """One row: its words, and its places on the scale; ``low`` and ``high`` only where there is such a limit."""

    title: str
    measured: str
    allowed: str
    outcome: str
    at: float | None  # None: not tested
    reach: tuple[float, float] | None  # the uncertainty about it
    low: float | None
    high: float | None
    plate: float | None
    inside: bool

    @property
    def beyond(self) -> bool:
        """Whether it lies off the scale."""
        return self.at is not None and abs(self.at) > END


def place(value: float, low: float | None, plate: float | None, high: float | None) -> float:
    """Where a value stands on the scale of its row.

    Parameters
    ----------
    value : float
        What was measured. [unit of the row]
    low, high : float or None
        The limits; at least one. [unit of the row]
    plate : float or None
        The value of the plate; ``None`` where there is none, or where it is the limit itself. [unit of the row]

    Returns
    -------
    float
        0 at the plate, -1 at the lower and +1 at the upper limit.
    """
    if plate is None and low is not None and high is not None:
        plate = 0.5 * (low + high)
    if plate is None:
        return _without_plate(value, low, high)
    above = high - plate if high is not None else plate - low if low is not None else math.nan
    below = plate - low if low is not None else above
    return (value - plate) / (above if value >= plate else below)


def _without_plate(value: float, low: float | None, high: float | None) -> float:
    """One limit alone: zero at -1 below an upper one; above a lower one every doubling is a step."""
    if high is not None:
        return 2.0 * value / high - 1.0 if high else math.copysign(math.inf, value)
    if low is None or low <= 0.0:
        return math.copysign(math.inf, value)
    return math.log2(value / low) - 1.0 if value > 0.0 else -math.inf


def check_of(finding: Finding, content: Content) -> Check:
    """A finding as a row."""
    title, _, allowed, measured, sign, _ = cells_of(finding, content)
    outcome = content.outcome(finding.outcome)
    required = finding.required
    low, high = (required.low, required.high) if required else (None, None)
    plate = finding.declared if finding.declared not in (low, high) else None
    value, spread = finding.measured, finding.expanded_uncertainty
    if finding.outcome == _NOT_TESTED:
        value = None  # a figure that nothing is said of would read as one that keeps its limit
    at = reach = None
    if value is not None and not (low is None and high is None):
        at = place(value, low, plate, high)
        if spread:
            reach = (place(value - spread, low, plate, high), place(value + spread, low, plate, high))
    inside = value is not None and (low is None or value >= low) and (high is None or value <= high)
    return Check(
        title,
        f"{measured} {sign}".rstrip() if value is not None else MISSING,
        allowed,
        f"({outcome})" if withheld(finding, content) or not finding.decides else outcome,
        at,
        reach,
        None if low is None else -1.0,
        None if high is None else 1.0,
        0.0 if plate is not None else None,
        inside,
    )


def margin(finding: Finding) -> float:
    """How far a value lies inside its nearest limit, in uncertainties or, without one, in parts of the limit."""
    required, value = finding.required, finding.measured
    if required is None or value is None:
        return math.inf
    bounds = [value - required.low] if required.low is not None else []
    bounds += [required.high - value] if required.high is not None else []
    nearest = min(bounds, default=math.inf)
    scale = max(abs(bound) for bound in (required.low, required.high, 1e-12) if bound is not None)
    return nearest / scale


def shown(findings: Sequence[Finding]) -> tuple[tuple[Finding, ...], int]:
    """The findings that stand on the certificate, in their order, and how many passes stand on the record alone.

    What is no pass always stands here; of the passes those that matter, the narrowest first.
    """
    failed = [one for one in findings if one.outcome not in (*_PASSED, _NOT_TESTED)]
    passed = [one for one in findings if one.outcome in _PASSED and one.decides and one.id not in _OF_READINGS]
    untested = [one for one in findings if one.outcome == _NOT_TESTED and one.decides]
    rest = sorted(passed, key=margin) + untested
    kept = {id(one) for one in (*failed, *rest[: max(0, MOST_ROWS - len(failed))])}
    counted = sum(one.outcome in _PASSED and id(one) not in kept for one in findings)
    return tuple(one for one in findings if id(one) in kept), counted


def checks(content: Content, settings: Titled) -> Block | None:
    """The rows under their heading, and below them what limits and bars mean; nothing where nothing was checked."""
    results, words = content.results, content.words
    listed, more = shown(results.findings)
    if not listed:
        return None
    rows = tuple(check_of(finding, content) for finding in listed)
    notes = [words("checks.note", criteria=content.says(results.conditions.criteria))]
    if any(row.outcome.startswith("(") for row in rows):
        notes.insert(0, words("checks.information"))
    if more:
        notes.insert(0, words("checks.more", count=more))

    def set_checks(area: Area) -> Setting:
        try:
            columns = _columns(rows, area, settings.title, content)
        except TooNarrow:
            area = replace(area, size=area.smallest)
            columns = _columns(rows, area, settings.title, content)
        flow, within = Flow(area), Tag(TABLE)
        _set_title(settings.title, flow)
        _set_heading(rows, columns, flow, content, row_of_cells(within, _COLUMNS, heads=_COLUMNS))
        top = flow.y
        for row in rows:
            _set_row(row, columns, flow, row_of_cells(within, _COLUMNS, first=True))
        if any(row.plate is not None for row in rows):
            middle = columns.x(0.0)
            flow.marks.insert(0, RuleMark(middle, top, middle, flow.y, HAIRLINE, "ink", (1.0, 1.6)))
        flow.space(0.1)
        flow.text(" ".join(notes))
        return flow.done()

    return Block(set_checks)


@dataclass(frozen=True)
class Columns:
    """Where the columns stand: right edges of the figures, both ends of the scale. [pt]"""

    title: float
    left: float
    right: float
    measured: float
    allowed: float
    outcome: float

    def x(self, place: float) -> float:
        """A place on the scale, held at its ends."""
        part = (min(max(place, -END), END) + END) / (2.0 * END)
        return self.left + part * (self.right - self.left)


def _columns(rows: Sequence[Check], area: Area, title: str, content: Content) -> Columns:
    """Words and figures as wide as they are, the scale what is left.

    Raises
    ------
    TooNarrow
        Less than 26 mm are left.
    """
    size, words = area.size, content.words

    def widest(texts: Sequence[str], head: str, face: str = REGULAR) -> float:
        return max([*(width(text, face, size) for text in texts), width(head, REGULAR, size)])

    gutter = _GUTTER * size
    outcome = widest([row.outcome for row in rows], "", BOLD)
    allowed = widest([row.allowed for row in rows], words("checks.allowed"))
    measured = widest([row.measured for row in rows], words("checks.measured"))
    figures = outcome + allowed + measured + 4 * gutter
    titles = max(widest([row.title for row in rows], ""), width(title, BOLD, size * 1.08))
    scale = min(_WIDEST * MM, area.width - figures - titles)
    if scale < _LEAST * MM:
        raise TooNarrow(_LEAST * MM - scale)
    left = area.width - figures - scale + gutter
    edge = area.width
    return Columns(
        left - gutter, left, left + scale, edge - outcome - allowed - 2 * gutter, edge - outcome - gutter, edge
    )


def _set_title(title: str, flow: Flow) -> None:
    """The title under a rule, on the line of the headings."""
    flow.rule(THIN, "bar")
    flow.space(0.25)
    if title:
        size = flow.area.scaled(1.08)
        flow.marks.append(TextMark(0.0, _heading_base(flow), title, BOLD, size, "title", Tag(HEADING)))


def _heading_base(flow: Flow) -> float:
    return flow.y + BASELINE * flow.area.size * 1.08


def _set_heading(rows: Sequence[Check], columns: Columns, flow: Flow, content: Content, tags: Sequence[Tag]) -> None:
    """What stands over the scale and the figures; nothing over titles and words."""
    size, words, base = flow.area.size, content.words, _heading_base(flow)
    for at, key, name in ((-1.0, "checks.limit", "low"), (0.0, "checks.plate", "plate"), (1.0, "checks.limit", "high")):
        if all(getattr(row, name) is None for row in rows):
            continue
        text = words(key)
        left = columns.x(at) - width(text, REGULAR, size) / 2
        flow.marks.append(TextMark(left, base, text, REGULAR, size, "ink", tags[1]))
    for edge, key, tag in (
        (columns.measured, "checks.measured", tags[2]),
        (columns.allowed, "checks.allowed", tags[3]),
    ):
        text = words(key)
        flow.marks.append(TextMark(edge - width(text, REGULAR, size), base, text, REGULAR, size, "ink", tag))
    flow.y += LEADING * size * 1.08


def _set_row(row: Check, columns: Columns, flow: Flow, tags: Sequence[Tag]) -> None:
    """One row: title, drawing, figures flush right, the word."""
    size = flow.area.size
    high = max(ROW * MM, LEADING * size)
    middle = flow.y + high / 2
    base = middle + 0.36 * size
    flow.marks.append(TextMark(0.0, base, row.title, REGULAR, size, "ink", tags[0]))
    flow.marks += drawing_of(row, columns, middle)
    for edge, text, face, tag in (
        (columns.measured, row.measured, REGULAR, tags[2]),
        (columns.allowed, row.allowed, REGULAR, tags[3]),
        (columns.outcome, row.outcome, BOLD, tags[4]),
    ):
        if text:
            flow.marks.append(TextMark(edge - width(text, face, size), base, text, face, size, "ink", tag))
    flow.y += high


def drawing_of(row: Check, columns: Columns, middle: float) -> list[Mark]:
    """The allowed range, the plate's tick, and what was measured: a dot inside, a square outside; none if untested."""
    if row.low is None and row.high is None:
        return []
    half = _BAR * MM / 2
    low = columns.x(-END if row.low is None else row.low)
    high = columns.x(END if row.high is None else row.high)
    marks: list[Mark] = [FaceMark(low, middle - half, high - low, 2 * half, "pale")]
    marks += [RuleMark(low, middle + up, high, middle + up, HAIRLINE, "ink") for up in (-half, half)]
    for bound, x in ((row.low, low), (row.high, high)):
        if bound is not None:
            marks.append(RuleMark(x, middle - 1.35 * half, x, middle + 1.35 * half, 1.3, "ink"))
    if row.plate is not None:
        x, tick = columns.x(row.plate), _TICK * MM / 2
        marks.append(RuleMark(x, middle - tick, x, middle + tick, THIN, "ink"))
    if row.at is None:
        return marks
    return [*marks, *_from_limit(row, columns, middle), *_measured(row, columns, middle)]


def _from_limit(row: Check, columns: Columns, middle: float) -> list[Mark]:
    """A fine line from the limit to what lies outside it, so that no square stands by itself."""
    bound = row.low if (row.at or 0.0) < 0.0 else row.high
    if row.inside or bound is None:
        return []
    return [RuleMark(columns.x(bound), middle, columns.x(row.at or 0.0), middle, THIN, "ink", (1.6, 1.2))]


def _measured(row: Check, columns: Columns, middle: float) -> list[Mark]:
    x = columns.x(row.at or 0.0)
    marks: list[Mark] = []
    if row.reach is not None and not row.beyond:
        low, high = (columns.x(end) for end in row.reach)
        if high - low > _DOT:
            marks.append(RuleMark(low, middle, high, middle, 1.0, "ink"))
            marks += [RuleMark(end, middle - _CAP, end, middle + _CAP, 0.8, "ink") for end in (low, high)]
    if row.beyond:  # off the scale: the sign stands within, an arrow at the end says which way it lies
        out = math.copysign(1.0, row.at or 0.0)
        x -= out * 1.9 * _DOT
        marks.append(RuleMark(x, middle, x + out * 1.9 * _DOT, middle, 1.0, "ink"))
        marks += [
            RuleMark(x + out * 1.2 * _DOT, middle + up, x + out * 1.9 * _DOT, middle, 1.0, "ink") for up in (-1.8, 1.8)
        ]
    shape, size = ("o", _DOT) if row.inside else ("s", _SQUARE)
    return [*marks, SignMark(x, middle, shape, size)]
