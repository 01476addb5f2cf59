"""The blocks of a summary and of a trend page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from certgen.messages.format import KINDS, MISSING, forms
from certgen.sheet.blocks.charts import stretched
from certgen.sheet.blocks.head_and_foot import list_footer, list_heading
from certgen.sheet.blocks.points import heading_of, left_out_note
from certgen.sheet.engine.block_settings import Chart, Titled
from certgen.sheet.engine.setting import Area, Block, BlockKind, Flow, Setting
from certgen.sheet.engine.table import LEFT, Column, Table, divided, narrowed, set_table, table_block
from certgen.sheet.list_content import SummaryContent, SummaryRow, TrendContent
from certgen.sheet.pdf.fonts import BOLD, Span
from certgen.sheet.words import Words

if TYPE_CHECKING:
    from certgen.sheet.charts.axes import Frame

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
_MOTOR_SHARE, _OUTCOME_SHARE, _SCOPE_SHARE = 1.0, 0.55, 0.9
#: Behind a value that was set: it defines the point, and the others are read off there.
_SET = "*"


def summary_heading(content: SummaryContent, settings: Titled) -> Block:
    """Title, what was listed, shop and page."""
    summary = content.summary
    lines = [content.says(summary.source)] if summary.source else []
    lines.append(_days([row.tested_on for row in summary.rows], content.words))
    return list_heading(settings.title, tuple(line for line in lines if line), summary.shop, content.words)


def _days(days: Sequence[str], words: Words) -> str:
    """From which day to which the tests were made."""
    if not days:
        return ""
    first, last = min(days), max(days)
    return words("summary.day", day=first) if first == last else words("summary.dates", first=first, last=last)


def summary_counts(content: SummaryContent, settings: Titled) -> Block:
    """How many motors, how many came to each outcome, and how many jobs are not in the list, for which reason."""
    words, summary = content.words, content.summary
    counts = ", ".join(f"{count} {content.outcome(outcome)}" for outcome, count in content.counted.items())
    counted = words("summary.counts", count=len(summary.rows), outcomes=counts) if counts else words("summary.none")
    unjudged = words("summary.unjudged", count=len(content.unjudged)) if content.unjudged else ""
    awaiting = words("summary.awaiting", count=len(content.awaiting)) if content.awaiting else ""
    rest = " ".join(part for part in (awaiting, unjudged) if part)

    def set_counts(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.spans([Span(counted, BOLD), Span(rest)])
        return flow.done()

    return Block(set_counts)


def summary_list(content: SummaryContent, settings: Titled) -> Block | None:
    """One row a motor; the table goes on over the pages."""
    rows, words = content.summary.rows, content.words
    if not rows:
        return None
    table = Table(_columns(rows, content), ruled=True)

    def notes(left_out: Sequence[Column]) -> Iterator[str]:
        if any(row.set_by for row in rows):
            yield words("summary.set", sign=_SET)
        if left_out:
            yield left_out_note(left_out, words)

    def part(start: int, end: int) -> Block:
        title = f"{settings.title} {words('page.continued')}" if start and settings.title else settings.title

        def set_part(area: Area) -> Setting:
            flow = Flow(area)
            flow.title(title)
            kept, left_out = narrowed(table.part(start, end), area.width / area.smallest)
            flow.place(set_table(kept, area))
            if end == len(rows):
                for note in notes(left_out):
                    flow.text(note, ink="muted")
            return flow.done()

        def inner(first: int, last: int) -> Block:
            return part(start + first, start + last)

        return Block(set_part, divide=lambda area, room: divided(inner, end - start, area, room))

    return part(0, len(rows))


def summary_not_listed(content: SummaryContent, settings: Titled) -> Block | None:
    """Each job that is not in the list: what it awaits, or why it could not be judged."""
    words, missing = content.words, (*content.awaiting, *content.unjudged)
    if not missing:
        return None
    jobs = Column((words("summary.job"),), tuple(one.job for one in missing), align=LEFT, share=0.6)
    reasons = tuple(content.says(one.reason) for one in missing)
    why = Column((words("summary.why"),), reasons, align=LEFT, share=1.0)
    return table_block(settings.title, Table((jobs, why)), words("page.continued"))


def summary_footer(content: SummaryContent, settings: Titled) -> Block:
    """What the list is and is not."""
    words = content.words
    made = words("summary.made_by", program=content.summary.program) if content.summary.program else ""
    return list_footer((words("summary.scope"), words("footer.legend", missing=MISSING), made, settings.title))


def _columns(rows: Sequence[SummaryRow], content: SummaryContent) -> tuple[Column, ...]:
    words = content.words
    motors = tuple(_motor(row, content) for row in rows)
    outcomes = tuple(content.says(row.headline) if row.headline else content.outcome(row.verdict) for row in rows)
    covered = tuple(content.says(row.scope) if row.scope else MISSING for row in rows)
    scopes = (
        [Column((words("summary.scope_of"),), covered, align=LEFT, share=_SCOPE_SHARE)]
        if any(row.scope for row in rows)
        else []
    )
    return (
        Column((words("summary.number"),), tuple(row.number for row in rows), align=LEFT),
        Column((words("summary.tested_on"),), tuple(map(content.dated, (row.tested_on for row in rows))), align=LEFT),
        Column((words("summary.motor"),), motors, align=LEFT, share=_MOTOR_SHARE),
        Column((words("column.outcome"),), outcomes, align=LEFT, share=_OUTCOME_SHARE, face=BOLD),
        *scopes,
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
        cells = [
            f"{form.plain(form.value(one))}{_SET}" if one is not None and row.set_by == name else cell
            for cell, one, row in zip(cells, values, rows, strict=True)
        ]
        called = content.words(f"name.{quantity}")
        called = content.words("name.in_unit", name=called, unit=form.sign) if index else called
        leave = _SECOND_SYSTEM + at_once if index else at_once
        heading = heading_of(content.words, quantity)
        columns.append(Column(heading, tuple(cells), form.sign, leave=leave, name=called))
    return columns


# The blocks of a trend page: heading, what the chart says, the chart, the tests one by one.


#: Text of the chart, in parts of the body text.
_TEXT = 0.92


def trend_heading(content: TrendContent, settings: Titled) -> Block:
    """Title, motor and quantity, shop and page."""
    trend, words = content.trend, content.words
    name = content.name[:1].upper() + content.name[1:]
    lines: tuple[str, ...] = (words("trend.of", quantity=name, motor=trend.motor),)
    if trend.load:
        lines = (*lines, words("trend.at", load=content.says(trend.load), program=trend.program))
    lines = (*lines, _days([test.tested_on for test in trend.tests], words))
    return list_heading(settings.title, lines, trend.shop, words)


def trend_outcome(content: TrendContent, settings: Titled) -> Block:
    """Whether the tests scatter as before, what broke which rule, and what the limits rest on."""
    sentences = outcome_sentences(content)

    def set_outcome(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.spans([Span(sentences[0], BOLD, "ink"), *(Span(sentence) for sentence in sentences[1:])])
        return flow.done()

    return Block(set_outcome)


def outcome_sentences(content: TrendContent) -> tuple[str, ...]:
    """The outcome first, then limits, then what is missing."""
    trend, words = content.trend, content.words
    limits = trend.limits
    missing = (words("trend.without", numbers=", ".join(trend.without_value)),) if trend.without_value else ()
    if limits is None:
        return (words("trend.too_few", count=len(trend.tests), least=trend.least_tests), *missing)
    of_limits = words(
        "trend.limits",
        centre=content.figure(limits.centre),
        low=content.figure(limits.lower),
        high=content.figure(limits.upper),
    )
    return (words("trend.drifts" if content.signals else "trend.steady"), of_limits, *missing)


def trend_chart(content: TrendContent, settings: Chart) -> Block:
    """The control chart."""

    def draw(canvas: Any, frame: Frame) -> None:
        from certgen.sheet.charts.control_chart import control_drawing

        control_drawing(content, frame).onto(canvas, frame.x, frame.y)

    return stretched(settings, draw, alt=_trend_in_words(content), text=_TEXT)


def _trend_in_words(content: TrendContent) -> str:
    """The control chart for who cannot see it; the table below has every value."""
    return " ".join((content.words("alt.trend", quantity=content.name), *outcome_sentences(content)))


def trend_tests(content: TrendContent, settings: Titled) -> Block:
    """One row a test, with the rules that it broke; the table goes on over the pages."""
    trend, words, form = content.trend, content.words, content.form
    values = tuple(form.number(form.value(test.value), content.decimals) for test in trend.tests)
    broken = tuple(words.joined(content.says(rule) for rule in test.broken) for test in trend.tests)
    name = content.name[:1].upper() + content.name[1:]
    columns = [
        Column((words("load_points.number"),), tuple(str(index + 1) for index in range(len(values)))),
        Column(
            (words("summary.tested_on"),),
            tuple(map(content.dated, (one.tested_on for one in trend.tests))),
            align=LEFT,
        ),
        Column((words("summary.number"),), tuple(test.number for test in trend.tests), align=LEFT),
        Column((name,), values, form.sign),
    ]
    if trend.limits is not None:
        away = tuple(
            form.number(form.spread(test.value - trend.limits.centre), content.decimals) for test in trend.tests
        )
        columns.append(Column((words("trend.from_centre"),), away, form.sign))
    columns.append(Column((words("trend.broken"),), broken, align=LEFT, share=1.0))
    return table_block(settings.title, Table(tuple(columns)), words("page.continued"))


def trend_footer(content: TrendContent, settings: Titled) -> Block:
    """Where limits and rules come from."""
    words, program = content.words, content.trend.program
    made = words("summary.made_by", program=program) if program else ""
    return list_footer((words("trend.source"), made, settings.title))


#: The blocks of a list.
BLOCKS = {
    "summary_heading": BlockKind(summary_heading, "shorten its title"),
    "summary_counts": BlockKind(summary_counts, "give it more of the width"),
    "summary_list": BlockKind(summary_list, "give it the whole width of a row"),
    "summary_not_listed": BlockKind(summary_not_listed, "give it the whole width of a row"),
    "summary_footer": BlockKind(summary_footer, "shorten its title"),
    "trend_heading": BlockKind(trend_heading, "shorten its title"),
    "trend_outcome": BlockKind(trend_outcome, "give it more of the width"),
    "trend_chart": BlockKind(trend_chart, "lower its preferred_height"),
    "trend_tests": BlockKind(trend_tests, "give it the whole width of a row"),
    "trend_footer": BlockKind(trend_footer, "shorten its title"),
}
