"""The charts as blocks: stretchable; the two of a certificate say why where there is nothing to draw."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING, Any

from certgen.results.model import Point, Results
from certgen.sheet.charts import model
from certgen.sheet.charts.alternative import in_words
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Chart
from certgen.sheet.engine.setting import MM, Area, Block, ChartMark, Flow, Setting, Stretch
from certgen.sheet.words import Words

if TYPE_CHECKING:
    from certgen.sheet.charts.axes import Frame

# What stands in place of a chart whose quantities were not measured.


_ENGLISH = Words()


def drawable(points: tuple[Point, ...], *names: str) -> bool:
    """Whether some point has all of these quantities."""
    return any(all(getattr(point, name) is not None for name in names) for point in points)


def unmeasured_torque(results: Results, words: Words = _ENGLISH) -> str:
    """Why there is no chart of torque against speed; empty where there is one."""
    if drawable(results.points, "speed", "torque"):
        return ""
    if _without_inertia(results):
        return words("chart.none_inertia")
    missing = [name for name in ("torque", "speed") if not drawable(results.points, name)]
    return _no_chart(missing, words("chart.none_apart"), words)


def unmeasured_load(results: Results, words: Words = _ENGLISH) -> str:
    """Why there is no chart over shaft power; empty where there is one."""
    answers = ("current", "power_factor", "efficiency")
    if any(drawable(results.points, "shaft_power", name) for name in answers):
        return ""
    if _without_inertia(results):
        return words("chart.none_inertia")
    if not drawable(results.points, "torque") and not drawable(results.points, "shaft_power"):
        return _no_chart(["torque"], "", words)
    missing = [name for name in answers if not drawable(results.points, name)]
    return _no_chart(missing, words("chart.none_power_apart"), words)


def _without_inertia(results: Results) -> bool:
    """Whether torque was read while the speed changed, and no inertia is stated to say what of it is the motor's."""
    swept = results.sweep is not None and results.sweep.inertia is None
    return swept and not drawable(results.points, "torque")


def _no_chart(missing: list[str], otherwise: str, words: Words) -> str:
    if not missing:
        return otherwise
    named = [words(f"name.{name}") for name in missing]
    if len(named) == 1:
        return words("chart.none_one", quantity=named[0])
    return words("chart.none_several", quantities=", ".join(named[:-1]), last=named[-1])


# The two charts as blocks: stretchable, or a sentence where there is nothing to draw.


#: Text of a chart, in parts of the body text.
CHART_TEXT = 0.9


def torque_chart(content: Content, settings: Chart) -> Block:
    """Torque against speed."""
    instead = unmeasured_torque(content.results, content.words)
    return chart_block(settings, instead, lambda: load_charts().torque_chart(content), content.words)


def load_chart(content: Content, settings: Chart) -> Block:
    """Current, efficiency and power factor over the load."""
    instead = unmeasured_load(content.results, content.words)
    return chart_block(settings, instead, lambda: load_charts().load_chart(content), content.words)


# The charts of the record, each only where the results carry what it shows.


def heat_chart(content: Content, settings: Chart) -> Block | None:
    """The heat run with its fitted curve."""
    found = content.results.thermal
    if found is None or found.heat_run is None:
        return None
    return chart_block(settings, "", lambda: evidence_charts().heat_chart(found, content), content.words)


def no_load_chart(content: Content, settings: Chart) -> Block | None:
    """Core loss separated from friction and windage."""
    found = content.results.losses
    if found is None or found.no_load is None:
        return None
    return chart_block(settings, "", lambda: evidence_charts().no_load_chart(found, content), content.words)


def stray_chart(content: Content, settings: Chart) -> Block | None:
    """The stray-load regression."""
    fit = content.results.losses.stray_regression if content.results.losses else None
    if fit is None or fit.residuals is None:
        return None
    return chart_block(settings, "", lambda: evidence_charts().stray_chart(fit, content), content.words)


def loss_chart(content: Content, settings: Chart) -> Block | None:
    """The losses at each load as a stack."""
    found = content.results.losses
    if found is None or not found.at_loads:
        return None
    return chart_block(settings, "", lambda: evidence_charts().loss_chart(found, content), content.words)


def log_chart(content: Content, settings: Chart) -> Block | None:
    """The log over its time: steady stretches, and what was left out."""
    log = content.results.log
    if log is None or content.results.curves.trace is None:
        return None
    return chart_block(settings, "", lambda: evidence_charts().log_chart(log, content), content.words)


def evidence_charts() -> Any:
    """The module of the record's charts, which takes numpy, where one is drawn."""
    from certgen.sheet.charts import evidence_charts

    return evidence_charts


def load_charts() -> Any:
    """The module of the charts, which takes numpy, where a chart is drawn."""
    from certgen.sheet.charts import load_charts

    return load_charts


def chart_block(settings: Chart, instead: str, build: Callable[[], model.Chart], words: Words) -> Block:
    """A chart under its title, or the sentence that stands instead."""
    built = cache(build)

    def draw(canvas: Any, frame: Frame) -> None:
        from certgen.sheet.charts.painter import paint

        paint(built(), canvas, frame)

    return stretched(settings, draw, instead, alt=lambda: in_words(built(), words))


def chart_setting(chart: model.Chart, width: float, height: float, size: float, words: Words) -> Setting:
    """A chart of a size of its own. [pt]"""

    def paint(canvas: Any, x: float, y: float, width: float, height: float) -> None:
        from certgen.sheet.charts import painter
        from certgen.sheet.charts.axes import Frame

        painter.paint(chart, canvas, Frame(x, y, width, height, size))

    return Setting(height, (ChartMark(0.0, 0.0, width, height, paint, lambda: in_words(chart, words)),))


def stretched(
    settings: Chart,
    draw: Callable[[Any, Frame], None],
    instead: str = "",
    *,
    alt: Callable[[], str] | str,
    text: float = CHART_TEXT,
) -> Block:
    """What is drawn into a frame of a height the layout allows, under its title, or the sentence that stands instead.

    ``alt`` says in words what is drawn; ``text`` is the size of its letters in parts of the body text.
    """
    heights = (settings.minimum_height, settings.preferred_height, settings.maximum_height)
    minimum, preferred, maximum = (height * 1000.0 * MM for height in heights)

    def set_chart(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if instead:
            flow.text(instead)
            return flow.done()
        height = area.height or minimum
        size = area.scaled(text)

        def paint(canvas: Any, x: float, y: float, width: float, height: float) -> None:
            from certgen.sheet.charts.axes import Frame

            draw(canvas, Frame(x, y, width, height, size))

        flow.marks.append(ChartMark(0.0, flow.y, area.width, height - flow.y, paint, alt))
        flow.y = height
        return flow.done()

    return Block(set_chart, None if instead else Stretch(minimum, preferred, maximum))
