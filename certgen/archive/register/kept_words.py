"""Headline and scope as the register keeps them, in English text, made messages again to be said in another language.

The register keeps what the certificate printed, so that a list and an export say the same for good. Both are made of few
sentences (``assessment/statement.py``); what is none of them, as of another version, stays the text it is.
"""

from __future__ import annotations

import re

from certgen.messages.catalogue import Message, catalogue, places_of
from certgen.messages.format import PlateFigures

_HEADLINES = (
    "headline.pass_in_part", "headline.conditional_pass_in_part",
    "headline.pass", "headline.conditional_pass", "headline.conditional_fail", "headline.fail", "headline.no_verdict",
    "headline.rated_at_current", "headline.bench_rated", "headline.measured_at_current", "headline.measured",
)  # fmt: skip
_SUBJECTS = ("nameplate", "nameplate_in_part", "insulation", "winding_temperature", "service_factor", "starting")
_STATES = ("failed", "reached", "not_tested")


def headline_kept(text: str) -> Message | str:
    """A headline as a message; else the text itself."""
    for key in _HEADLINES:
        sentence = catalogue()[key]
        pattern = re.escape(sentence)
        for place, form in places_of(sentence).items():
            written = f"{{{place}:{form}}}" if form else f"{{{place}}}"
            pattern = pattern.replace(re.escape(written), f"(?P<{place}>.+?)")
        if found := re.fullmatch(pattern, text):
            return Message(key, **{place: PlateFigures(figure) for place, figure in found.groupdict().items()})
    return text


def scope_kept(text: str) -> Message | str:
    """A scope in brief as a message; else the text itself."""
    english = catalogue()
    if text == english["scope.all_met"]:
        return Message("scope.all_met")
    alone, joint = english["scope.load_test_only_in_brief"].partition("{")[0], "; "
    listed = text.removeprefix(alone)
    parts = tuple(group for part in listed.split(joint) if (group := _group(part)) is not None)
    if len(parts) != len(listed.split(joint)):
        return text
    return Message("scope.in_brief" if listed == text else "scope.load_test_only_in_brief", parts=parts)


def _group(part: str) -> Message | None:
    """Some subjects and the state they are in, as they stand in a scope."""
    english = catalogue()
    inner = {english[f"scope.{name}"][:1].lower() + english[f"scope.{name}"][1:]: name for name in _SUBJECTS}
    for state in _STATES:
        subjects, space, _ = part.rpartition(f" {english[f'scope.state.{state}']}")
        if space and part.endswith(space) and all(name in inner for name in subjects.split(", ")):
            named = tuple(
                Message("scope.subject", subject=Message(f"scope.{inner[name]}")) for name in subjects.split(", ")
            )
            return Message("scope.group", subjects=named, state=Message(f"scope.state.{state}"))
    return None
