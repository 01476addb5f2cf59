"""The blocks of a summary: heading, counts, the list, and what it is worth."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.sheet.block_settings import Titled
from certgen.sheet.blocks.list_heading import list_footer, list_heading
from certgen.sheet.figures import KINDS, MISSING, forms
from certgen.sheet.fonts import BOLD, Span
from certgen.sheet.point_table import heading_of, left_out_note
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.summary_content import SummaryContent, SummaryRow
from certgen.sheet.table import LEFT, Column, Table, divided, narrowed, set_table

#: Values of a row, each with its name among the quantities of a load point, and how soon it goes for lack of width.
_VALUES = (
    ("power", "shaft_power", 0),
    ("torque", "torque", 0),
    ("speed", "speed", 0),
    ("current", "current", 0),
    ("voltage", "voltage", 2),
    ("efficiency", "efficiency", 1),
)
#: A column that says in the other system what its neighbour says already goes before all others.
_SECOND_SYSTEM = 20
_MOTOR_SHARE = 1.0


def summary_heading(content: SummaryContent, settings: Titled) -> Block:
    """Title, what was listed, shop and page."""
    summary = content.summary
    lines = (content.says(summary.source),) if summary.source else ()
    return list_heading(settings.title, lines, summary.shop, content.words)


def summary_counts(content: SummaryContent, settings: Titled) -> Block:
    """How many motors, how many came to each outcome, and how many jobs are not in the list."""
    words, summary = content.words, content.summary
    counts = ", ".join(f"{count} {content.outcome(outcome)}" for outcome, count in content.counted.items())
    told = words("summary.counts", count=len(summary.rows), outcomes=counts) if counts else words("summary.none")
    unjudged = words("summary.unjudged", count=summary.unjudged) if summary.unjudged else ""

    def set_counts(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.spans([Span(told, BOLD), Span(unjudged)])
        return flow.done()

    return Block(set_counts)


def summary_list(content: SummaryContent, settings: Titled) -> Block | None:
    """One row a motor; the table goes on over the pages."""
    rows, words = content.summary.rows, content.words
    if not rows:
        return None
    table = Table(_columns(rows, content), ruled=True)

    def part(start: int, end: int) -> Block:
        title = f"{settings.title} {words('page.continued')}" if start and settings.title else settings.title

        def set_part(area: Area) -> Setting:
            flow = Flow(area)
            flow.title(title)
            kept, left_out = narrowed(table.part(start, end), area.width / area.smallest)
            flow.place(set_table(kept, area))
            if left_out and end == len(rows):
                flow.text(left_out_note(left_out, words), ink="muted")
            return flow.done()

        def inner(first: int, last: int) -> Block:
            return part(start + first, start + last)

        return Block(set_part, divide=lambda area, room: divided(inner, end - start, area, room))

    return part(0, len(rows))


def summary_footer(content: SummaryContent, settings: Titled) -> Block:
    """What the list is and is not."""
    words = content.words
    made = words("summary.made_by", program=content.summary.program) if content.summary.program else ""
    return list_footer((words("summary.scope"), words("footer.legend", missing=MISSING), made, settings.title))


def _columns(rows: Sequence[SummaryRow], content: SummaryContent) -> tuple[Column, ...]:
    words = content.words
    motors = tuple(_motor(row, content) for row in rows)
    return (
        Column((words("summary.number"),), tuple(row.number for row in rows), align=LEFT),
        Column((words("summary.tested_on"),), tuple(row.tested_on for row in rows), align=LEFT),
        Column((words("summary.motor"),), motors, align=LEFT, share=_MOTOR_SHARE),
        Column((words("column.outcome"),), tuple(content.outcome(row.verdict) for row in rows), align=LEFT, face=BOLD),
        *(column for value in _VALUES for column in _value_columns(rows, content, value)),
    )


def _motor(row: SummaryRow, content: SummaryContent) -> str:
    if not row.replaced_by:
        return row.motor
    return f"{row.motor} ({content.words('summary.replaced', number=row.replaced_by)})"


def _value_columns(rows: Sequence[SummaryRow], content: SummaryContent, value: tuple[str, str, int]) -> list[Column]:
    """The columns of a value, one a system; each figure with its own digits, as motors of all sizes stand together."""
    name, quantity, at_once = value
    values: list[float | None] = [getattr(row, name) for row in rows]
    known = [one for one in values if one is not None]
    columns = []
    for index, form in enumerate(forms(KINDS[quantity], content.units, max(map(abs, known))) if known else ()):
        cells = []
        for one in values:
            shown = form.value(one) if one is not None else 0.0
            cells.append(MISSING if one is None else form.number(shown, form.places([shown])))
        called = content.words(f"name.{quantity}")
        called = content.words("name.in_unit", name=called, unit=form.sign) if index else called
        leave = _SECOND_SYSTEM + at_once if index else at_once
        heading = heading_of(content.words, quantity)
        columns.append(Column(heading, tuple(cells), form.sign, leave=leave, name=called))
    return columns
