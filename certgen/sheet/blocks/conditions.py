"""How the test was made, with what, and what it could not say: in full on the record, in brief on the certificate."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from certgen.job.model import CONVERTER, GENERATOR, Certificate
from certgen.messages.catalogue import Message
from certgen.messages.format import MISSING, below_most, both, forms, not_resolved, single, with_sign
from certgen.quantity import Quantity
from certgen.results.model import InsulationResult, Losses, Point, Thermal
from certgen.sheet.blocks.as_found import inspection_in_brief, safety_in_brief
from certgen.sheet.blocks.head_and_foot import authoriser
from certgen.sheet.content import (
    NOT_STATED,
    OF_UNCERTAINTY,
    Content,
    every_quantity,
    headline_point,
    uncertainty_sentence,
)
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import THIN, Area, Block, Flow, Setting
from certgen.sheet.engine.table import LEFT, Column, Table, pairs_block, set_pairs, table_block
from certgen.sheet.pdf.fonts import BOLD
from certgen.sheet.words import Words

#: Width of the labels of the list in brief, in parts of the text size, so that lists below one another line up.
_LABELS = 7.5
#: Temperature that insulation resistances are compared at [K]: IEEE Std 43.
_REFERENCE = 313.15


def condition_pairs(content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts; lists that are empty do not appear, what was not given appears as missing."""
    results, given = content.results, content.results.conditions
    words, says = content.words, content.says
    pairs = [
        ("revision", _revision(results.certificate, words)),
        ("customer", _customer(results.certificate)),
        ("people", _people(results.certificate, words)),
        ("place", results.certificate.place),
        ("rig", given.rig),
        ("method", _method(content)),
        ("log", " ".join(says(text) for text in results.log.summary) if results.log else None),
        ("efficiency", _efficiency_method(results.losses, content)),
        ("surroundings", surroundings(content)),
        ("criteria", says(given.criteria)),
        ("decision_rule", says(given.decision_rule)),
        ("uncertainty", _uncertainty(content)),
        ("instruments", words.joined(says(text) for text in given.instruments) or None),
        (
            "standards",
            words.joined(says(one) for one in results.traceability.standards if one != given.criteria) or None,
        ),
        ("deviations", results.certificate.deviations or words("conditions.no_remarks")),
        ("remarks", results.certificate.remarks or words("conditions.no_remarks")),
        ("not_evaluated", _grouped(given.not_evaluated) or None),
        ("missing", " ".join(says(on_page(text)) for text in given.missing) or None),
    ]
    return tuple((words(f"conditions.{key}"), text or MISSING) for key, text in pairs if text is not None)


def _customer(certificate: Certificate) -> str | None:
    """Who the certificate is for and how to reach them; ``None`` where nobody is named."""
    return ", ".join(part for part in (certificate.issued_to, certificate.customer_contact) if part) or None


def _people(certificate: Certificate, words: Words) -> str:
    """Who tested, and who answers for the certificate in which function."""
    name, function = authoriser(certificate)
    called = f"{name}, {function}" if function else name
    if name == certificate.tested_by:
        return words("conditions.tested_and_authorised", name=called)
    return words("conditions.tested_by", tester=certificate.tested_by, name=called)


def _method(content: Content) -> str:
    """The shop's own procedure where it names one, then how each quantity was taken."""
    own = content.results.certificate.method
    parts = [f"{own.rstrip('.')}."] if own else []
    return " ".join([*parts, *(content.says(text) for text in content.results.conditions.method)])


def on_page(said: Message | str) -> Message | str:
    """A sentence on what is missing as a reader of the page needs it: what was not stated, not where to state it."""
    if not isinstance(said, Message):
        return said
    if said.key == "assumed.inputs":
        return Message("assumed.on_page", assumed=said.values["assumed"])
    if said.key == NOT_STATED:
        inputs = [_unstated(one) for one in as_messages(said.values["to_state"])]
        return Message(NOT_STATED, to_state=tuple(dict.fromkeys(inputs)))
    return said


