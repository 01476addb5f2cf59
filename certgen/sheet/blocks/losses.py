"""Input power taken apart: the losses at rated load, how they were found, and the efficiency over the load."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from certgen.messages.format import KINDS, column, forms, single
from certgen.quantity import Quantity
from certgen.results.model import BudgetLine, Losses, Point, Results, StrayRegression
from certgen.sheet.blocks.charts import CHART_TEXT, chart_setting, evidence_charts
from certgen.sheet.blocks.points import heading_of
from certgen.sheet.charts.model import Chart as ChartModel
from certgen.sheet.content import Content, coverage_factors
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, Flow, Setting, TooNarrow, side_by_side
from certgen.sheet.engine.table import Column, Table, natural_width, set_table
from certgen.sheet.pdf.fonts import LEADING, REGULAR, width
from certgen.sheet.words import Words

#: Width of the table to that of the words beside it.
_TABLE_SHARE = 1.15
_AT_RATED = (
    "stator",
    "rotor",
    "core",
    "friction_windage",
    "stray",
    "constant",
)
_TABLE = (
    ("input_power", "input", "electrical_power"),
    ("stator", "stator", "electrical_power"),
    ("core", "core", "electrical_power"),
    ("rotor", "rotor", "electrical_power"),
    ("friction_windage", "friction_windage", "electrical_power"),
    ("stray", "stray", "electrical_power"),
    ("shaft_power", "shaft_power", "shaft_power"),
    ("efficiency", "efficiency", "efficiency"),
)


def losses(content: Content, settings: Titled) -> Block | None:
    """The losses over the load beside how they were found; nothing where they were not segregated."""
    found = content.results.losses
    if found is None or found.stator is None:
        return None
    table, words = _table(found, content), loss_text(found, content)

    def set_losses(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        beside = area.width * _TABLE_SHARE / (1.0 + _TABLE_SHARE) - 2.0 * area.size
        if table is None:
            flow.place(set_words(area))
        elif natural_width(table) * area.size > beside:
            flow.place(set_table(table, area))
            flow.place(set_words(area))
        else:
            parts = ((_TABLE_SHARE, partial(set_table, table)), (1.0, set_words))
            flow.place(side_by_side(area, parts, 2.0 * area.size))
        return flow.done()

    def set_words(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(words)
        return flow.done()

    return Block(set_losses)


def loss_text(found: Losses, content: Content) -> str:
    """Method, losses at rated load where no table shows them, stray-load regression, brake friction, remarks."""
    words, says = content.words, content.says
    method = f"{says(found.method)}: {says(found.reason)}"
    sentences = [f"{method[:1].upper()}{method[1:]}."]
    if not found.at_loads:
        known = [(words(f"losses.{name}"), getattr(found, name)) for name in _AT_RATED if getattr(found, name)]
        texts = [f"{called} {single(item, 'electrical_power', content.units)}" for called, item in known]
        sentences.append(words("losses.at_rated", losses=", ".join(texts)))
    if found.reference_temperature is not None:
        temperature = single(found.reference_temperature, "temperature", content.units)
        sentences.append(words("losses.at_temperature", temperature=temperature))
    if found.stray_regression is not None:
        sentences.append(words("losses.stray_fit", fit=regression_text(found.stray_regression, content)))
    return " ".join([*sentences, *(says(note) for note in found.notes)])


def regression_text(fit: StrayRegression, content: Content) -> str:
    """The straight line through residual loss over torque squared, and which rules take it."""
    words, figures = content.words, content.figures
    verdicts = {True: "losses.accepted", False: "losses.not_accepted"}
    rules = ", ".join(words(verdicts[taken], rule=rule) for rule, taken in fit.accepted.items())
    removed = f", {words('losses.fit_removed', row=fit.removed_row)}" if fit.removed_row is not None else ""
    line = words(
        "losses.fit",
        slope=single(fit.slope, "stray_slope", content.units),
        intercept=single(fit.intercept, "electrical_power", content.units),
        correlation=figures.number(fit.correlation.value, 3),
        count=len(fit.rows),
    )
    return f"{line}{removed}; {rules}"


def _table(found: Losses, content: Content) -> Table | None:
    if not found.at_loads:
        return None
    load = tuple(f"{point.load.value:.0%}".replace("%", " %") for point in found.at_loads)
    columns = [Column(heading_of(content.words, "load"), load)]
    for name, heading, kind in _TABLE:
        items = [getattr(point, name) for point in found.at_loads]
        form = forms(kind, content.units, max(abs(item.value) for item in items))[0]
        columns.append(Column(heading_of(content.words, heading), column(items, form), unit=form.sign))
    return Table(tuple(columns))


# What the uncertainty of the rated figures comes from, as bars.


#: Inputs shown for a figure; height of a bar, in parts of the line; lines beside the bars of a figure, and below all.
BARS = 5
_TITLE_LINES, _AXIS_LINES = 1.8, 3.0
#: The names of the bars take no more than this part of the width.
_NAMES = 0.62


def budget_chart(content: Content, settings: Titled) -> Block | None:
    """For each rated figure the inputs that make most of its variance, each as a bar; nothing where none is known."""
    if not budget_lines(content.results):
        return None
    chart = budget_drawn(content)
    bars = sum(len(panel.bars) for panel in chart.panels)
    lines = bars + _TITLE_LINES * len(chart.panels) + _AXIS_LINES

    def set_bars(area: Area) -> Setting:
        size = area.scaled(CHART_TEXT)
        names = max(width(name, REGULAR, size) for panel in chart.panels for name in panel.up.names)
        if names > _NAMES * area.width:
            raise TooNarrow(names - _NAMES * area.width)
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(chart_setting(chart, area.width, lines * LEADING * size, size, content.words))
        return flow.done()

    return Block(set_bars)


def budget_lines(results: Results, *, every: bool = False) -> list[list[BudgetLine]]:
    """The largest parts of each rated figure's variance, or ``every`` part of it, the largest first."""
    most = None if every else BARS
    return [lines[:most] for names in _PRINTED for _, lines in _first_known(results, names)]


