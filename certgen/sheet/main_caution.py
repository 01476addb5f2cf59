"""Which of a test's cautions goes on a tag: the one that matters most to whoever handles the motor."""

from __future__ import annotations

from collections.abc import Sequence

from certgen.assessment.results import Caution

#: Cautions about people by what they can do to them, the worst first: electric shock, a motor that flies apart or burns,
#: stored charge, what turns, fire, heat, wrong connection. Common practice, no source.
ORDER = (
    "insulation",
    "no_load_speed",
    "current_unbalance",
    "winding_rise",
    "capacitor",
    "start_winding",
    "coasting",
    "rotation",
    "commutation",
    "heat",
    "installation",
)


def main_caution(cautions: Sequence[Caution]) -> Caution | None:
    """The first in order; where none is known here, the test's own first; ``None`` where there is none."""
    known = [one for one in cautions if one.id in ORDER] or cautions[:1]
    return min(known, key=lambda one: ORDER.index(one.id) if one.id in ORDER else 0, default=None)
