"""Scales, balances and torque sensors: rounding, zero, hysteresis, limits of error, repeats."""

from __future__ import annotations

import math

import pytest
from builders import make_calibration, make_readings, make_rig

from certgen.document.build import Dimensioned
from certgen.job.rig import Meters, Scale, TorqueMeter
from certgen.readings.model import Zero
from certgen.reduction.torque import shaft_torque
from certgen.reduction.uncertainty.model import Measured, UncertainInput
from certgen.reduction.uncertainty.scale_inputs import scale_inputs

SQRT3, SQRT12 = math.sqrt(3.0), math.sqrt(12.0)
GRAM = Dimensioned(0.001, "mass")
DRIFTING, STEADY = Zero(0.004, 0.01), Zero(0.0, 0.0)
LINE = make_calibration([0.0, 1.0, 2.0], [0.0, 1.0, 2.0])
SCATTERING = make_calibration([0.0, 1.0, 2.0], [0.0, 1.03, 2.0])


def measured(
    described: Scale | None, kind: str = "arm", zero: Zero = DRIFTING, zero_2: Zero = STEADY, **columns
) -> Measured:
    keys = {} if described is None else {"scale": described}
    columns = {"speed": [100.0, 90.0, 80.0], **(columns or {"scale": [1.0, 2.0, 3.0]})}
    return Measured(make_rig(kind, **keys), make_readings(zero, zero_2, **columns), 9.81)


def inputs_of(found: Measured) -> dict[str, UncertainInput]:
    listed = list(scale_inputs(found))
    assert len({one.identifier for one in listed}) == len(listed)
    return {one.identifier: one for one in listed}


def test_a_scale_with_calibration_and_both_zeros():
    """JCGM 100:2008, F.2.2.1: 1 g gives 1 / sqrt(12) g; 4.3.7: a zero from 4 to 10 g is within 3 g of the line between."""
    inputs = inputs_of(measured(Scale("mass", GRAM, LINE)))
    assert {name: one.standard_uncertainty for name, one in inputs.items()} == {
        "scale resolution": pytest.approx(0.001 / SQRT12),
        "scale, zero before": pytest.approx(0.001 / SQRT12),
        "scale, zero after": pytest.approx(0.001 / SQRT12),
        "scale, zero drift": pytest.approx(0.003 / SQRT3),
        "scale calibration, slope": pytest.approx(0.001 / SQRT12 / math.sqrt(2.0)),
        "scale calibration, applied loads": pytest.approx(0.005 / SQRT3),
    }
    assert {name for name, one in inputs.items() if not one.shared} == {"scale resolution"}
    assert {one.unit for name, one in inputs.items() if "calibration" not in name} == {"kg"}


def test_scatter_about_the_line_takes_the_place_of_a_smaller_step():
    """Residuals of 1.03 among 0, 1, 2 are -0.01, 0.02, -0.01; s = sqrt(6e-4 / 1), one degree of freedom."""
    inputs = inputs_of(measured(Scale("mass", GRAM, SCATTERING)))
    single = inputs["scale, scatter about its calibration line"]
    assert "scale resolution" not in inputs
    assert single.standard_uncertainty == pytest.approx(math.sqrt(6e-4))
    assert (single.degrees_of_freedom, single.distribution, single.shared) == (1, "normal", False)
    coarse = inputs_of(measured(Scale("mass", Dimensioned(0.1, "mass"), SCATTERING)))
    assert coarse["scale resolution"].standard_uncertainty == pytest.approx(0.1 / SQRT12)


def test_a_scale_without_calibration_has_its_limit_of_error():
    """JCGM 100:2008, 4.3.7."""
    scale = Scale("mass", GRAM, tolerance=Dimensioned(0.01, "mass"))
    limit = inputs_of(measured(scale, zero=Zero()))
    assert set(limit) == {"scale resolution", "scale, limit of error"}  # which holds for the zero as well
    assert limit["scale, limit of error"].standard_uncertainty == pytest.approx(0.01 / SQRT3)


def test_hysteresis_counts_half_either_side():
    """JCGM 100:2008, F.2.2.2: a known difference between rising and falling, of unknown sign at a reading."""
    scale = Scale("mass", GRAM, LINE, hysteresis=Dimensioned(0.01, "mass"))
    assert inputs_of(measured(scale))["scale hysteresis"].standard_uncertainty == pytest.approx(0.005 / SQRT3)


