"""Lever, gravity, tare and belt: standard uncertainties by hand, and what each error moves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_readings, make_rig

from certgen.document.build import Toleranced
from certgen.job.rig import Drive, Scale
from certgen.reduction.torque import shaft_torque
from certgen.reduction.uncertainty.model import Measured, UncertainInput
from certgen.reduction.uncertainty.torque_path_inputs import lever_inputs

SQRT3 = math.sqrt(3.0)
STATED = Toleranced(9.81)


def measured(kind: str = "arm", gravity: float | None = 9.81, **keys) -> Measured:
    columns = {"speed": [0.0, 150.0], "scale": [2.0, 1.0], "torque": [9.0, 4.0]}
    if kind == "rope":
        columns["scale_2"] = [0.5, 0.25]
    return Measured(make_rig(kind, **keys), make_readings(**columns), gravity)


def inputs_of(found: Measured, gravity: Toleranced | None = STATED) -> dict[str, UncertainInput]:
    return {one.identifier: one for one in lever_inputs(found, gravity)}


def torque(found: Measured) -> np.ndarray:
    return shaft_torque(found.readings, found.rig, found.local_gravity).at_shaft


def test_limits_of_error_are_divided_by_the_root_of_three():
    """JCGM 100:2008, 4.3.7: half-width a, u = a / sqrt(3): 0.5 mm, 0.01 N*m."""
    found = measured(arm_length=Toleranced(0.5, tolerance=0.0005), tare_torque=Toleranced(0.03, tolerance=0.01))
    inputs = inputs_of(found)
    assert set(inputs) == {"arm length", "tare torque", "local gravity"}
    assert inputs["arm length"].standard_uncertainty == pytest.approx(0.0005 / SQRT3)
    assert inputs["tare torque"].standard_uncertainty == pytest.approx(0.01 / SQRT3)
    assert {
        (one.unit, one.estimate, one.shared, one.distribution, one.degrees_of_freedom)
        for one in inputs.values()
        if one.unit != "m/s^2"
    } == {
        ("m", 0.5, True, "rectangular", math.inf),
        ("N*m", 0.03, True, "rectangular", math.inf),
    }


def test_an_expanded_uncertainty_is_divided_by_two():
    """JCGM 100:2008, 4.3.3: a certificate's multiple of the standard uncertainty is divided by the multiplier."""
    arm = inputs_of(measured(arm_length=Toleranced(0.5, expanded_uncertainty=0.0004)))["arm length"]
    assert arm.standard_uncertainty == pytest.approx(0.0002)
    assert arm.distribution == "normal"


def test_what_is_not_stated_is_assumed_and_says_what_to_state():
    inputs = inputs_of(measured(drive=Drive("belt", ratio=2.0, efficiency=1.0)))
    assert {name: str(one.to_state) for name, one in inputs.items()} == {
        "arm length": "arm_length.tolerance in the rig file",
        "tare torque": "tare_torque in the rig file ('tare_torque: 0 N*m' where the scale sees all friction)",
        "belt efficiency": "drive.tolerance in the rig file",
        "belt ratio": "drive.ratio_tolerance in the rig file",
        "local gravity": "conditions.local_gravity.tolerance in the job file",
    }
    assert all(one.assumed and one.known and one.degrees_of_freedom >= 8.0 for one in inputs.values())


def test_assumed_limits_by_hand():
    """JCGM 100:2008, 4.3.7: 0.5 % of 0.5 m and 2 mm; 3 % of 2 kg x 9.81 m/s^2 x 0.5 m; 0.03; 2 % of a ratio of 2."""
    inputs = inputs_of(measured(drive=Drive("belt", ratio=2.0, efficiency=0.9)))
    limits = {name: one.standard_uncertainty * SQRT3 for name, one in inputs.items()}
    assert limits == {
        "arm length": pytest.approx(0.0045),
        "tare torque": pytest.approx(0.03 * 9.81),
        "belt efficiency": pytest.approx(0.03),
        "belt ratio": pytest.approx(0.04),
        "local gravity": pytest.approx(0.005),
    }
    assert str(inputs["arm length"].assumption) == "arm length ± 4.5 mm"


def test_a_tare_without_its_tolerance_is_never_taken_as_worse_than_none():
    none = inputs_of(measured())["tare torque"].standard_uncertainty
    small = inputs_of(measured(tare_torque=Toleranced(0.03)))["tare torque"].standard_uncertainty
    large = inputs_of(measured(tare_torque=Toleranced(5.0)))["tare torque"].standard_uncertainty
    assert small == pytest.approx(0.015 / SQRT3)
    assert large < 1.5 * none


def test_a_tare_of_which_nothing_can_be_said_has_no_number():
    still = Measured(make_rig("arm"), make_readings(speed=[0.0], scale=[0.0]), 9.81)
    tare = inputs_of(still)["tare torque"]
    assert not tare.known
    assert not tare.assumed


