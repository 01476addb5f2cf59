"""How the test was made, with what, and what it could not say."""

from __future__ import annotations

from collections.abc import Iterable

from certgen.job.model import Certificate
from certgen.messages.catalogue import Message
from certgen.messages.format import MISSING, single
from certgen.quantity import Quantity
from certgen.results.model import InsulationResult, Losses, Thermal
from certgen.sheet.content import OF_UNCERTAINTY, Content, every_quantity, uncertainty_sentence
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, Flow, Setting
from certgen.sheet.engine.table import set_pairs
from certgen.sheet.words import Words, in_units


def condition_pairs(content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts; lists that are empty do not appear, what was not given appears as missing."""
    results, given = content.results, content.results.conditions
    words, says = content.words, content.says
    pairs = [
        ("revision", _revision(results.certificate, words)),
        ("rig", given.rig),
        ("method", " ".join(says(text) for text in given.method)),
        ("log", " ".join(says(text) for text in results.log.summary) if results.log else None),
        ("efficiency", _efficiency_method(results.losses, content)),
        ("surroundings", surroundings(content)),
        ("uncertainty", _uncertainty(content)),
        ("instruments", "; ".join(says(text) for text in given.instruments) or None),
        ("standards", "; ".join(says(one) for one in results.traceability.standards if one != given.criteria) or None),
        ("remarks", results.certificate.remarks or words("conditions.no_remarks")),
        ("not_evaluated", _grouped(given.not_evaluated) or None),
        ("missing", " ".join(says(text) for text in given.missing) or None),
    ]
    return tuple((words(f"conditions.{key}"), text or MISSING) for key, text in pairs if text is not None)


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
    return "; ".join(parts)


def _with_basis(text: str, basis: Message | None, content: Content) -> str:
    return text if basis is None or text == MISSING else f"{text} ({content.says(basis)})"


def conditions(content: Content, settings: Titled) -> Block:
    """The conditions as a list."""
    pairs = condition_pairs(content)

    def set_conditions(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_conditions)


# How warm the motor became, and the insulation of its winding.


def heat(content: Content, settings: Titled) -> Block | None:
    """Heat and insulation as a list; nothing where neither was measured.

    Limits stand with the findings; here stands what they rest on.
    """
    results = content.results
    pairs = (*thermal_pairs(results.thermal, content), *insulation_pairs(results.insulation, content))
    if not pairs:
        return None

    def set_heat(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_heat)


def thermal_pairs(found: Thermal | None, content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts of what the resistances and the heat run say."""
    if found is None:
        return ()
    pairs, words, units = [], content.words, content.units
    if found.winding_rise is not None:
        hot, rise = found.hot_resistance, single(found.winding_rise, "rise", units)
        told = words("heat.rise", rise=rise)
        if hot is not None:
            told = words("heat.rise_from", rise=rise, resistance=single(hot, "resistance", units))
        pairs.append((words("heat.winding"), told))
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
        at = in_units("40 °C", units)
        parts.append(words("heat.at_40", resistance=_ohms(found.at_40_degC, units), temperature=at))
    if found.polarization_index is not None:
        index = single(found.polarization_index, "index", units)
        parts.append(words("heat.polarization_index", index=index))
    return ((words("heat.insulation"), ", ".join(parts)),)


def _ohms(item: Quantity, units: str) -> str:
    return single(item, "resistance", units)
