"""Run-down tables of a job reduced: which inertia, which shaft, which rows, and how sure."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig, make_table

from certgen.document.build import Toleranced
from certgen.job.model import Braking, Coasting, Gear
from certgen.job.rig import Drive, Tachometer
from certgen.job.table import TableSource
from certgen.reduction.log.model import Reason
from certgen.reduction.model import RunDownMissing
from certgen.reduction.run_down import run_down_of
from certgen.results.log import in_words

pytestmark = pytest.mark.slow

TIME = np.arange(0.0, 12.0, 0.1)
RATED = 100.0
#: Of J = 0.02 kg*m^2: 0.06 N*m of dry friction and 0.001 N*m*s of viscous friction.
INERTIA, DRY, VISCOUS = 0.02, 0.06, 0.001
STATED = Toleranced(INERTIA, 0.001)


def falling(more=0.0, inertia=INERTIA):
    """Closed form: J dw/dt = -(T + B w)."""
    level = (DRY + more) / VISCOUS
    return (150.0 + level) * np.exp(-TIME * VISCOUS / inertia) - level


def found(
    speed,
    *,
    coasting="motor",
    inertia=STATED,
    braking=None,
    braked=None,
    rotor=None,
    rig=None,
    job=None,
):
    def source(name, also):
        return TableSource(f"readings.{name}", (1, 1), (), also=also)

    job = job or make_job(speed=RATED)
    readings = replace(job.readings, run_down=source("run_down", Coasting(coasting, inertia)))
    others = {"run_down": make_table(time=TIME[: speed.size], speed=np.maximum(speed, 0.0))}
    if braking is not None:
        readings = replace(readings, run_down_braked=source("run_down_braked", braking))
        others["run_down_braked"] = make_table(time=TIME, speed=np.maximum(braked, 0.0))
    job = replace(job, readings=readings, motor=replace(job.motor, rotor_inertia=rotor))
    return run_down_of(job, rig or make_rig(), replace(make_readings(speed=[1.0], torque=[1.0]), others=others))


def test_friction_over_speed_from_a_known_inertia():
    one = found(falling())
    assert one.friction_torque.value == pytest.approx(DRY + VISCOUS * RATED, rel=1e-4)
    assert one.friction_loss.value == pytest.approx((DRY + VISCOUS * RATED) * RATED, rel=1e-4)
    np.testing.assert_allclose([term.value for term in one.terms], [DRY, VISCOUS, 0.0], rtol=1e-3, atol=1e-12)
    # Without scatter the tolerance of the inertia is all: 5 % / sqrt(3), k = 2.
    assert one.friction_torque.expanded == pytest.approx(
        2.0 * 0.05 / math.sqrt(3.0) * one.friction_torque.value, rel=1e-3
    )
    assert one.at_rated and one.at_speed == RATED


@pytest.mark.parametrize(
    ("braking", "more"),
    [
        (Braking(added_torque=Toleranced(0.1, 0.002)), 0.1),
        (Braking(added_torque=Toleranced(0.3, expanded_uncertainty=0.006)), 0.3),
    ],
)
def test_a_braked_run_tells_the_inertia_and_the_stated_one_is_kept_beside(braking, more):
    one = found(falling(), braking=braking, braked=falling(more))
    assert one.inertia_found
    assert one.inertia.value == pytest.approx(INERTIA, rel=1e-3)
    assert one.inertia_stated == INERTIA
    assert one.friction_torque.value == pytest.approx(DRY + VISCOUS * RATED, rel=1e-3)
    known = braking.added_torque
    relative = known.tolerance / math.sqrt(3.0) / more if known.tolerance else known.expanded_uncertainty / 2.0 / more
    # What scatter the arithmetic leaves widens the 2 % of the torque a little.
    assert one.inertia.expanded == pytest.approx(2.0 * relative * INERTIA, rel=0.05)


def test_found_inertia_and_friction_are_within_their_uncertainties_of_the_truth():
    """Noise on both runs and an error of the added torque within its tolerance, 40 times."""
    random = np.random.default_rng(8)
    inside = []
    for _ in range(40):
        true = 0.1 + random.uniform(-0.003, 0.003)
        noisy = [falling(more) + random.normal(0.0, 0.3, TIME.size) for more in (0.0, true)]
        one = found(noisy[0], braking=Braking(added_torque=Toleranced(0.1, 0.003)), braked=noisy[1])
        pairs = ((one.inertia, INERTIA), (one.friction_torque, DRY + VISCOUS * RATED))
        inside.append([abs(sure.value - truth) <= sure.expanded for sure, truth in pairs])
    assert (np.mean(inside, axis=0) >= 0.85).all()


def test_inertia_of_the_parts_that_coasted():
    rig = make_rig(inertia=Toleranced(0.03, 0.003))
    rotor = Toleranced(0.01, 0.004)
    assert found(falling(), inertia=None, rotor=rotor, rig=rig).inertia.value == 0.01
    assert found(falling(), coasting="rig", inertia=None, rotor=rotor, rig=rig).inertia.value == 0.03
    both = found(falling(), coasting="motor and rig", inertia=None, rotor=rotor, rig=rig)
    assert both.inertia.value == pytest.approx(0.04)
    assert both.inertia.expanded == pytest.approx(2.0 * 0.005 / math.sqrt(3.0), rel=1e-3)


def test_belt_and_gear_refer_the_inertia_to_the_shaft_read():
    rig = make_rig(inertia=Toleranced(0.08), drive=Drive("belt", ratio=2.0, efficiency=0.95))
    rotor = Toleranced(0.01)
    one = found(falling(), coasting="motor and rig", inertia=None, rotor=rotor, rig=rig)
    assert one.inertia.value == pytest.approx(0.08 / 4.0 + 0.01)
    assert found(falling(), coasting="rig", inertia=None, rig=rig).highest == pytest.approx(75.0, rel=0.03)
    geared = make_job(speed=RATED, gear=Gear(5.0, 0.9))
    assert found(falling(), inertia=None, rotor=rotor, job=geared).inertia.value == pytest.approx(0.01 * 25.0 * 0.9)


def test_without_inertia_only_the_deceleration_is_told():
    one = found(falling(), inertia=None)
    assert one.inertia is None and one.friction_torque is None and one.terms is None
    assert one.deceleration == pytest.approx((DRY + VISCOUS * RATED) / INERTIA, rel=1e-3)
    assert tuple(map(str, one.missing_inputs)) == ("motor.rotor_inertia in the job file",)


def test_a_tolerance_that_is_not_stated_leaves_no_uncertainty():
    one = found(falling(), inertia=Toleranced(INERTIA))
    assert one.friction_torque.expanded is None
    assert tuple(map(str, one.missing_inputs)) == ("the tolerance of the inertia",)


def test_a_tachometer_that_is_not_sure_moves_what_grows_with_speed():
    plain = found(falling())
    rig = make_rig(tachometer=Tachometer(tolerance=5.0))
    wide = found(falling(), rig=rig)
    more = math.sqrt(wide.friction_torque.expanded**2 - plain.friction_torque.expanded**2)
    assert more == pytest.approx(2.0 * VISCOUS * 5.0 / math.sqrt(3.0), rel=1e-2)


def test_friction_is_not_extrapolated_to_a_rated_speed_that_was_not_passed():
    one = found(falling(), job=make_job(speed=200.0))
    assert not one.at_rated
    assert one.at_speed == one.highest < 150.0


def test_rows_with_the_supply_on_and_at_rest_are_left_out():
    speed = np.concatenate([np.full(20, 150.0), falling()[:-20]])
    speed[-10:] = 0.0
    one = found(speed)
    assert one.friction_torque.value == pytest.approx(DRY + VISCOUS * RATED, rel=1e-3)
    assert one.lowest > 0.0


@pytest.mark.parametrize(
    ("speed", "why"),
    [
        (np.zeros(5), "fewer than two rows with the shaft turning"),
        (np.array([100.0, 0.0]), "fewer than two rows with the shaft turning"),
        (np.linspace(50.0, 100.0, 5), "does not fall"),
    ],
)
def test_tables_that_tell_nothing_say_why(speed, why):
    one = found(speed)
    assert isinstance(one, RunDownMissing)
    assert why in str(one.why)


def test_a_job_without_a_run_down_has_none():
    assert run_down_of(make_job(), make_rig(), make_readings(speed=[1.0], torque=[1.0])) is None


FRICTION = DRY + VISCOUS * RATED
TURNING = int(np.count_nonzero(falling() > 10.0))


def spoilt(seed, length, change):
    """A run-down with a stretch of its rows changed somewhere."""
    random = np.random.default_rng(seed)
    speed = falling() + random.normal(0.0, 0.1, TIME.size)
    begin = int(random.integers(3, TURNING - length - 3))
    rows = slice(begin, begin + length)
    speed[rows] = change(speed[rows])
    return speed, begin


@pytest.mark.parametrize("length", [1, 2, 5, 12, 30])
@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (lambda speed: 2.0 * speed, Reason.PULSE_DOUBLED),
        (lambda speed: 0.5 * speed, Reason.PULSE_MISSED),
        (lambda speed: 0.0 * speed, Reason.DROPPED_OUT),
        (lambda speed: np.nan * speed, Reason.DROPPED_OUT),
    ],
)
def test_wrong_speeds_of_any_length_are_left_out_and_named(change, reason, length):
    for seed in range(8):
        speed, begin = spoilt(seed, length, change)
        one = found(speed)
        assert one.friction_torque.value == pytest.approx(FRICTION, rel=5e-3)
        (entry,) = one.left_out
        assert (entry.reason, entry.count) == (reason, length)
        assert entry.start == pytest.approx(TIME[begin])
        assert entry.end == pytest.approx(TIME[begin + length - 1])


def test_one_doubled_and_one_halved_speed_are_named_by_time():
    """The case that gave three times the friction."""
    speed = falling() + np.random.default_rng(3).normal(0.0, 0.1, TIME.size)
    speed[20], speed[60] = 2.0 * speed[20], 0.5 * speed[60]
    one = found(speed)
    assert abs(one.friction_torque.value - FRICTION) <= one.friction_torque.expanded
    assert [(entry.reason, entry.start) for entry in one.left_out] == [
        (Reason.PULSE_DOUBLED, pytest.approx(2.0)), (Reason.PULSE_MISSED, pytest.approx(6.0)),
    ]  # fmt: skip
    said = " ".join(map(str, in_words(one.left_out)))
    assert "speed halved, pulse missed: 1 reading, at 6 s" in said


def test_a_sound_run_down_has_no_mark():
    for seed in range(40):
        speed = falling() + np.random.default_rng(seed).normal(0.0, 0.1, TIME.size)
        assert found(speed).left_out == ()


def test_where_half_of_the_rows_are_doubled_nobody_knows_which_are_right():
    speed = falling() + np.random.default_rng(1).normal(0.0, 0.1, TIME.size)
    speed[50:105] *= 2.0
    one = found(speed)
    assert isinstance(one, RunDownMissing)
    assert "twice or half" in str(one.why)


def test_speeds_that_follow_no_friction_are_refused():
    """A brake that was touched, and a speed that wanders."""
    wandering = falling() + 8.0 * np.sin(TIME * 2.0)
    assert "scatter" in str(found(wandering).why)


@pytest.mark.parametrize(("scatter", "refused"), [(0.018, False), (0.022, True)])
def test_scatter_beyond_a_fiftieth_of_the_highest_speed_is_refused(scatter, refused):
    """Up and down from row to row by so much of the highest speed, which no friction does."""
    size = scatter * 150.0 * np.where(np.arange(TIME.size) % 2, 1.0, -1.0)
    assert isinstance(found(falling() + size), RunDownMissing) is refused