def test_a_plain_zero_says_that_there_is_none():
    assert "tare torque" not in inputs_of(measured(tare_torque=Toleranced(0.0)))
    assert "rope diameter" not in inputs_of(measured("rope", rope_diameter=Toleranced(0.0)))
    assert "tare torque" in inputs_of(measured(tare_torque=Toleranced(0.0, tolerance=0.01)))


def test_a_torque_sensor_has_no_lever():
    assert not inputs_of(measured("torque sensor"))


def test_gravity_nobody_stated_may_be_any_on_earth():
    """JCGM 100:2008, 4.3.8: (b+ + b-) / sqrt(12) for limits that lie unevenly about the estimate.

    Hirt et al., Geophys. Res. Lett. 40 (2013) 4279: 9.7639 m/s^2 (Huascaran) to 9.8337 m/s^2 (Arctic Ocean).
    """
    gravity = inputs_of(measured(gravity=None), None)["local gravity"]
    assert gravity.standard_uncertainty == pytest.approx((9.8337 - 9.7639) / math.sqrt(12.0))
    assert gravity.estimate == 9.80665


def test_a_stated_gravity_is_rounded_unless_its_tolerance_is_stated_too():
    assert inputs_of(measured())["local gravity"].standard_uncertainty == pytest.approx(0.005 / SQRT3)
    stated = inputs_of(measured(), Toleranced(9.81, tolerance=0.002))["local gravity"]
    assert stated.standard_uncertainty == pytest.approx(0.002 / SQRT3)


def test_a_scale_of_force_does_not_ask_for_gravity():
    assert "local gravity" not in inputs_of(measured(scale=Scale("force"), gravity=None), None)


def test_an_arm_out_of_square_is_shorter_by_the_cosine():
    """JCGM 100:2008, F.2.4.4: the error 1 - cos(b) is one-sided; its root mean square over b within 2 deg by numbers."""
    limit = math.radians(2.0)
    angle = np.linspace(-limit, limit, 200_001)
    square = inputs_of(measured(out_of_square=limit))["arm out of square"]
    assert square.standard_uncertainty == pytest.approx(math.sqrt(np.mean((1.0 - np.cos(angle)) ** 2)), rel=1e-3)
    assert square.unit == "1"


@pytest.mark.parametrize(
    ("kind", "keys", "name", "error", "moved"),
    [
        ("arm", {}, "arm length", 0.01, [2.0 * 9.81 * 0.01, 9.81 * 0.01]),
        ("arm", {}, "tare torque", 0.05, [0.0, 0.05]),
        ("arm", {"tare_torque": Toleranced(0.03)}, "tare torque", -0.05, [0.0, -0.05]),
        ("arm", {"out_of_square": 0.03}, "arm out of square", 0.01, [-2.0 * 9.81 * 0.005, -9.81 * 0.005]),
        ("arm", {}, "local gravity", 0.02, [2.0 * 0.02 * 0.5, 0.02 * 0.5]),
        ("rope", {}, "drum radius", 0.001, [1.5 * 9.81 * 0.001, 0.75 * 9.81 * 0.001]),
        ("rope", {}, "rope diameter", 0.001, [1.5 * 9.81 * 0.0005, 0.75 * 9.81 * 0.0005]),
        ("rope", {}, "rope diameter", -0.001, [-1.5 * 9.81 * 0.0005, -0.75 * 9.81 * 0.0005]),
    ],
)  # fmt: skip
def test_an_error_moves_the_torque_as_the_lever_says(kind, keys, name, error, moved):
    """Torque is force times lever: (m g) L, and (S1 - S2)(R + d/2)."""
    found = measured(kind, **keys)
    stated = Toleranced(9.81, tolerance=0.01)
    perturbed = inputs_of(found, stated)[name].perturb(found, error)
    assert torque(perturbed) - torque(found) == pytest.approx(moved, abs=1e-12)


@pytest.mark.parametrize(("name", "factor"), [("belt efficiency", 0.8 / 0.81), ("belt ratio", 2.0 / 2.01)])
def test_an_error_of_the_belt_divides_the_torque(name, factor):
    drive = Drive("belt", ratio=2.0, efficiency=0.8, tolerance=0.02, ratio_tolerance=0.01)
    found = measured(drive=drive)
    one = inputs_of(found)[name]
    assert one.standard_uncertainty == pytest.approx(0.02 / SQRT3)  # 0.02 of efficiency; 1 % of a ratio of 2
    assert torque(one.perturb(found, 0.01)) == pytest.approx(torque(found) * factor)


def test_no_belt_becomes_better_than_perfect():
    found = measured(drive=Drive("belt", ratio=2.0, efficiency=1.0))
    assert torque(inputs_of(found)["belt efficiency"].perturb(found, 0.01)) == pytest.approx(torque(found))
