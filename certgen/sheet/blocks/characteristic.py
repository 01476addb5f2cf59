"""Single figures of the machine, as far as the test gives them."""

from __future__ import annotations

from functools import partial

from certgen.quantity import Quantity
from certgen.sheet.blocks.pairs import set_pairs
from certgen.sheet.changing_speed import run_down_notes, run_down_pairs, sweep_pairs
from certgen.sheet.content import Content
from certgen.sheet.figures import kind_of, single
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting, side_by_side

_FIGURES = (
    "synchronous_speed",
    "no_load_speed",
    "no_load_current",
    "rated_torque",
    "locked_rotor_torque",
    "locked_rotor_current",
    "pull_up_torque",
    "pull_up_speed",
    "breakdown_torque",
    "breakdown_speed",
    "peak_power",
    "kva_per_hp",
    "code_letter",
    "design_letter",
    "efficiency_class",
    "gear_ratio",
    "gear_loss",
)
#: Figures that stand in brackets behind others: part of the rated value.
_RATIOS = {
    "locked_rotor_torque": "locked_rotor_torque_ratio",
    "locked_rotor_current": "locked_rotor_current_ratio",
    "pull_up_torque": "pull_up_torque_ratio",
    "breakdown_torque": "breakdown_torque_ratio",
}
#: Words that stand behind others.
_REASONS = {"design_letter": "design_letter_reason", "efficiency_class": "efficiency_class_reason"}
#: Width of one column of figures, in parts of the text size; as many stand side by side as the block has room for.
_COLUMN = 19.0


def characteristic_pairs(content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts of the figures that are known."""
    found, words = content.results.characteristic, content.words
    pairs = []
    if found.poles is not None:
        basis = f" ({words.phrase(found.poles_basis)})" if found.poles_basis else ""
        pairs.append((words("machine.poles"), f"{found.poles}{basis}"))
    for name in _FIGURES:
        value = getattr(found, name)
        if value is not None:
            figure = isinstance(value, Quantity)
            text = single(value, kind_of(value.unit, name), content.units) if figure else str(value)
            pairs.append((words(f"machine.{name}"), f"{text}{_behind(content, name)}"))
    pairs += [*sweep_pairs(content), *run_down_pairs(content)]
    return tuple(pairs)


def _behind(content: Content, name: str) -> str:
    """What follows a figure: its ratio to the rated value."""
    ratio = getattr(content.results.characteristic, _RATIOS[name]) if name in _RATIOS else None
    if ratio is None:
        return ""
    return f", {content.words('machine.times_rated', ratio=single(ratio, 'index', content.units))}"


def characteristic_notes(content: Content) -> str:
    """What letters and classes rest on, and what an incomplete curve proves."""
    found = content.results.characteristic
    reasons = [
        f"{content.words(f'machine.{name}')} {getattr(found, name)}: {content.says(getattr(found, reason)).rstrip('.')}."
        for name, reason in _REASONS.items()
        if getattr(found, name) is not None and getattr(found, reason)
    ]
    return " ".join([*reasons, *(content.says(text) for text in found.proves)])


def characteristic(content: Content, settings: Titled) -> Block:
    """The figures in as many columns as there is room for."""
    pairs = characteristic_pairs(content)
    notes = " ".join([characteristic_notes(content), *run_down_notes(content)]).strip()

    def set_characteristic(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if not pairs:
            flow.text(content.words("machine.none"))
            return flow.done()
        count = min(len(pairs), max(1, int(area.width / (_COLUMN * area.size))))
        length = -(-len(pairs) // count)
        panels = [pairs[start : start + length] for start in range(0, len(pairs), length)]
        parts = [(1.0, partial(set_pairs, panel)) for panel in panels]
        flow.place(side_by_side(area, parts, 2.0 * area.size))
        if notes:
            flow.text(notes, ink="muted")
        return flow.done()

    return Block(set_characteristic)
