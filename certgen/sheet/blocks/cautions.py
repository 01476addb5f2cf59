"""Warnings for whoever handles the motor or trusts the figures."""

from __future__ import annotations

from certgen.sheet.content import Content
from certgen.sheet.fonts import BOLD, Span
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting


def cautions(content: Content, settings: Titled) -> Block:
    """Each caution with what in this test raised it."""
    listed = content.results.cautions

    def set_cautions(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if not listed:
            flow.text(content.words("cautions.none"))
        for index, caution in enumerate(listed):
            if index:
                flow.space(0.25)
            because = content.words("page.because", because=content.says(caution.because).rstrip("."))
            flow.spans([Span(content.says(caution.text), BOLD), Span(because, ink="muted")])
        return flow.done()

    return Block(set_cautions)
