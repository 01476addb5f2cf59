"""A scale's calibration line: published uncertainties of a line, and which errors move it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_calibration, make_readings, make_rig
from hypothesis import assume, given
from hypothesis import strategies as st

from certgen.document.build import Dimensioned
from certgen.job.rig import Calibration, Scale
from certgen.physics.curves import straight_line
from certgen.physics.uncertainty import line_covariance
from certgen.reduction.uncertainty.model import Measured, UncertainInput
from certgen.reduction.uncertainty.scale_inputs import about_line, calibration_inputs, largest, rounding

HEIGHT, SLOPE, LOADS = (f"scale calibration, {one}" for one in ("offset of its line", "slope", "applied loads"))

# JCGM 100:2008, table H.6: readings less 20 degC, and observed corrections.
THERMOMETER = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]) - 20.0
CORRECTION = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def inputs_of(scale: Scale, *, zero_is_read: bool = False) -> dict[str, UncertainInput]:
    return {one.identifier: one for one in calibration_inputs(scale, zero_is_read=zero_is_read)}


def measured(calibration: Calibration) -> Measured:
    rig = make_rig("arm", scale=Scale("mass", calibration=calibration))
    return Measured(rig, make_readings(speed=[1.0], scale=[1.0]), None)


def line_of(found: Measured):
    scale = found.rig.scale
    assert scale is not None and scale.calibration is not None
    pairs = zip(scale.calibration.applied, scale.calibration.indicated, strict=True)
    applied, indicated = zip(*((one.value, other.value) for one, other in pairs), strict=True)
    return straight_line(applied, indicated), np.mean(applied)


def test_the_thermometer_of_the_guide():
    """JCGM 100:2008, H.3.3 and H.3.4: s = 0.0035, u(y1) = 0.0029, u(y2) = 0.00067, r = -0.930, u(b(30 degC)) = 0.0041.

    Height at the mean and slope are uncorrelated; the guide's intercept is the height carried back along the slope.
    """
    calibration = make_calibration(THERMOMETER.tolist(), CORRECTION)
    scatter = about_line(calibration)
    assert scatter is not None
    assert scatter.standard == pytest.approx(0.0035, abs=0.00005)
    inputs = inputs_of(Scale("mass", calibration=calibration))
    height, slope = inputs[HEIGHT], inputs[SLOPE]
    assert (height.degrees_of_freedom, slope.degrees_of_freedom) == (9, 9)
    assert slope.estimate == pytest.approx(0.00218, abs=0.000005)
    assert slope.standard_uncertainty == pytest.approx(0.00067, abs=0.000005)
    back = THERMOMETER.mean() * slope.standard_uncertainty
    intercept = math.hypot(height.standard_uncertainty, back)
    assert intercept == pytest.approx(0.0029, abs=0.00005)
    assert -back / intercept == pytest.approx(-0.930, abs=0.0005)
    at_30 = math.hypot(height.standard_uncertainty, (10.0 - THERMOMETER.mean()) * slope.standard_uncertainty)
    assert at_30 == pytest.approx(0.0041, abs=0.00005)


@given(
    applied=st.lists(st.integers(0, 40), min_size=3, max_size=10, unique=True),
    errors=st.lists(st.floats(-0.5, 0.5), min_size=10, max_size=10),
)
def test_referred_to_the_mean_the_errors_agree_with_the_covariance(applied, errors):
    """JCGM 100:2008, H.3.5: any reference gives the same curve with the same uncertainty."""
    indicated = [load + error for load, error in zip(applied, errors, strict=False)]
    calibration = make_calibration([float(one) for one in applied], indicated)
    assume(about_line(calibration) is not None)
    inputs, fit = inputs_of(Scale("mass", calibration=calibration)), line_covariance(applied, indicated)
    height, slope = inputs[HEIGHT].standard_uncertainty, inputs[SLOPE].standard_uncertainty
    for load in (0.0, 12.5, 50.0):
        # A scatter that all but vanishes leaves few digits.
        assert math.hypot(height, (load - np.mean(applied)) * slope) == pytest.approx(float(fit.at(load)), rel=1e-4)


def test_a_zero_read_in_the_test_takes_the_place_of_the_height():
    calibration = make_calibration([0.0, 1.0, 2.0], [0.0, 1.01, 2.0])
    assert set(inputs_of(Scale("mass", calibration=calibration), zero_is_read=True)) == {SLOPE, LOADS}


def test_rounding_is_the_least_scatter_of_a_calibration():
    """JCGM 100:2008, F.2.2.1: q / sqrt(12); spread of the loads 0, 1, 2: sqrt(2)."""
    scale = Scale("mass", Dimensioned(0.01, "mass"), make_calibration([0.0, 1.0, 2.0], [0.0, 1.0, 2.0]))
    slope = inputs_of(scale)[SLOPE]
    assert slope.standard_uncertainty == pytest.approx(0.01 / math.sqrt(12.0) / math.sqrt(2.0))
    assert slope.degrees_of_freedom == math.inf


def test_rounding_serves_where_two_loads_leave_no_scatter_to_see():
    scale = Scale("mass", Dimensioned(0.01, "mass"), make_calibration([0.0, 2.0], [0.0, 2.01]))
    assert inputs_of(scale)[HEIGHT].standard_uncertainty == pytest.approx(0.01 / math.sqrt(12.0) / math.sqrt(2.0))


@pytest.mark.parametrize("indicated", [[0.0, 2.01], [0.0, 1.0, 2.0]])
def test_a_calibration_without_scatter_and_without_a_step_tells_nothing(indicated):
    applied = [0.0, 2.0] if len(indicated) == 2 else [0.0, 1.0, 2.0]
    inputs = inputs_of(Scale("mass", calibration=make_calibration(applied, indicated)))
    untold = [inputs[HEIGHT], inputs[SLOPE]]
    assert {str(one.to_state) for one in untold} == {"scale.resolution in the rig file"}
    assert not any(one.known for one in untold)


def test_loads_of_which_nothing_is_stated_are_the_masses_of_a_shop():
    """JCGM 100:2008, 4.3.7, of half a per cent."""
    scale = Scale("mass", calibration=make_calibration([0.0, 1.0, 2.0], [0.0, 1.01, 2.0]))
    loads = inputs_of(scale)[LOADS]
    assert loads.standard_uncertainty == pytest.approx(0.005 / math.sqrt(3.0))
    assert (loads.assumed, loads.degrees_of_freedom) == (True, pytest.approx(8.0))


@pytest.mark.parametrize(
    ("stated", "part"), [(Dimensioned(0.01, "mass"), 0.0025), (Dimensioned(0.006, "ratio"), 0.003)]
)
def test_applied_loads_err_together(stated, part):
    """JCGM 100:2008, 4.3.3 (k = 2) and 5.2.2: 10 g of the largest load, 2 kg, are 0.5 % of each; halved 0.25 %."""
    calibration = make_calibration([0.0, 1.0, 2.0], [0.0, 1.01, 2.0])
    calibration = Calibration(calibration.applied, calibration.indicated, expanded_uncertainty=stated)
    loads = inputs_of(Scale("mass", calibration=calibration), zero_is_read=True)[LOADS]
    assert loads.standard_uncertainty == pytest.approx(part)
    found = measured(calibration)
    before, after = line_of(found)[0], line_of(loads.perturb(found, 0.01))[0]
    assert after.slope == pytest.approx(before.slope / 1.01)


@given(error=st.floats(-0.5, 0.5))
def test_errors_of_the_line_raise_it_or_turn_it_about_its_middle(error):
    found = measured(make_calibration([0.0, 1.0, 2.0, 5.0], [0.002, 1.01, 2.0, 5.01]))
    inputs = inputs_of(found.rig.scale)
    before, middle = line_of(found)
    raised, turned = line_of(inputs[HEIGHT].perturb(found, error))[0], line_of(inputs[SLOPE].perturb(found, error))[0]
    assert (raised.slope, raised.intercept) == pytest.approx((before.slope, before.intercept + error))
    assert turned.slope == pytest.approx(before.slope + error)
    assert turned.intercept + turned.slope * middle == pytest.approx(before.intercept + before.slope * middle)


def test_of_several_estimates_of_one_scatter_the_largest_is_taken():
    """JCGM 100:2008, 4.3.10."""
    fine, coarse = rounding(0.001), rounding(0.01)
    assert largest(fine, None, coarse) == coarse
    assert largest(None, None) is None