def test_a_scale_of_which_nothing_is_stated():
    inputs = inputs_of(measured(Scale("mass"), zero=Zero()))
    assert {name: str(one.to_state) for name, one in inputs.items()} == {
        "scale, gain": "scale.calibration or scale.tolerance in the rig file",
        "scale, offset": "scale.calibration or scale.tolerance in the rig file",
        "scale resolution": "scale.resolution in the rig file",
        "scale, zero drift": "zero_before and zero_after in the readings",
    }
    assert all(one.assumed for one in inputs.values())
    assert {name: one.standard_uncertainty * SQRT3 for name, one in inputs.items()} == {
        "scale, gain": pytest.approx(0.01),
        "scale, offset": pytest.approx(0.005 * 3.0),
        "scale resolution": pytest.approx(0.5 * 0.005 * 3.0),
        "scale, zero drift": pytest.approx(0.01 * 3.0),
    }


def test_the_last_digit_typed_is_the_step_of_a_scale_of_which_nothing_is_stated():
    (one,) = (one for one in scale_inputs(measured(Scale("mass")), {"scale": 0.005}) if not one.shared)
    assert one.standard_uncertainty == pytest.approx(0.005 / SQRT12)


@pytest.mark.parametrize(
    ("zero", "to_state"),
    [(Zero(0.004, None), "zero_after in the readings"), (Zero(None, 0.0), "zero_before in the readings")],
)
def test_a_zero_read_once_leaves_its_drift_assumed(zero, to_state):
    found = measured(Scale("mass", GRAM, LINE), zero=zero)
    drift = inputs_of(found)["scale, zero drift"]
    assert (drift.assumed, str(drift.to_state)) == (True, to_state)
    assert drift.standard_uncertainty == pytest.approx(0.005 * 3.0 / SQRT3)
    assert "scale calibration, offset of its line" not in inputs_of(found)


def test_without_a_zero_the_calibrations_own_height_is_used_and_may_have_drifted():
    inputs = inputs_of(measured(Scale("mass", GRAM, LINE), zero=Zero()))
    assert inputs["scale calibration, offset of its line"].standard_uncertainty == pytest.approx(0.001 / SQRT12 / SQRT3)
    assert str(inputs["scale, zero drift"].to_state) == "zero_before and zero_after in the readings"


def test_a_steady_zero_has_no_drift():
    assert "scale, zero drift" not in inputs_of(measured(Scale("mass", GRAM, LINE), zero=Zero(0.004, 0.004)))


def test_a_rope_brake_has_two_balances_and_one_calibration():
    scale = Scale("force", Dimensioned(0.05, "force"), LINE)
    columns = {"scale": [1.0, 2.0, 3.0], "scale_2": [0.1, 0.2, 0.3]}
    inputs = inputs_of(measured(scale, "rope", zero_2=Zero(0.0, None), **columns))
    assert set(inputs) == {
        *(f"tight-side balance{one}" for one in (" resolution", ", zero before", ", zero after", ", zero drift")),
        *(f"slack-side balance{one}" for one in (" resolution", ", zero before", ", zero drift")),
        "scale calibration, slope",
        "scale calibration, applied loads",
    }
    assert str(inputs["slack-side balance, zero drift"].to_state) == "zero_after_2 in the readings"
    assert inputs["tight-side balance resolution"].unit == "N"


def test_a_torque_sensor_rounds_and_drifts_and_leaves_the_rest_to_its_meter():
    columns = {"torque": [1.0, 2.0, 3.0]}
    found = measured(None, "torque sensor", **columns)
    assert set(inputs_of(found)) == {
        *(f"torque sensor{one}" for one in (" resolution", ", zero before", ", zero after", ", zero drift"))
    }
    meters = Meters(torque=TorqueMeter(reading=0.001, resolution=0.01))
    found = Measured(make_rig("torque sensor", meters=meters), make_readings(Zero(0.0, None), **columns), None)
    inputs = inputs_of(found)
    assert set(inputs) == {"torque sensor resolution", "torque sensor, zero before"}
    assert inputs["torque sensor resolution"].standard_uncertainty == pytest.approx(0.01 / SQRT12)


@pytest.mark.parametrize(
    ("name", "moved"),
    [
        ("scale resolution", [0.1, 0.1, 0.1]),
        ("scale hysteresis", [0.1, 0.1, 0.1]),
        ("scale, zero before", [-0.1, -0.05, 0.0]),
        ("scale, zero after", [0.0, -0.05, -0.1]),
        ("scale, zero drift", [-0.1, -0.1, -0.1]),
    ],
)
def test_an_error_moves_the_load_and_a_zero_the_other_way(name, moved):
    scale = Scale("force", GRAM, LINE, hysteresis=GRAM)
    found = measured(scale)

    def load(at: Measured):
        return shaft_torque(at.readings, at.rig, None).at_shaft / 0.5

    assert load(inputs_of(found)[name].perturb(found, 0.1)) - load(found) == pytest.approx(moved)
