"""The head of a sheet about several tests: title, whose they are, page; and its foot."""

from __future__ import annotations

from certgen.sheet.fonts import BOLD
from certgen.sheet.setting import HEAVY, THIN, TITLE, Area, Block, Flow, Setting, side_by_side
from certgen.sheet.words import Words


def list_heading(title: str, lines: tuple[str, ...], shop: str, words: Words) -> Block:
    """Title and lines on the left, shop and page on the right."""

    def left(area: Area) -> Setting:
        flow = Flow(area)
        if title:
            flow.large(title, TITLE, ink="accent")
        for line in lines:
            flow.text(line)
        return flow.done()

    def right(area: Area) -> Setting:
        flow = Flow(area)
        if shop:
            flow.text(shop, face=BOLD, align="right")
        number, count = area.page
        flow.text(words("page.number", page=number, pages=count), align="right", ink="muted")
        return flow.done()

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        flow.place(side_by_side(area, ((2.2, left), (1.0, right)), 2.0 * area.size))
        flow.space(0.3)
        flow.rule(HEAVY, "accent")
        return flow.done()

    return Block(set_heading)


def list_footer(sentences: tuple[str, ...]) -> Block:
    """The last lines of each page."""

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(THIN, "accent")
        flow.space(0.25)
        flow.text(" ".join(sentence for sentence in sentences if sentence), ink="muted")
        return flow.done()

    return Block(set_footer)
