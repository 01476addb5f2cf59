"""How warm the motor became, and the insulation of its winding."""

from __future__ import annotations

from certgen.assessment.results import InsulationResult, Thermal
from certgen.quantity import Quantity
from certgen.sheet.blocks.pairs import set_pairs
from certgen.sheet.content import Content
from certgen.sheet.figures import single
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting
from certgen.sheet.unit_texts import in_units


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
