"""The two charts as blocks: stretchable, or a sentence where there is nothing to draw."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from certgen.sheet.content import Content
from certgen.sheet.layout import Chart
from certgen.sheet.setting import MM, Area, Block, ChartMark, Flow, Setting, Stretch
from certgen.sheet.unmeasured import unmeasured_load, unmeasured_torque

#: Text of a chart, in parts of the body text.
_TEXT = 0.92

_Draw = Callable[[Any, Content, Any], None]


def torque_chart(content: Content, settings: Chart) -> Block:
    """Torque against speed."""

    def draw(canvas: Any, content: Content, frame: Any) -> None:
        from certgen.sheet.charts import draw_torque_chart

        draw_torque_chart(canvas, content, frame)

    return _chart(content, settings, unmeasured_torque(content.results, content.words), draw)


def load_chart(content: Content, settings: Chart) -> Block:
    """Current, power factor and efficiency against shaft power."""

    def draw(canvas: Any, content: Content, frame: Any) -> None:
        from certgen.sheet.charts import draw_load_chart

        draw_load_chart(canvas, content, frame)

    return _chart(content, settings, unmeasured_load(content.results, content.words), draw)


def _chart(content: Content, settings: Chart, instead: str, draw: _Draw) -> Block:
    """A chart under its title, or the sentence that stands instead."""
    heights = (settings.minimum_height, settings.preferred_height, settings.maximum_height)
    minimum, preferred, maximum = (height * 1000.0 * MM for height in heights)

    def set_chart(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if instead:
            flow.text(instead)
            return flow.done()
        height = area.height or minimum
        size = area.scaled(_TEXT)

        def paint(canvas: Any, x: float, y: float, width: float, height: float) -> None:
            from certgen.sheet.charts import Frame

            draw(canvas, content, Frame(x, y, width, height, size))

        flow.marks.append(ChartMark(0.0, flow.y, area.width, height - flow.y, paint))
        flow.y = height
        return flow.done()

    return Block(set_chart, None if instead else Stretch(minimum, preferred, maximum))
