from __future__ import annotations

import numpy as np
import pytest
from builders import make_calibration, make_readings, make_rig, make_table
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import Toleranced
from certgen.job.rig import Drive, Scale
from certgen.readings.model import Zero
from certgen.reduction.torque import corrected_indication, shaft_torque, table_torque, zero_drift

NO_TIME = np.full(5, np.nan)


def test_drift_of_the_zero_is_linear_over_rows_where_no_time_was_read():
    assert zero_drift(Zero(0.004, 0.008), 5, NO_TIME) == pytest.approx([0.004, 0.005, 0.006, 0.007, 0.008])


def test_drift_of_the_zero_follows_time_where_it_was_read():
    time = np.array([0.0, 100.0, 100.0, 300.0, 400.0])
    assert zero_drift(Zero(0.0, 0.4), 5, time) == pytest.approx([0.0, 0.1, 0.1, 0.3, 0.4])


@pytest.mark.parametrize("zero", [Zero(0.02, None), Zero(None, 0.02)])
def test_one_zero_reading_holds_for_the_whole_test(zero):
    assert zero_drift(zero, 3, np.full(3, np.nan)) == pytest.approx([0.02, 0.02, 0.02])


def test_without_a_zero_reading_there_is_no_drift():
    assert zero_drift(Zero(), 3, np.full(3, np.nan)) is None


def test_a_single_row_takes_the_zero_of_the_middle_of_the_test():
    assert zero_drift(Zero(0.0, 0.4), 1, np.full(1, np.nan)) == pytest.approx([0.2])


def test_calibration_line_of_gum_h3_is_inverted():
    """JCGM 100:2008 annex H.3: thermometer corrections b = -0.1712 + 0.00218 (t - 20), t from table H.6.

    The table as recalled from memory; here it serves as applied value t and indication t - b.
    """
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
    b = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])
    calibration = make_calibration((t + b).tolist(), t.tolist())
    corrected = corrected_indication(np.array([30.0]), None, calibration)
    assert corrected[0] - 30.0 == pytest.approx(-0.1494, abs=0.0005)  # b(30 degC) = -0.1494, annex H.3.4


@given(
    slope=st.floats(0.8, 1.2),
    offset=st.floats(-0.1, 0.1),
    load=st.lists(st.floats(0.0, 20.0), min_size=1, max_size=8),
    drift=st.floats(-0.05, 0.05),
)
def test_a_scale_with_known_errors_gives_back_the_load(slope, offset, load, drift):
    """Whatever slope, offset and linear drift a scale has, calibration and zero readings take them out."""
    from certgen.document.build import Dimensioned
    from certgen.job.rig import Calibration

    applied = [0.0, 5.0, 10.0, 20.0]
    calibration = Calibration(
        tuple(Dimensioned(one, "mass") for one in applied),
        tuple(Dimensioned(offset + slope * one, "mass") for one in applied),
    )
    true = np.array(load)
    drifting = np.linspace(offset, offset + drift, true.size) if true.size > 1 else np.array([offset + drift / 2])
    zero = zero_drift(Zero(offset, offset + drift), true.size, np.full(true.size, np.nan))
    assert corrected_indication(slope * true + drifting, zero, calibration) == pytest.approx(true, abs=1e-9)
    assert corrected_indication(slope * true + offset, None, calibration) == pytest.approx(true, abs=1e-9)


def test_arm_and_mass_scale():
    """Common practice, no source: one pound on a one-foot arm is one lbf*ft in standard gravity."""
    rig = make_rig("arm", arm_length=Toleranced(0.3048))
    readings = make_readings(speed=[100.0], scale=[0.45359237])
    assert shaft_torque(readings, rig, None).at_shaft == pytest.approx([1.3558179483314])


def test_arm_and_force_scale_do_not_use_gravity():
    rig = make_rig("arm", scale=Scale("force"))
    readings = make_readings(speed=[100.0], scale=[20.0])
    assert shaft_torque(readings, rig, 9.7).at_shaft == pytest.approx([10.0])


def test_rope_brake_takes_the_difference_of_two_balances_each_with_its_zero():
    """R. K. Rajput, A Textbook of Internal Combustion Engines, chapter 17: T = (S1 - S2)(D + d)/2."""
    rig = make_rig("rope", drum_radius=Toleranced(0.35), rope_diameter=Toleranced(0.025), scale=Scale("force"))
    readings = make_readings(Zero(3.0, 3.0), Zero(-1.0, -1.0), speed=[94.2], scale=[493.325], scale_2=[49.0])
    torque = shaft_torque(readings, rig, None)
    assert torque.at_shaft == pytest.approx([(490.325 - 50.0) * 0.3625])
    assert torque.scale_indication == pytest.approx([493.325])


def test_tare_torque_is_added_where_the_shaft_turns():
    rig = make_rig(tare_torque=Toleranced(0.03))
    readings = make_readings(speed=[0.0, 150.0], torque=[5.0, 5.0])
    assert shaft_torque(readings, rig, None).at_shaft == pytest.approx([5.0, 5.03])


def test_the_motor_drives_the_belts_loss_too():
    """Energy: motor power times belt efficiency is absorber power."""
    rig = make_rig(drive=Drive("belt", ratio=2.0, efficiency=0.96))
    readings = make_readings(speed=[150.0], torque=[9.6])
    torque = shaft_torque(readings, rig, None)
    assert torque.at_absorber == pytest.approx([9.6])
    assert torque.at_shaft == pytest.approx([5.0])
    assert torque.at_shaft * 150.0 * 0.96 == pytest.approx(torque.at_absorber * 75.0)


def test_the_chain_serves_any_table_with_zeros_of_its_own():
    rig = make_rig("arm", scale=Scale("force"), tare_torque=Toleranced(0.03))
    table = make_table(voltage=[230.0, 400.0], scale=[5.2, 20.2])
    held = table_torque(table, (Zero(0.2, 0.2), Zero()), rig, None)
    assert held.at_shaft == pytest.approx([2.5, 10.0])  # no speed column: the shaft is not known to turn
    assert held.scale_indication == pytest.approx([5.2, 20.2])


def test_a_table_without_torque_has_none():
    assert np.isnan(table_torque(make_table(voltage=[230.0]), (Zero(), Zero()), make_rig("arm"), None).at_shaft).all()


def test_a_zero_in_kilograms_belongs_to_a_scale_read_in_pounds() -> None:
    """Both are mass: 0.45359237 kg (NIST SP 811, appendix B) is the zero of a scale that shows 1 lb without load."""
    from certgen.document.source import Problems
    from certgen.job.columns import Column
    from certgen.readings.cells import tabulate

    columns = [Column("scale", "lb", "mass", "scale", (1, 1))]
    table = tabulate(columns, [["1"], ["3"]], lambda row, cell: (row, cell), "a.csv", Problems())
    rig = make_rig("arm")
    zero = Zero(0.45359237, 0.45359237)
    shown = table_torque(table, (zero, Zero()), rig, 9.80665)
    assert shown.at_shaft == pytest.approx([0.0, 2 * 0.45359237 * 9.80665 * 0.5])
