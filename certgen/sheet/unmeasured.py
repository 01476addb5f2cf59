"""What stands in place of a chart whose quantities were not measured."""

from __future__ import annotations

from certgen.assessment.results import Point, Results
from certgen.sheet.words import Words

_ENGLISH = Words()


def drawable(points: tuple[Point, ...], *names: str) -> bool:
    """Whether some point has all of these quantities."""
    return any(all(getattr(point, name) is not None for name in names) for point in points)


def unmeasured_torque(results: Results, words: Words = _ENGLISH) -> str:
    """Why there is no chart of torque against speed; empty where there is one."""
    if drawable(results.points, "speed", "torque"):
        return ""
    if _without_inertia(results):
        return words("chart.none_inertia")
    missing = [name for name in ("torque", "speed") if not drawable(results.points, name)]
    return _no_chart(missing, words("chart.none_apart"), words)


def unmeasured_load(results: Results, words: Words = _ENGLISH) -> str:
    """Why there is no chart over shaft power; empty where there is one."""
    answers = ("current", "power_factor", "efficiency")
    if any(drawable(results.points, "shaft_power", name) for name in answers):
        return ""
    if _without_inertia(results):
        return words("chart.none_inertia")
    if not drawable(results.points, "torque") and not drawable(results.points, "shaft_power"):
        return _no_chart(["torque"], "", words)
    missing = [name for name in answers if not drawable(results.points, name)]
    return _no_chart(missing, words("chart.none_power_apart"), words)


def _without_inertia(results: Results) -> bool:
    """Whether torque was read while the speed changed, and no inertia tells what of it is the motor's."""
    swept = results.sweep is not None and results.sweep.inertia is None
    return swept and not drawable(results.points, "torque")


def _no_chart(missing: list[str], otherwise: str, words: Words) -> str:
    if not missing:
        return otherwise
    named = [words(f"name.{name}") for name in missing]
    if len(named) == 1:
        return words("chart.none_one", quantity=named[0])
    return words("chart.none_several", quantities=", ".join(named[:-1]), last=named[-1])
