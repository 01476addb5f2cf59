"""The blocks of a tag: what a buyer asks and a handler must know, to be read at arm's length."""

from __future__ import annotations

from certgen.sheet.block_settings import Code, Titled
from certgen.sheet.blocks.plan_motor import plate_text
from certgen.sheet.blocks.verdict import headline_of, set_headlines
from certgen.sheet.code_text import code_text
from certgen.sheet.content import Content, headline_point
from certgen.sheet.figures import KINDS
from certgen.sheet.fonts import BOLD
from certgen.sheet.main_caution import main_caution
from certgen.sheet.matrix_code import code_mark
from certgen.sheet.setting import HEAVY, Area, Block, Flow, Setting
from certgen.sheet.tag_figures import tag_point

_FIGURES = ("shaft_power", "torque", "speed", "current", "voltage", "frequency")
#: Text sizes in parts of the body text.
_OUTCOME, _NUMBER, _CAUTION = 2.6, 1.7, 1.15
#: Digits of the digest that are printed beside the code.
_DIGITS = 12


def tag_heading(content: Content, settings: Titled) -> Block:
    """Title, shop, number and day."""
    certificate, words = content.results.certificate, content.words

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        shop = certificate.shop.name if certificate.shop else ""
        flow.text(" · ".join(part for part in (settings.title, shop) if part))
        flow.large(certificate.number or words("heading.no_number"), _NUMBER)
        if certificate.revision > 1:
            flow.text(words("heading.revision", revision=certificate.revision, before=certificate.revision - 1))
        flow.text(words("heading.tested_on", date=certificate.tested_on.isoformat()))
        flow.space(0.2)
        flow.rule(HEAVY)
        return flow.done()

    return Block(set_heading)


def tag_verdict(content: Content, settings: Titled) -> Block:
    """The outcome large, with its first reason; the others are the certificate's."""
    found, words = content.results.verdict, content.words
    outcome = content.outcome(found.outcome)
    reasons = [content.says(reason) for reason in found.reasons]
    more = [words("tag.more_reasons", count=len(reasons) - 1)] if len(reasons) > 1 else []

    def set_verdict(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.text(settings.title)
        flow.large(outcome[:1].upper() + outcome[1:], _OUTCOME)
        flow.text(" ".join([*reasons[:1], *more]))
        return flow.done()

    return Block(set_verdict)


def tag_figures(content: Content, settings: Titled) -> Block:
    """Power, torque, speed, current, voltage and frequency; what is not known keeps its place but for the frequency."""
    words, point = content.words, tag_point(content)
    named = headline_point(content.results, words)
    shown = _FIGURES if point.frequency is not None else _FIGURES[:-1]
    figures = tuple(
        headline_of(words(f"tag.{name}"), getattr(point, name), KINDS[name], content.units) for name in shown
    )

    def set_figures(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(words("verdict.measured", how=named.how) if named else words("verdict.no_point"))
        flow.place(set_headlines(figures, area))
        return flow.done()

    return Block(set_figures)


def tag_motor(content: Content, settings: Titled) -> Block:
    """Kind of motor, maker, model, serial number, and what the plate declares."""
    motor, words = content.results.motor, content.words
    kind = words.phrase(motor.type)
    kind = words("identity.motor", type=kind) if motor.type != "other" else kind
    declared = plate_text(content, content.results.nameplate)
    marks = ", ".join(part for part in (motor.maker, motor.model) if part)

    def set_motor(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(kind[:1].upper() + kind[1:], face=BOLD)
        for text in (marks, words("tag.serial", serial=motor.serial) if motor.serial else ""):
            if text:
                flow.text(text)
        flow.text(words("tag.plate", declared=declared) if declared else words("plate.none"))
        return flow.done()

    return Block(set_motor)


def tag_caution(content: Content, settings: Titled) -> Block | None:
    """The main caution between heavy rules, and how many more the certificate holds."""
    cautions, words = content.results.cautions, content.words
    main = main_caution(cautions)
    if main is None:
        return None
    more = words("tag.more_cautions", count=len(cautions) - 1) if len(cautions) > 1 else ""

    def set_caution(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(HEAVY)
        flow.space(0.2)
        if settings.title:
            flow.text(settings.title)
        flow.text(content.says(main.text), face=BOLD, size=area.scaled(_CAUTION))
        because = words("page.because", because=content.says(main.because).rstrip("."))
        flow.text(f"{because} {more}".rstrip())
        flow.space(0.2)
        flow.rule(HEAVY)
        return flow.done()

    return Block(set_caution)


def tag_code(content: Content, settings: Code) -> Block:
    """Number, digest and headline figures as a code to scan, and what it holds in words."""
    text, words, digest = code_text(content), content.words, content.digest
    said = words("tag.code")
    if digest is not None:
        said = words(f"tag.code_{digest.of}", digits=_DIGITS, digest=digest.sha256[:_DIGITS])

    def set_code(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        code = code_mark(text, area.width, settings.dots)
        flow.place(Setting(code.height, (code,)), (area.width - code.width) / 2.0)
        flow.text(said, size=area.smallest, align="centre")
        return flow.done()

    return Block(set_code)


def tag_footer(content: Content, settings: Titled) -> Block:
    """That the tag is no certificate."""
    words, made = content.words, content.results.traceability

    def set_footer(area: Area) -> Setting:
        flow = Flow(area)
        flow.text(words("tag.footer"), size=area.smallest)
        flow.text(words("footer.made_by", program=made.program, version=made.version), size=area.smallest)
        if settings.title:
            flow.text(settings.title, size=area.smallest)
        return flow.done()

    return Block(set_footer)
