"""What whoever handles the motor must be careful of: the worst in a frame on the certificate, all of them on the record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from certgen.results.model import TO_LIFE, TO_THE_FIGURES, Caution
from certgen.sheet.blocks.tag import OF_ITS_KIND, ORDER, place_in_order
from certgen.sheet.blocks.verdict import frame
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, FaceMark, Flow, Setting, SignMark
from certgen.sheet.pdf.fonts import BOLD, Span

#: How many cautions stand on the certificate at least, where there are so many.
_MOST = 3
#: Precautions that any motor takes: in one line where they are of the highest danger, else on the record.
GENERAL = ("rotation", "installation")
#: Cautions about people and about the motor, whatever their danger is said to be.
OF_THE_MOTOR = (*ORDER, "service_factor_brief", "gear_ratio", "plate_power")
#: Text size in parts of the body text (10 pt to 9 pt), room within the frame, weight of the frame. [pt]
_SIZE, _BANNED, _PAD, _FRAME = 10.0 / 9.0, 1.25, 0.6, 1.4
_INDENT = 2.9


def _rank(caution: Caution) -> tuple[bool, int, bool, int]:
    """The worst first: what forbids, by danger, what this test found before what any motor takes."""
    return not caution.do_not_energise, -caution.danger, caution.id in GENERAL, place_in_order(caution)


def main_cautions(cautions: Sequence[Caution]) -> tuple[Caution, ...]:
    """Every caution of the highest danger but the general ones, and others up to three in all, the worst first.

    One about the figures alone is advice to the shop, and stands on the record.
    """
    ranked = sorted((one for one in cautions if one.danger > TO_THE_FIGURES or one.id in OF_THE_MOTOR), key=_rank)
    worst = [one for one in ranked if one.danger >= TO_LIFE and one.id not in GENERAL]
    others = [one for one in ranked if one not in worst and (one.danger < TO_LIFE or one.id not in GENERAL)]
    return (*worst, *others[: max(0, _MOST - len(worst))])


def general_cautions(cautions: Sequence[Caution]) -> tuple[Caution, ...]:
    """Those that any motor takes and that stand in one line."""
    return tuple(one for one in cautions if one.danger >= TO_LIFE and one.id in GENERAL)


def cautions(content: Content, settings: Titled) -> Block | None:
    """The main cautions in a frame; what forbids to switch on as a band, white on black."""
    listed = content.results.cautions
    main, general = main_cautions(listed), general_cautions(listed)
    if not main and not general:
        return None
    banned = tuple(one for one in main if one.do_not_energise)
    framed = tuple(one for one in main if not one.do_not_energise)

    def set_cautions(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        for caution in banned:
            flow.place(_band(caution, content, area))
        if framed or general:
            flow.place(_framed(framed, general, content, area))
        return flow.done()

    return Block(set_cautions)


def _inside(area: Area) -> Flow:
    """The room within the frame, beside the sign."""
    pad = _PAD * area.size
    return Flow(replace(area, width=area.width - (_INDENT * area.size + pad)), y=pad)


def _band(caution: Caution, content: Content, area: Area) -> Setting:
    """One caution across the whole width, white on black."""
    inner, flow = _inside(area), Flow(area)
    inner.text(content.says(caution.text), face=BOLD, ink="paper", size=area.scaled(_BANNED))
    inner.spans([Span(_because(caution, content), ink="paper")])
    height = inner.y + _PAD * area.size
    flow.marks.append(FaceMark(0.0, 0.0, area.width, height, "ink"))
    flow.marks += _sign(area, height, "paper", "ink")
    flow.place(Setting(height, tuple(inner.marks)), _INDENT * area.size)
    return flow.done()


def _framed(listed: Sequence[Caution], general: Sequence[Caution], content: Content, area: Area) -> Setting:
    """Cautions below one another, each with what in this test raised it; the general ones in one line."""
    inner, flow = _inside(area), Flow(area)
    for caution in listed:
        said = "" if caution.id in (*OF_ITS_KIND, *GENERAL) else _because(caution, content)
        spans = [Span(content.says(caution.text), BOLD), Span(said)]
        inner.spans([span for span in spans if span.text], size=area.scaled(_SIZE))
    if general:
        inner.text(" ".join(content.says(one.text) for one in general))
    height = inner.y + _PAD * area.size
    flow.marks += frame(area.width, height, _FRAME)
    flow.marks += _sign(area, height, "ink", "paper")
    flow.place(Setting(height, tuple(inner.marks)), _INDENT * area.size)
    return flow.done()


def _because(caution: Caution, content: Content) -> str:
    said = content.says(caution.because).rstrip(".")
    return f"({said})" if said else ""


def _sign(area: Area, height: float, ink: str, on: str) -> list[SignMark | FaceMark]:
    """The general sign of warning: a triangle with a stroke and a dot. Its shape as in ISO 7010, W001."""
    size = 1.55 * area.size
    x, y = (_INDENT - 0.25) * area.size / 2, height / 2
    thick = 0.13 * size
    return [
        SignMark(x, y, "^", size, ink),
        FaceMark(x - thick / 2, y - 0.14 * size, thick, 0.32 * size, on),
        FaceMark(x - thick / 2, y + 0.26 * size, thick, thick, on),
    ]


def all_cautions(content: Content, settings: Titled) -> Block:
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
            flow.spans([Span(content.says(caution.text), BOLD), Span(because)])
        return flow.done()

    return Block(set_cautions)
