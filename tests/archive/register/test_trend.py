from __future__ import annotations

import pytest

from certgen.archive.register.certificates import enter
from certgen.archive.register.trend import trend
from certgen.errors import CertgenError


def filled(register, tmp_path, make_entry, values):
    for day, value in enumerate(values, 1):
        entry = make_entry(f"R-{day}", serial="REF 1", efficiency=value, tested_on=f"2026-01-{day:02}")
        enter(register, tmp_path, entry, f"{day}".encode())


def test_a_rig_that_drifts_is_seen(register, tmp_path, make_entry) -> None:
    steady = [0.790, 0.792, 0.789, 0.791, 0.790, 0.791, 0.789, 0.792]
    filled(register, tmp_path, make_entry, [*steady, 0.770])
    followed = trend(register, tmp_path, "ref 1", "efficiency")
    assert followed.values == (*steady, 0.770)
    assert (8, "beyond_three") in [(one.at, one.rule) for one in followed.signals]


def test_few_tests_give_no_limits_and_a_test_without_the_value_is_named(register, tmp_path, make_entry) -> None:
    filled(register, tmp_path, make_entry, [0.79, None, 0.78])
    followed = trend(register, tmp_path, "REF 1", "efficiency")
    assert followed.limits is None and followed.signals == ()
    assert followed.without_value == ("R-2",)


def test_an_unknown_motor_is_told(register, tmp_path, make_entry) -> None:
    with pytest.raises(CertgenError, match=r"no certificate in .* has this serial number"):
        trend(register, tmp_path, "REF 1", "torque")
    filled(register, tmp_path, make_entry, [None])
    with pytest.raises(CertgenError, match=r"no certificate in .* of this motor gives its efficiency"):
        trend(register, tmp_path, "REF 1", "efficiency")
