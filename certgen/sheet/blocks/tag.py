"""The blocks of a tag: what a buyer asks and a handler must know, to be read at arm's length."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.assessment.statement import headline_of, scope_in_brief
from certgen.results.model import TO_LIFE, Caution
from certgen.sheet.blocks.code import supplied_point
from certgen.sheet.blocks.head_and_foot import joined_lines, motor_line, plate_text
from certgen.sheet.blocks.headline import figures_at, set_side_by_side, title_of
from certgen.sheet.content import Content, reasons_to_print
from certgen.sheet.engine.block_settings import Titled
from certgen.sheet.engine.setting import HEAVY, Area, Block, Flow, Setting
from certgen.sheet.pdf.fonts import BOLD
from certgen.sheet.pdf.structure import HEADING, TITLE, Tag
from certgen.sheet.words import capital

#: Cautions of a kind of motor: what raised them says nothing more.
OF_ITS_KIND = ("start_winding", "capacitor", "no_load_speed", "commutation")

# Which of a test's cautions goes on a tag: the one that decides most to whoever handles the motor.


#: Cautions about people by what they can do to them, the worst first: a motor that flies apart, electric shock, one that
#: burns, stored charge, what turns, fire, heat, wrong connection. Common practice, no source. What is known of this kind
#: of motor stands before what was not measured: "never without load" is not hidden by a missing insulation reading.
ORDER = (
    "no_load_speed",
    "inspection",
    "insulation",
    "current_unbalance",
    "winding_rise",
    "capacitor",
    "start_winding",
    "generates",
    "coasting",
    "rotation",
    "commutation",
    "heat",
    "installation",
)


def worst_first(cautions: Sequence[Caution]) -> tuple[Caution, ...]:
    """Those about people, what forbids to switch on first, then by danger, then in order; all where none is."""
    about_people = [one for one in cautions if one.id in ORDER or one.do_not_energise or one.danger >= TO_LIFE]
    ranked = sorted(
        about_people or cautions, key=lambda one: (not one.do_not_energise, -one.danger, place_in_order(one))
    )
    return tuple(ranked)


def main_caution(cautions: Sequence[Caution]) -> Caution | None:
    """The first of them; ``None`` where there is none."""
    return next(iter(worst_first(cautions)), None)


def place_in_order(caution: Caution) -> int:
    """Its place among the cautions about people, behind them all where it is none of them."""
    return ORDER.index(caution.id) if caution.id in ORDER else len(ORDER)


# The blocks of a tag: what a buyer asks and a handler must know, to be read at arm's length.


_FIGURES = ("shaft_power", "torque", "speed", "current", "voltage", "frequency")
#: Figures a line at most, so that they stay large.
_A_LINE = 3
#: Text sizes in parts of the body text.
_OUTCOME, _NUMBER, _CAUTION, _MOTOR = 2.4, 1.7, 1.15, 1.2


def tag_heading(content: Content, settings: Titled) -> Block:
    """Title, shop with its contact, number and day."""
    certificate, words = content.results.certificate, content.words
    shop = certificate.shop
    reach = (shop.name, shop.contact) if shop is not None else ()

    def set_heading(area: Area) -> Setting:
        flow = Flow(area)
        for line in joined_lines([part for part in (settings.title, *reach) if part], area):
            flow.text(line)
        flow.large(certificate.number or words("heading.no_number"), _NUMBER, tag=Tag(TITLE))
        if certificate.revision > 1:
            flow.text(words("heading.revision", revision=certificate.revision, before=certificate.revision - 1))
        flow.text(words("heading.tested_on", date=certificate.tested_on))
        flow.space(0.2)
        flow.rule(HEAVY)
        return flow.done()

    return Block(set_heading)


def tag_motor(content: Content, settings: Titled) -> Block:
    """What the motor is in the certificate's bold line, then maker, model and serial number."""
    motor, words, line = content.results.motor, content.words, motor_line(content)
    serial = words("tag.serial", serial=motor.serial) if motor.serial else ""
    marks = ", ".join(part for part in (motor.maker, motor.model, serial) if part)

    def set_motor(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(line, face=BOLD, size=area.scaled(_MOTOR), tag=Tag(HEADING))
        if marks:
            flow.text(marks)
        return flow.done()

    return Block(set_motor)


def tag_verdict(content: Content, settings: Titled) -> Block:
    """The headline large, what the verdict covers, and its first reason; the others are the certificate's."""
    found, words = content.results.verdict, content.words
    headline, scope = content.says(headline_of(found)), scope_in_brief(found)
    reasons = [content.says(reason) for reason in reasons_to_print(found)]
    more = [words("tag.more_reasons", count=len(reasons) - 1)] if len(reasons) > 1 else []

    def set_verdict(area: Area) -> Setting:
        flow = Flow(area)
        if settings.title:
            flow.text(settings.title)
        flow.large(headline, _OUTCOME)
        if scope is not None:
            flow.text(capital(content.says(scope)), face=BOLD)
        flow.text(" ".join([*reasons[:1], *more]))
        return flow.done()

    return Block(set_verdict)


def tag_figures(content: Content, settings: Titled) -> Block:
    """Power, torque, speed, current, voltage and frequency as the certificate prints them; the last only where known."""
    point = supplied_point(content)
    shown = _FIGURES if point.frequency is not None else _FIGURES[:-1]
    figures, title = figures_at(content, shown, point, plate=False), title_of(content)

    def set_figures(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(title)
        set_side_by_side(figures, flow, _A_LINE)
        return flow.done()

    return Block(set_figures)


def tag_plate(content: Content, settings: Titled) -> Block:
    """What else the plate declares."""
    declared = content.words("tag.plate", declared=plate_text(content))

    def set_plate(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.text(declared)
        return flow.done()

    return Block(set_plate)


def tag_caution(content: Content, settings: Titled) -> Block | None:
    """The worst caution and the next between heavy rules, and that the certificate holds them all."""
    ranked, words = worst_first(content.results.cautions), content.words
    if not ranked:
        return None
    count = len(content.results.cautions)
    more = words("tag.more_cautions", count=count) if count > _CAUTIONS else ""

    def set_caution(area: Area) -> Setting:
        flow = Flow(area)
        flow.rule(HEAVY)
        flow.space(0.2)
        if settings.title:
            flow.text(settings.title)
        for caution in ranked[:_CAUTIONS]:
            flow.text(content.says(caution.text), face=BOLD, size=area.scaled(_CAUTION))
            if caution.id not in OF_ITS_KIND:
                flow.text(words("page.because", because=content.says(caution.because).rstrip(".")))
        if more:
            flow.text(more)
        flow.space(0.2)
        flow.rule(HEAVY)
        return flow.done()

    return Block(set_caution)


#: Cautions on a tag. All others stand on the certificate.
_CAUTIONS = 2


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
