"""Words for a limit that comes near or is passed, once each time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from certgen.recorder.live import Margin

#: Part of a limit of the rig from which on it is near. Common practice, no source.
NEAR = 0.9
#: How far a value falls back before the same warning is given again, as a part of the limit.
_FALLS_BACK = 0.03


class Alarms:
    """Remembers which limits are near or passed, and tells each change for the worse."""

    def __init__(self) -> None:
        self._levels: dict[str, int] = {}

    def raised(self, margins: Sequence[Margin]) -> Iterator[str]:
        """A sentence for each limit that came near or was passed since the last time."""
        for one in margins:
            before, now = self._levels.get(one.name, 0), _level(one, one.share)
            if now > before:
                yield told(one, now)
            self._levels[one.name] = now if now >= before else _level(one, one.share + _FALLS_BACK)


def _level(one: Margin, share: float) -> int:
    """2 past the limit, 1 near it, 0 well below; the limits of a plate are not near, they are passed or not."""
    if share > 1.0:
        return 2
    return 1 if one.of_rig and share >= NEAR else 0


def standing(margin: Margin) -> str:
    """A value against its limit."""
    return f"{margin.name} {margin.value:.4g} of {margin.limit:.4g} {margin.unit}"


def told(one: Margin, level: int) -> str:
    """A warning in words."""
    if not one.of_rig:
        return f"above {standing(one).replace(one.name, f'the {one.name}:', 1)}"
    if level == 2:
        return f"PAST THE LIMIT: {standing(one)}. Take the load off."
    return f"NEAR THE LIMIT: {standing(one)}."
