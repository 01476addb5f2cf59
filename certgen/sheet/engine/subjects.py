"""What a sheet can be about, and what a layout may say of each subject: its blocks, conditions and repeats.

A new subject is a content class, its name here with the blocks that can show it, and those blocks in
``blocks/registry.py``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

from certgen.quantity import Quantity
from certgen.results.model import NO_VERDICT, Results
from certgen.sheet.content import Content, every_quantity, rated_points
from certgen.sheet.engine.block_settings import BLOCK_NAMES

if TYPE_CHECKING:
    from certgen.planning.plan import Plan
    from certgen.sheet.list_content import SummaryContent, TrendContent
    from certgen.sheet.plan_content import PlanContent

TEST, PLAN, SUMMARY, TREND = "test", "plan", "summary", "trend"

#: Blocks that belong to another subject than the results of one test.
_OWN = {
    subject: tuple(name for name in BLOCK_NAMES if name.startswith(f"{subject}_")) for subject in (PLAN, SUMMARY, TREND)
}
_ELSEWHERE = frozenset(name for names in _OWN.values() for name in names)


@dataclass(frozen=True)
class Subject:
    """Names of blocks; conditions by name; repeats by name, each giving the contents to repeat a part for."""

    blocks: tuple[str, ...]
    when: Mapping[str, Callable[[Any], bool]]
    each: Mapping[str, Callable[[Any], Sequence[Any]]]


def _of(test: Callable[[Results], Any]) -> Callable[[Content], bool]:
    """A condition on the results of a content."""
    return lambda content: bool(test(content.results))


#: Figures of a machine beyond which they need two columns, and rows of a comparison that fit a narrow one.
_MANY_FIGURES, _SHORT = 7, 4


def _count_of_figures(results: Results) -> int:
    """How many single figures of the machine are known, their ratios to the rated ones apart."""
    found = results.characteristic
    names = (one.name for one in fields(found) if not one.name.endswith("_ratio"))
    return sum(isinstance(getattr(found, name), Quantity) for name in names)


_WHEN = {
    "curve": _of(lambda results: results.curves.torque_speed or results.curves.load),
    "plate": _of(lambda results: results.nameplate.power),
    "passed": _of(lambda results: results.verdict.outcome in ("pass", "conditional pass")),
    "failed": _of(lambda results: results.verdict.outcome in ("fail", "conditional fail")),
    "judged": _of(lambda results: results.verdict.outcome != NO_VERDICT),
    "rated_points": _of(rated_points),
    "uncertainty": _of(lambda results: any(item.expanded_uncertainty is not None for item in every_quantity(results))),
    "losses": _of(lambda results: results.losses is not None and results.losses.stator is not None),
    "thermal": _of(lambda results: results.thermal is not None),
    "insulation": _of(lambda results: results.insulation is not None),
    "rating": _of(lambda results: results.assessed_rating is not None),
    "comparisons": _of(lambda results: results.comparisons),
    "cautions": _of(lambda results: results.cautions),
    "findings": _of(lambda results: results.findings),
    "many_figures": _of(lambda results: _count_of_figures(results) > _MANY_FIGURES),
    "short_comparison": _of(
        lambda results: len(results.comparisons) == 1 and len(results.comparisons[0].differences) <= _SHORT
    ),
    "many_points": _of(lambda results: len(results.points) > 14),
    "remarks": _of(lambda results: results.certificate.remarks),
    "gear": _of(lambda results: results.nameplate.gear is not None),
}


def _of_a_plan(test: Callable[[Plan], Any]) -> Callable[[PlanContent], bool]:
    """A condition on the plan of a content."""
    return lambda content: bool(test(content.plan))


_WHEN_PLANNED = {
    "plate": _of_a_plan(lambda plan: plan.nameplate.power),
    "gear": _of_a_plan(lambda plan: plan.nameplate.gear is not None),
    "rated_torque": _of_a_plan(lambda plan: plan.rated_torque is not None),
    "loads": _of_a_plan(lambda plan: plan.points),
    "refused": _of_a_plan(lambda plan: any(point.holds is False for point in plan.points)),
}


_WHEN_LISTED: dict[str, Callable[[SummaryContent], bool]] = {
    "tests": lambda content: bool(content.summary.rows),
    "unjudged": lambda content: bool(content.unjudged),
    "awaiting": lambda content: bool(content.awaiting),
}
_WHEN_FOLLOWED: dict[str, Callable[[TrendContent], bool]] = {
    "limits": lambda content: content.trend.limits is not None,
    "signals": lambda content: content.signals,
}


def _with_one(name: str) -> Callable[[Content], Sequence[Content]]:
    """A content for each entry of a list of the results, holding that entry alone."""

    def split(content: Content) -> Sequence[Content]:
        entries = getattr(content.results, name)
        alone: list[Any] = [{name: (entry,)} for entry in entries]
        return [replace(content, results=replace(content.results, **one)) for one in alone]

    return split


SUBJECTS: dict[str, Subject] = {
    TEST: Subject(
        tuple(name for name in BLOCK_NAMES if name not in _ELSEWHERE),
        _WHEN,
        {"comparison": _with_one("comparisons"), "caution": _with_one("cautions"), "finding": _with_one("findings")},
    ),
    PLAN: Subject(_OWN[PLAN], _WHEN_PLANNED, {}),
    SUMMARY: Subject(_OWN[SUMMARY], _WHEN_LISTED, {}),
    TREND: Subject(_OWN[TREND], _WHEN_FOLLOWED, {}),
}

#: Every condition and repeat of any subject, for messages and schemas.
CONDITIONS = tuple(sorted({name for subject in SUBJECTS.values() for name in subject.when}))
REPEATS = tuple(sorted({name for subject in SUBJECTS.values() for name in subject.each}))
