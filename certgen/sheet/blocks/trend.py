"""The blocks of a trend page: heading, what the chart says, the chart, the tests one by one."""

from __future__ import annotations

from typing import Any

from certgen.sheet.block_settings import Chart, Titled
from certgen.sheet.blocks.list_heading import list_footer, list_heading
from certgen.sheet.fonts import BOLD, Span
from certgen.sheet.setting import MM, Area, Block, ChartMark, Flow, Setting, Stretch
from certgen.sheet.table import LEFT, Column, Table, table_block
from certgen.sheet.trend_content import TrendContent

#: Text of the chart, in parts of the body text.
_TEXT = 0.92


def trend_heading(content: TrendContent, settings: Titled) -> Block:
    """Title, motor and quantity, shop and page."""
    trend, words = content.trend, content.words
    name = content.name[:1].upper() + content.name[1:]
    lines = (words("trend.of", quantity=name, motor=trend.motor),)
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
    told = words(
        "trend.limits",
        centre=content.figure(limits.centre),
        low=content.figure(limits.lower),
        high=content.figure(limits.upper),
    )
    return (words("trend.drifts" if content.signals else "trend.steady"), told, *missing)


def trend_chart(content: TrendContent, settings: Chart) -> Block:
    """The control chart."""
    heights = (settings.minimum_height, settings.preferred_height, settings.maximum_height)
    minimum, preferred, maximum = (height * 1000.0 * MM for height in heights)

    def set_chart(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        height = area.height or minimum
        size = area.scaled(_TEXT)

        def paint(canvas: Any, x: float, y: float, width: float, height: float) -> None:
            from certgen.sheet.charts import Frame
            from certgen.sheet.control_chart import control_drawing

            control_drawing(content, Frame(x, y, width, height, size)).onto(canvas, x, y)

        flow.marks.append(ChartMark(0.0, flow.y, area.width, height - flow.y, paint))
        flow.y = height
        return flow.done()

    return Block(set_chart, Stretch(minimum, preferred, maximum))


def trend_tests(content: TrendContent, settings: Titled) -> Block:
    """One row a test, with the rules that it broke; the table goes on over the pages."""
    trend, words, form = content.trend, content.words, content.form
    values = tuple(form.number(form.value(test.value), content.decimals) for test in trend.tests)
    broken = tuple("; ".join(content.says(rule) for rule in test.broken) for test in trend.tests)
    name = content.name[:1].upper() + content.name[1:]
    columns = [
        Column((words("load_points.number"),), tuple(str(index + 1) for index in range(len(values)))),
        Column((words("summary.tested_on"),), tuple(test.tested_on for test in trend.tests), align=LEFT),
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
