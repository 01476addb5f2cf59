"""Points of any curve, for tests of laws that hold for all of them."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays


@st.composite
def points(draw, least=2, most=12, width=32):
    """x that rises in steps of 0.01 to 100, and y for each."""
    steps = draw(st.lists(st.floats(0.01, 100.0), min_size=least, max_size=most))
    x = draw(st.floats(-100.0, 100.0)) + np.cumsum(steps)
    y = draw(arrays.arrays(np.float64, x.size, elements=st.floats(-100.0, 100.0, width=width)))
    return x, y
