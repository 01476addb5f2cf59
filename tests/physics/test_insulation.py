"""Correction of insulation resistance to 40 degC, and the polarization index."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.winding import THERMOPLASTIC, THERMOSETTING, correction_to_40, polarization_index

ICE = 273.15
KINDS = (THERMOSETTING, THERMOPLASTIC)


@pytest.mark.parametrize("kind", KINDS)
def test_at_40_nothing_is_corrected(kind):
    assert correction_to_40(ICE + 40.0, insulation=kind) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(("celsius", "factor"), [(20.0, 0.25), (30.0, 0.5), (50.0, 2.0), (60.0, 4.0)])
def test_thermoplastic_halves_each_ten_kelvin(celsius, factor):
    """IEEE Std 43-2013, 6.3, from memory."""
    assert correction_to_40(ICE + celsius, insulation=THERMOPLASTIC) == pytest.approx(factor)


@pytest.mark.parametrize(
    ("celsius", "exponent"), [(10.0, 1245.0 * (1 / 283 - 1 / 313)), (85.0, 4230.0 * (1 / 358 - 1 / 313))]
)
def test_thermosetting_at_both_ends(celsius, exponent):
    """IEEE Std 43-2013, 6.3, from memory: about 0.66 and 5.5."""
    found = correction_to_40(ICE + celsius, insulation=THERMOSETTING)
    assert found == pytest.approx(math.exp(-exponent), rel=1e-12)
    assert found == pytest.approx({10.0: 0.656, 85.0: 5.47}[celsius], abs=0.005)


@given(st.floats(10.0, 84.0), st.floats(0.01, 1.0), st.sampled_from(KINDS))
def test_a_warmer_winding_is_lifted_more(celsius, step, kind):
    cooler, warmer = (float(correction_to_40(ICE + one, insulation=kind)) for one in (celsius, celsius + step))
    assert warmer > cooler > 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_outside_its_range_there_is_no_correction(kind):
    found = correction_to_40(np.array([9.9, 10.0, 85.0, 85.1]) + ICE, insulation=kind)
    assert np.isfinite(found).tolist() == [False, True, True, False]


def test_unknown_insulation_is_refused():
    with pytest.raises(ValueError, match="thermosetting or thermoplastic, got 'paper'"):
        correction_to_40(ICE + 20.0, insulation="paper")


def test_polarization_index_by_hand():
    assert polarization_index(340e6, 910e6) == pytest.approx(910 / 340)
    with pytest.raises(ValueError, match="insulation resistance must be above 0"):
        polarization_index(0.0, 1e6)
