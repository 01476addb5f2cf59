"""What stands in place of a chart whose quantities were not measured."""

from __future__ import annotations

from certgen.assessment.results import Point, Results


def drawable(points: tuple[Point, ...], *names: str) -> bool:
    """Whether some point has all of these quantities."""
    return any(all(getattr(point, name) is not None for name in names) for point in points)


def unmeasured_torque(results: Results) -> str:
    """Why there is no chart of torque against speed; empty where there is one."""
    if drawable(results.points, "speed", "torque"):
        return ""
    missing = [name for name in ("torque", "speed") if not drawable(results.points, name)]
    return _no_chart(missing, "torque and speed were not measured at the same point")


def unmeasured_load(results: Results) -> str:
    """Why there is no chart over shaft power; empty where there is one."""
    answers = ("current", "power_factor", "efficiency")
    if any(drawable(results.points, "shaft_power", name) for name in answers):
        return ""
    if not drawable(results.points, "torque") and not drawable(results.points, "shaft_power"):
        return _no_chart(["torque"], "")
    missing = [name.replace("_", " ") for name in answers if not drawable(results.points, name)]
    return _no_chart(missing, "shaft power was not measured at the same point as any of them")


def _no_chart(missing: list[str], otherwise: str) -> str:
    if not missing:
        return f"No chart: {otherwise}."
    listed = missing[0] if len(missing) == 1 else f"{', '.join(missing[:-1])} and {missing[-1]}"
    return f"No chart: {listed} {'was' if len(missing) == 1 else 'were'} not measured."
