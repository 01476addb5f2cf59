"""The motor as found: the inspection in full on the record, in brief on the certificate."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.assessment.as_found import measured_in_words
from certgen.assessment.decision import ACCEPTED
from certgen.assessment.inspection import in_words, item_title
from certgen.assessment.safety import safety_in_words
from certgen.messages.catalogue import Message
from certgen.messages.format import MISSING
from certgen.results.as_found import InspectedItem
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Block
from certgen.sheet.engine.table import LEFT, Column, Table, pairs_block, table_block
from certgen.sheet.pdf.fonts import BOLD

_WORDS = {True: "inspection.good", False: "inspection.not_good", None: "inspection.not_judged"}


def inspection(content: Content, settings: Titled) -> Block | None:
    """Every item with what was found and measured, whether it is good, and by what; nothing where none was inspected."""
    found, words = content.results.as_found.inspection, content.words
    if not found:
        return None
    columns = (
        Column((words("column.item"),), tuple(content.says(item_title(one.item)) for one in found), align=LEFT),
        Column((words("column.found"),), tuple(one.finding or MISSING for one in found), align=LEFT, share=1.0),
        Column(
            (words("column.measured"),),
            tuple(content.says(one.judgement) if one.judgement else MISSING for one in found),
            align=LEFT,
            share=1.0,
        ),
        Column((words("column.outcome"),), tuple(words(_WORDS[one.good]) for one in found), align=LEFT, face=BOLD),
        Column(
            (words("column.rule"),),
            tuple(content.says(one.source) or MISSING for one in found),
            align=LEFT,
            share=0.8,
        ),
    )
    return table_block(settings.title, Table(columns, ruled=True), words("page.continued"))


def as_found(content: Content, settings: Titled) -> Block | None:
    """Windings and whatever else was measured before the brake, as a list; nothing where nothing was."""
    pairs = tuple(
        (content.says(label), content.says(text)) for label, text in measured_in_words(content.results.as_found)
    )
    return pairs_block(settings.title, pairs) if pairs else None


def safety_in_brief(content: Content) -> str:
    """The safety tests that are good by name, any other with what it gave; nothing where none was made."""
    found = content.results.as_found.safety
    bad = {str(one.title) for one in content.results.findings if one.outcome not in ACCEPTED}
    bad |= set() if found is None or found.surge_agrees is not False else {str(Message("safety.surge"))}
    bad |= set() if found is None or found.protector_good is True else {str(Message("safety.protector"))}
    good, stated = [], []
    for title, text in safety_in_words(found):
        name = content.words("writing.within_sentence", text=title)
        if str(title) in bad:
            stated.append(content.words("condition.safety_test", title=name, text=content.says(text)))
        else:
            good.append(name)
    return content.words.joined(
        [*stated, *([content.words("condition.safety_good", titles=", ".join(good))] if good else [])]
    )


def inspection_in_brief(content: Content) -> str:
    """What was good in a word each, and with its finding what was not; nothing where none was inspected."""
    found, words = content.results.as_found.inspection, content.words
    good = [one for one in found if one.good]
    poor = [one for one in found if one.good is False]
    parts = []
    if poor:
        items = words.joined(content.says(in_words(one)) for one in poor)
        parts.append(words("condition.inspected_not_good", items=items))
    if good:
        parts.append(words("condition.inspected_good", items=_named(good, content)))
    unjudged = [one for one in found if one.good is None]
    if unjudged:
        items = words.joined(content.says(in_words(one)) for one in unjudged)
        parts.append(words("condition.inspected_not_judged", items=items))
    return " ".join(parts)


def _named(items: Sequence[InspectedItem], content: Content) -> str:
    """Items by name, each once."""
    return ", ".join(
        dict.fromkeys(content.words("writing.within_sentence", text=item_title(one.item)) for one in items)
    )
