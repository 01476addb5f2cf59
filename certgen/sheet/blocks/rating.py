"""The rating this bench assessed, for a motor whose plate declares none."""

from __future__ import annotations

from certgen.assessment.results import AssessedRating
from certgen.sheet.blocks.pairs import set_pairs
from certgen.sheet.content import Content
from certgen.sheet.figures import single
from certgen.sheet.fonts import BOLD
from certgen.sheet.layout import Titled
from certgen.sheet.setting import Area, Block, Flow, Setting

_QUANTITIES = (
    ("power", "shaft_power"),
    ("torque", "torque"),
    ("speed", "speed"),
    ("current", "current"),
    ("service_factor", "service_factor"),
)


def rating(content: Content, settings: Titled) -> Block | None:
    """The words a buyer must read, the figures, and what they rest on; nothing where the plate declares a rating."""
    found = content.results.assessed_rating
    if found is None:
        return None
    pairs = rating_pairs(found, content)

    def set_rating(area: Area) -> Setting:
        flow = Flow(area)
        flow.title(settings.title)
        if found.power_label:
            flow.text(content.says(found.power_label), face=BOLD, size=area.scaled(1.6))
        flow.text(content.says(found.words), face=BOLD)
        flow.place(set_pairs(pairs, area))
        return flow.done()

    return Block(set_rating)


def rating_pairs(found: AssessedRating, content: Content) -> tuple[tuple[str, str], ...]:
    """Labels and texts: figures, basis, what held it down, or what is still to be measured."""
    words, says = content.words, content.says
    figures = [
        f"{words(f'rating.{name}')} {single(getattr(found, name), kind, content.units)}"
        for name, kind in _QUANTITIES
        if getattr(found, name) is not None
    ]
    pairs = (
        ("figures", ", ".join(figures)),
        ("held_down", says(found.limited_by)),
        ("basis", " ".join(says(text) for text in found.basis)),
        ("to_measure", "; ".join(says(text) for text in found.to_measure)),
    )
    return tuple((words(f"rating.{key}"), text) for key, text in pairs if text)
