"""What is followed over repeated tests of a motor, on tests made up of one curve."""

from __future__ import annotations

import shutil
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from archive.test_earlier_versions import ISSUED
from hypothesis import given
from hypothesis import strategies as st

from certgen.archive.register.certificates import enter
from certgen.archive.register.database import open_register
from certgen.archive.register.trend import NEAR_LOAD, SAME_LOAD, Load, LoadTest, trend, values_at
from certgen.errors import CertgenError
from certgen.issuing.reference_test import computed_again
from certgen.messages.catalogue import Message

RATED = 3.4  # [A]
AT_RATED = Load("current", RATED, Message("trend.load.rated_current", value=RATED))
NAMES = ("torque", "speed", "power", "current", "efficiency")


def motor(current: np.ndarray, scale: float = 1.0) -> dict[str, np.ndarray]:
    """A motor made up for the test, on a rig whose scale reads this many times the truth."""
    torque = scale * 3.0 * np.sqrt(np.maximum(current**2 - 1.9**2, 0.0))
    speed = 157.0 - 0.9 * torque / scale
    power = torque * speed
    return {
        "torque": torque,
        "speed": speed,
        "power": power,
        "current": current,
        "efficiency": power / (power / scale + 250.0 + 9.0 * current**2),
    }


def whole(scale: float = 1.0, rated_current: float | None = RATED) -> LoadTest:
    return LoadTest(rated_current, motor(np.array([1.9, 2.6, 3.6]), scale), motor(np.linspace(1.9, 3.6, 200), scale))


def one_load(current: float, scale: float = 1.0) -> LoadTest:
    return LoadTest(RATED, motor(np.array([current]), scale), None)


@given(st.floats(0.9, 1.1), st.floats(RATED * (1.0 - 0.9 * NEAR_LOAD), RATED * (1.0 + 0.9 * NEAR_LOAD)))
def test_one_load_is_brought_along_the_curve_and_keeps_what_its_scale_reads(scale: float, current: float) -> None:
    first, last = values_at([whole(), one_load(current, scale)], AT_RATED, "torque")
    assert last == pytest.approx(scale * first, rel=2e-4)  # 200 points stand for the curve


@pytest.mark.parametrize("quantity", ["torque", "efficiency", "speed", "power"])
def test_tests_of_one_motor_on_one_rig_agree_whatever_their_loads(quantity: str) -> None:
    tests = [whole(), one_load(3.3), one_load(3.5), one_load(RATED)]
    values = values_at(tests, AT_RATED, quantity)
    assert values == pytest.approx([values[0]] * 4, rel=2e-4)


def test_what_gives_no_value_says_why() -> None:
    lost = LoadTest(RATED, {name: np.full(1, np.nan) for name in NAMES}, None)
    far, near = one_load(RATED * (1.0 + 2.0 * NEAR_LOAD)), one_load(RATED * (1.0 + 2.0 * SAME_LOAD))
    unread = Message("trend.changed")
    assert values_at([unread, lost, far, one_load(RATED)], AT_RATED, "torque") == [
        unread,
        Message("trend.not_measured"),
        Message("trend.other_load", off=pytest.approx(0.1)),
        pytest.approx(float(motor(np.array([RATED]))["torque"][0])),
    ]
    (alone,) = values_at([near], AT_RATED, "torque")
    assert str(alone) == "its load is 1 % off, and no test of this motor has a load curve to correct it by"


def filled(register, tmp_path, make_entry, count: int) -> None:
    for day in range(1, count + 1):
        entry = make_entry(f"R-{day}", serial="REF 1", tested_on=f"2026-01-{day:02}")
        enter(register, tmp_path, entry, f"{day}".encode())


def test_a_rig_that_drifts_is_seen(register, tmp_path, make_entry) -> None:
    filled(register, tmp_path, make_entry, 9)
    scales = (1.000, 1.003, 0.998, 1.001, 1.000, 1.002, 0.999, 1.002, 0.975)
    followed = trend(
        register, tmp_path, "ref 1", "torque", compute=lambda document: whole(scales[int(document.decode()) - 1])
    )
    assert len(followed.values) == 9
    assert (8, "beyond_three") in [(one.at, one.rule) for one in followed.signals]


def test_few_tests_give_no_limits_and_a_changed_file_is_named(register, tmp_path, make_entry) -> None:
    filled(register, tmp_path, make_entry, 3)
    (tmp_path / "R-2.pdf").write_bytes(b"1")
    followed = trend(register, tmp_path, "REF 1", "efficiency", compute=lambda _: whole())
    assert followed.limits is None and followed.signals == ()
    assert followed.without_value == (("R-2", Message("trend.changed")),)


def test_an_unknown_motor_is_told(register, tmp_path, make_entry) -> None:
    with pytest.raises(CertgenError, match=r"no certificate in .* has this serial number"):
        trend(register, tmp_path, "REF 1", "torque", compute=lambda _: whole())
    filled(register, tmp_path, make_entry, 1)
    with pytest.raises(CertgenError, match=r"no plate of this motor states its current; .* --at '3 A'"):
        trend(register, tmp_path, "REF 1", "torque", compute=lambda _: whole(rated_current=None))


def test_tests_of_an_earlier_version_are_computed_again(tmp_path: Path) -> None:
    """Two tests of one motor, before and after its rotor was renewed: each is held against what its page prints."""
    shutil.copytree(ISSUED, tmp_path / "kept")
    with closing(open_register(tmp_path / "kept", make=False)) as register:
        followed = trend(register, tmp_path / "kept", "0-55871", "torque", compute=computed_again)
    assert [test.number for test in followed.tests] == ["PMB-2026-0049", "PMB-2026-0063"]
    assert followed.load == Message("trend.load.rated_current", value=4.7)
    worn, renewed = followed.values
    # printed by version 0.1.0 at rated current: 11.02 N m, and 14.29 N m with the new rotor
    assert (worn, renewed) == pytest.approx((11.02, 14.29), abs=0.006)