def as_messages(value: object) -> tuple[Message, ...]:
    """The messages among what fills a place."""
    return tuple(one for one in value if isinstance(one, Message)) if isinstance(value, tuple) else ()


def _unstated(to_state: Message) -> Message:
    """An input whose accuracy nobody stated, by its name."""
    name = to_state.key.removeprefix("to_state.")
    if name == "rig_tolerance":
        return Message("unstated.rig_tolerance", part=str(to_state.values["part"]).replace("_", " "))
    return Message(f"unstated.{name}")


def _revision(certificate: Certificate, words: Words) -> str | None:
    if certificate.revision == 1:
        return None
    this, before = certificate.revision, certificate.revision - 1
    return words("conditions.replaces", revision=this, before=before, reason=certificate.revision_reason)


def _efficiency_method(found: Losses | None, content: Content) -> str | None:
    """Why efficiency is output over input; ``None`` where the losses have a block of their own, or no meaning."""
    if found is None or found.stator is not None:
        return None
    return f"{content.says(found.method)}: {content.says(found.reason)}"


def _uncertainty(content: Content) -> str | None:
    """How far uncertainty is stated; ``None`` where none is and the results say so themselves."""
    results = content.results
    said = any(sentence.key in OF_UNCERTAINTY for sentence in results.conditions.missing)
    stated = any(item.expanded_uncertainty is not None for item in every_quantity(results))
    return None if said and not stated else uncertainty_sentence(results, content.words, content.units)


def _grouped(keys: Iterable[str]) -> str:
    """Keys by the file they stand in, the file named once."""
    files: dict[str, list[str]] = {}
    for key in keys:
        file, _, name = key.rpartition(": ")
        files.setdefault(file, []).append(name)
    return "; ".join(f"{file}: {', '.join(names)}" if file else ", ".join(names) for file, names in files.items())


def surroundings(content: Content) -> str:
    """Temperature, supply and, for a scale that weighs, gravity in one sentence."""
    given, words = content.results.conditions, content.words
    frequency = single(given.supply_frequency, "frequency", content.units)
    parts = [
        words("conditions.ambient", temperature=single(given.ambient, "temperature", content.units)),
        words("conditions.supply", frequency=_with_basis(frequency, given.supply_frequency_basis, content)),
    ]
    if given.local_gravity is not None:
        gravity = single(given.local_gravity, "acceleration", content.units)
        basis = given.local_gravity_basis
        parts.append(words("conditions.gravity", gravity=_with_basis(gravity, basis, content)))
    return words.joined(parts)


def _with_basis(text: str, basis: Message | None, content: Content) -> str:
    return text if basis is None or text == MISSING else f"{text} ({content.says(basis)})"


def conditions(content: Content, settings: Titled) -> Block:
    """The conditions as a list."""
    return pairs_block(settings.title, condition_pairs(content))


# How warm the motor became, and the insulation of its winding.


def heat(content: Content, settings: Titled) -> Block | None:
    """Heat and insulation as a list; nothing where neither was measured.

    Limits stand with the findings; here stands what they rest on.
    """
    results = content.results
    pairs = (*thermal_pairs(results.thermal, content), *insulation_pairs(results.insulation, content))
    return pairs_block(settings.title, pairs) if pairs else None


