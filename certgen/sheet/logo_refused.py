"""Why a file cannot be a logo, and the bounds that pictures and drawings share."""

from __future__ import annotations

#: Longest side to the shortest.
MOST_RATIO = 12.0
SAVE_AS_PNG = "save the logo as a PNG of at most 3000 pixels a side"


class LogoRefused(ValueError):
    """The file cannot be used as a logo: what is wrong, and what to do instead."""

    def __init__(self, what: str, instead: str = SAVE_AS_PNG) -> None:
        self.what, self.instead = what, instead
        super().__init__(f"{what}; {instead}")
