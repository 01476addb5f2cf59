"""Lines of the terminal: a message each, how far it stands in, and the figures in it by the rule of their kind.

A line becomes text last, in the units the job prints, so that the terminal says a figure as the page does.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from certgen.errors import visible
from certgen.messages.catalogue import Message, catalogue, text_of
from certgen.messages.format import KIND_NAMES, kind_of
from certgen.quantity import Quantity


@dataclass(frozen=True)
class Line:
    """What one line says, and how far it stands in."""

    text: Message | str
    depth: int = 0

    def words(self, units: str) -> str:
        """The line in the reader's units ('si', 'us' or 'both')."""
        return "  " * self.depth + text_of(self.text, units=units)


def on_one_line(text: str) -> str:
    """A text as :func:`visible` shows it, but for the no-break blanks that hold figures and French signs together."""
    return re.sub("[^\u00a0\u202f]+", lambda part: visible(part[0]), text)


def verdict_words(outcome: str, units: str) -> str:
    """The word of a verdict as a certificate keeps it, in the reader's language; one of another version as it is."""
    key = f"outcome.{outcome.replace(' ', '_')}"
    return text_of(Message(key) if key in catalogue() else outcome, units=units)


def top(key: str, **values: object) -> Line:
    """A message as a line."""
    return Line(Message(key, **values))


def below(key: str, **values: object) -> Line:
    """A message as a line below its heading."""
    return Line(Message(key, **values), 1)


def named(key: str, shown: object) -> Message:
    """A figure behind its name."""
    return Message("terminal.named", name=Message(key), figure=shown)


def figure(item: Quantity, name: str = "") -> Message:
    """A figure by the rule of its kind, with its uncertainty where that is known, marked where that was assumed.

    Parameters
    ----------
    item : Quantity
        In SI.
    name : str
        The kind, or the name of the quantity where its unit does not tell it: of a ratio, a loss, a rise.
    """
    kind = name if name in KIND_NAMES else kind_of(item.unit, name)
    shown = Message(f"terminal.kind.{kind}", figure=item)
    return Message("terminal.assumed", figure=shown) if item.assumed and item.expanded_uncertainty else shown
