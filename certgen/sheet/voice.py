"""How the content of any sheet speaks: in the reader's units and the words of the page."""

from __future__ import annotations

from certgen.sheet.figures import Units, as_units
from certgen.sheet.unit_texts import in_units
from certgen.sheet.words import Words


class Voice:
    """What the contents of all sheets have in common; each holds the units and the words."""

    units: str
    words: Words

    @property
    def figures(self) -> Units:
        """The units, with how the page writes figures."""
        return as_units(self.units)

    def says(self, text: str) -> str:
        """A text in the words and units of the page."""
        return in_units(self.words.phrase(text), self.units)

    def outcome(self, outcome: str) -> str:
        """An outcome in the words of the page."""
        return self.words.known(f"outcome.{outcome.replace(' ', '_')}", outcome)