def figure_at(line: BudgetLine, content: Content) -> tuple[Quantity | None, str]:
    """The figure a line of a budget belongs to, and its place as a sentence names it."""
    figure: Quantity | None = getattr(_point(content.results, line.at), line.quantity)
    return figure, _place(line.at, content.words)


def budget_drawn(content: Content) -> ChartModel:
    """The bars as a chart, each input named with its share."""
    charts = evidence_charts()
    figures = [
        charts.Shares(
            budget_heading(lines, content),
            tuple(
                (f"{content.says(line.input)}, {share_text(line.share, content.words)}", line.share) for line in lines
            ),
        )
        for lines in budget_lines(content.results)
    ]
    made: ChartModel = charts.budget_chart(figures, content)
    return made


def budget_heading(lines: Sequence[BudgetLine], content: Content) -> str:
    """The figure that these inputs are of, with its uncertainty and its place."""
    words, name = content.words, lines[0].quantity
    called = words(f"name.{name}")
    value = single(getattr(_point(content.results, lines[0].at), name), KINDS[name], content.units)
    at = _place(lines[0].at, words)
    return words("budget.of", quantity=called[:1].upper() + called[1:], value=value, point=at)


# How sure the rated figures are, what that rests on most, and what would help first.


#: Figures printed, each in place of the next where it is the one that defines the point.
_PRINTED = (("shaft_power", "current"), ("efficiency",))
_MOST = 3


def budget(content: Content, settings: Titled) -> Block | None:
    """The uncertainty of power and efficiency at the rated point with its largest parts; nothing where none is known."""
    sentences = budget_sentences(content)
    if not sentences:
        return None

    def set_budget(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(" ".join(sentences))
        return flow.done()

    return Block(set_budget)


def budget_sentences(content: Content) -> tuple[str, ...]:
    """One sentence for each figure, and one on what to improve; empty where no budget is known."""
    results, words = content.results, content.words
    printed = [(name, lines) for names in _PRINTED for name, lines in _first_known(results, names)]
    if not printed:
        return ()
    at = printed[0][1][0].at
    sentences = [_sentence(name, lines, _point(results, at), content) for name, lines in printed]
    largest = dict.fromkeys(words.message(lines[0].input) for _, lines in printed)
    improve = words("budget.improve", inputs=f"{words('budget.then')} ".join(largest))
    return (words("budget.at", point=_place(at, words)), *sentences, improve)


def _first_known(results: Results, names: Sequence[str]) -> list[tuple[str, list[BudgetLine]]]:
    """The first of some quantities that has a budget, with its lines, the largest first."""
    for name in names:
        lines = [line for line in results.budget if line.quantity == name]
        if lines:
            return [(name, sorted(lines, key=lambda line: -line.share))]
    return []


def _place(at: str, words: Words) -> str:
    if at.startswith("points["):
        return words("point.load_point", number=int(at[len("points[") : -1]) + 1)
    return words(f"point.{at.removeprefix('at_')}")


def _point(results: Results, at: str) -> Point:
    point: Point = results.points[int(at[len("points[") : -1])] if at.startswith("points[") else getattr(results, at)
    return point


def _sentence(name: str, lines: Sequence[BudgetLine], point: Point, content: Content) -> str:
    item: Quantity | None = getattr(point, name)
    words = content.words
    factor = coverage_factors([item] if item else [], content.units, words)
    called = words(f"name.{name}")
    parts = words.joined(f"{words.message(line.input)} {share_text(line.share, words)}" for line in lines[:_MOST])
    given = {"quantity": called[:1].upper() + called[1:], "value": single(item, KINDS[name], content.units)}
    return words("budget.figure" if factor else "budget.plain_figure", **given, factor=factor, parts=parts)


def share_text(part: float, words: Words) -> str:
    """A share in whole per cent; nothing that has a part is said to be all or nothing."""
    if 0.995 <= part < 1.0:
        return words("budget.nearly_all")
    if 0.0 < part < 0.005:
        return words("budget.hardly_any")
    return f"{part:.0%}".replace("%", " %")
