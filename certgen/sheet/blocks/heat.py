"""How warm the motor became, and the insulation of its winding."""

from __future__ import annotations

from certgen.assessment.results import InsulationResult, Thermal
from certgen.quantity import Quantity
from certgen.sheet.blocks.pairs import set_pairs
from certgen.sheet.content import Content
from certgen.sheet.figures import single
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting


def heat(content: Content, settings: Titled) -> Block | None:
    """Heat and insulation as a list; nothing where neither was measured.

    Limits stand with the findings; here stands what they rest on.
    """
    results = content.results
    pairs = (*thermal_pairs(results.thermal, content.units), *insulation_pairs(results.insulation, content.units))
    if not pairs:
        return None

    def set_heat(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_heat)


def thermal_pairs(found: Thermal | None, units: str) -> tuple[tuple[str, str], ...]:
    """Labels and texts of what the resistances and the heat run say."""
    if found is None:
        return ()
    pairs = []
    if found.winding_rise is not None:
        hot = found.hot_resistance
        behind = f", from {single(hot, 'resistance', units)} at switching off" if hot is not None else ""
        pairs.append(("Winding", f"rise of {single(found.winding_rise, 'rise', units)} by resistance{behind}"))
    run = _heat_run(found, units)
    if run:
        pairs.append(("Heat run", run))
    return tuple(pairs)


def _heat_run(found: Thermal, units: str) -> str:
    parts = []
    if found.final_rise is not None:
        parts.append(f"final rise {single(found.final_rise, 'rise', units)}")
    if found.time_constant is not None:
        parts.append(f"time constant {single(found.time_constant, 'minutes', units)}")
    if found.remaining_rise is not None:
        parts.append(f"{single(found.remaining_rise, 'rise', units)} still to come at its end")
    if found.steady is not None:
        judged = "steady" if found.steady else "not steady"
        parts.append(f"{judged} ({found.steady_criterion})" if found.steady_criterion else judged)
    return ", ".join(parts)


def insulation_pairs(found: InsulationResult | None, units: str) -> tuple[tuple[str, str], ...]:
    """Label and text of the insulation test."""
    if found is None:
        return ()
    parts = [f"{_ohms(found.at_1_min, units)} after 1 min"]
    if found.at_40_degC is not None:
        parts.append(f"{_ohms(found.at_40_degC, units)} at 40 °C")
    if found.polarization_index is not None:
        parts.append(f"polarization index {single(found.polarization_index, 'index', units)}")
    return (("Insulation", ", ".join(parts)),)


def _ohms(item: Quantity, units: str) -> str:
    return single(item, "resistance", units)