def thermal_pairs(found: Thermal | None, content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts of what the resistances and the heat run say."""
    if found is None:
        return ()
    pairs, words, units = [], content.words, content.units
    if found.winding_rise is not None:
        hot, rise = found.hot_resistance, single(found.winding_rise, "rise", units)
        text = words("heat.rise", rise=rise)
        if hot is not None:
            text = words("heat.rise_from", rise=rise, resistance=single(hot, "resistance", units))
        pairs.append((words("heat.winding"), text))
    run = _heat_run(found, content)
    if run:
        pairs.append((words("heat.run"), run))
    return tuple(pairs)


def _heat_run(found: Thermal, content: Content) -> str:
    parts, words, units = [], content.words, content.units
    if found.final_rise is not None:
        parts.append(words("heat.final_rise", rise=single(found.final_rise, "rise", units)))
    if found.time_constant is not None:
        parts.append(words("heat.time_constant", time=single(found.time_constant, "minutes", units)))
    if found.remaining_rise is not None:
        parts.append(words("heat.remaining", rise=single(found.remaining_rise, "rise", units)))
    if found.steady is not None:
        judged = words("heat.steady" if found.steady else "heat.not_steady")
        parts.append(f"{judged} ({content.says(found.steady_criterion)})" if found.steady_criterion else judged)
    return ", ".join(parts)


def insulation_pairs(found: InsulationResult | None, content: Content) -> tuple[tuple[str, str], ...]:
    """Label and text of the insulation test."""
    if found is None:
        return ()
    words, units = content.words, content.units
    parts = [words("heat.at_1_min", resistance=_ohms(found.at_1_min, units))]
    if found.at_40_degC is not None:
        parts.append(words("heat.at_40", resistance=_ohms(found.at_40_degC, units), temperature=_REFERENCE))
    if found.polarization_index is not None:
        index = single(found.polarization_index, "index", units)
        parts.append(words("heat.polarization_index", index=index))
    return ((words("heat.insulation"), ", ".join(parts)),)


def _ohms(item: Quantity, units: str) -> str:
    return single(item, "resistance", units)


# The condition of the motor and of the test in brief, for the certificate.


def condition_in_brief(content: Content) -> tuple[tuple[str, str], ...]:
    """Supply, insulation, winding, the rating's basis where a bench assessed it, and the method in a line each."""
    words = content.words
    pairs = (
        ("rating", _rating_in_brief(content)),
        ("supply", _supply(content)),
        ("insulation", _insulation_in_brief(content)),
        ("winding", _winding_in_brief(content)),
        ("safety", safety_in_brief(content)),
        ("inspection", inspection_in_brief(content)),
        ("method", _method_in_brief(content)),
    )
    return tuple((words(f"condition.{key}"), text) for key, text in pairs if text)


def _rating_in_brief(content: Content) -> str:
    found, words = content.results.assessed_rating, content.words
    if found is None or found.power is None:
        return ""
    said = content.says(found.words).rstrip(".")
    limited = words("condition.limited_by", limit=content.says(found.limited_by)) if found.limited_by else ""
    holds = content.says(found.basis[-1]) if found.basis else ""
    return " ".join(part for part in (f"{said}{limited}.", holds) if part)


def _supply(content: Content) -> str:
    """Voltage and frequency as tested, unbalance, ambient."""
    words, units, given = content.words, content.units, content.results.conditions
    named = headline_point(content.results, words)
    point = named.point if named else Point()
    loaded = max(content.results.points, key=_torque, default=Point())
    voltage, frequency = point.voltage or loaded.voltage, point.frequency or given.supply_frequency
    parts = [plain_figure(item, kind, units) for item, kind in ((voltage, "voltage"), (frequency, "frequency")) if item]
    if given.supply in (CONVERTER, GENERATOR):
        parts.append(words(f"condition.supply_{given.supply}"))
    for item, key in ((given.harmonics, "condition.harmonics"), (given.ripple, "condition.ripple")):
        if item is not None:
            parts.append(words(key, part=plain_figure(item, "unbalance", units)))
    unbalance = loaded.voltage_unbalance, loaded.current_unbalance
    for item, key in zip(unbalance, ("condition.voltages", "condition.currents"), strict=True):
        if item is not None:
            parts.append(words(key, part=plain_figure(item, "unbalance", units)))
    if given.ambient is not None:
        parts.append(words("condition.ambient", temperature=plain_figure(given.ambient, "temperature", units)))
    return content.words.joined(parts)


def _torque(point: Point) -> float:
    return point.torque.value if point.torque is not None else 0.0


def plain_figure(item: Quantity, kind: str, units: str) -> str:
    """A quantity of about three digits with its unit and without its uncertainty, in both systems where asked."""
    if not_resolved(item, kind):
        return below_most(item, kind, units)
    texts = []
    for form in forms(kind, units, item.value):
        value = form.value(item.value)
        places = replace(form, significant=3).places([value])
        texts.append(with_sign(form.plain(round(value, places)), form))
    return both(texts)


def _insulation_in_brief(content: Content) -> str:
    """Resistance against the least needed, and polarization index; that it was not tested where it was not."""
    found, words, units = content.results.insulation, content.words, content.units
    if found is None:
        return words("condition.not_tested")
    measured = found.at_40_degC or found.at_1_min
    text = words("condition.resistance", resistance=plain_figure(measured, "resistance", units))
    if found.at_40_degC is not None:
        shown = plain_figure(measured, "resistance", units)
        text = words("condition.resistance_at_40", resistance=shown, temperature=_REFERENCE)
    parts = [text]
    if found.minimum is not None:
        parts.append(words("condition.needed", least=plain_figure(found.minimum, "resistance", units)))
    if found.polarization_index is not None:
        index = plain_figure(found.polarization_index, "index", units)
        parts.append(words("heat.polarization_index", index=index))
    return ", ".join(parts)


def _winding_in_brief(content: Content) -> str:
    """Temperature rise by resistance against its limit, and the heat run."""
    found, words, units = content.results.thermal, content.words, content.units
    apart = content.results.as_found.windings
    parts = []
    if apart is not None and apart.unbalance is not None:
        parts.append(words("condition.windings", part=plain_figure(apart.unbalance, "unbalance", units)))
    if found is None or (found.winding_rise is None and found.final_rise is None):
        return ", ".join([*parts, words("condition.rise_not_tested")])
    if found.winding_rise is not None:
        parts.append(words("condition.rise", rise=plain_figure(found.winding_rise, "rise", units)))
        if found.rise_limit is not None:
            parts.append(words("condition.rise_allowed", limit=plain_figure(found.rise_limit, "rise", units)))
    if found.steady is not None:
        parts.append(words("condition.steady" if found.steady else "condition.not_steady"))
    return ", ".join(parts)


def _method_in_brief(content: Content) -> str:
    given = content.results.conditions
    return " ".join([f"{given.rig.rstrip('.')}.", *(content.says(text) for text in given.method[:1])])


def instruments(content: Content, settings: Titled) -> Block | None:
    """The instruments by their papers, and how their calibration stood on the day of the test; nothing without any."""
    found, words = content.results.conditions.calibrations, content.words
    if not found:
        return None
    states = tuple(words(f"instruments.state.{one.state.replace(' ', '_')}") for one in found)
    days = [
        tuple(MISSING if day is None else day.isoformat() for day in given)
        for given in ([one.calibrated_on for one in found], [one.valid_until for one in found])
    ]
    columns = (
        Column((words("column.instrument"),), tuple(content.says(one.name) for one in found), align=LEFT, share=1.0),
        Column((words("column.serial"),), tuple(one.serial or MISSING for one in found), align=LEFT),
        Column((words("column.calibrated_on"),), days[0], align=LEFT),
        Column((words("column.certificate"),), tuple(one.certificate or MISSING for one in found), align=LEFT),
        Column((words("column.calibrated_by"),), tuple(one.by or MISSING for one in found), align=LEFT, share=0.7),
        Column((words("column.valid_until"),), days[1], align=LEFT),
        Column((words("column.at_the_test"),), states, align=LEFT, face=BOLD),
    )
    return table_block(settings.title, Table(columns, ruled=True), words("page.continued"))


def condition(content: Content, settings: Titled) -> Block:
    """The condition in brief as a list."""
    return _listed(condition_in_brief(content), settings.title, ruled=True)


def remarks(content: Content, settings: Titled) -> Block | None:
    """The shop's remarks; nothing where it made none."""
    said = content.results.certificate.remarks
    return _listed(((content.words("condition.remarks"), said),), settings.title) if said else None


def _listed(pairs: tuple[tuple[str, str], ...], title: str, *, ruled: bool = False) -> Block:
    def set_list(area: Area) -> Setting:
        flow = Flow(area)
        if title:
            flow.title(title)
        elif ruled:
            flow.rule(THIN, "ink")
            flow.space(0.3)
        flow.place(set_pairs(pairs, area, face=BOLD, labels=_LABELS * area.size))
        return flow.done()

    return Block(set_list)
