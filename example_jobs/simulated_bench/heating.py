"""How warm a motor gets: one body with one thermal resistance and one time constant.

Rise = loss * resistance * (1 - exp(-t / tau)), the first-order law (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

FRAME_SHARE = 0.62  # rise of the frame over rise of the winding; common practice, no source


@dataclass(frozen=True)
class Body:
    """A motor as one warm body: K/W, s, K above the room, degC of the room."""

    resistance: float
    time_constant: float
    ambient: float
    rise: float = 0.0

    @property
    def winding(self) -> float:
        """Temperature of the winding [degC]."""
        return self.ambient + self.rise

    @property
    def frame(self) -> float:
        """Temperature of the frame [degC]."""
        return self.ambient + FRAME_SHARE * self.rise

    def after(self, seconds: float, loss: float) -> Body:
        """The same body after so long at a constant loss [W]."""
        final = loss * self.resistance
        return replace(self, rise=final + (self.rise - final) * math.exp(-seconds / self.time_constant))
