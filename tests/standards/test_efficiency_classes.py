"""Efficiency classes against the coefficients of the law, spot values in public, and the law of order."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.standards.criteria import shipped_table
from certgen.standards.efficiency import CLASSES, class_limits, class_of, missing_classes, polyphase_level

#: 10 CFR 431.25: horsepower and its kilowatts.
PAIRS = [
    ("1", 0.75), ("1.5", 1.1), ("2", 1.5), ("3", 2.2), ("5", 3.7), ("7.5", 5.5), ("10", 7.5), ("15", 11), ("20", 15),
    ("25", 18.5), ("30", 22), ("40", 30), ("50", 37), ("60", 45), ("75", 55), ("100", 75), ("125", 90), ("150", 110),
    ("200", 150),
]  # fmt: skip
ratings = st.tuples(st.floats(120.0, 1e6), st.sampled_from([2, 4, 6, 8]), st.sampled_from([50, 60]))


@pytest.mark.parametrize(
    ("kilowatts", "poles", "name", "percent"),
    [
        # ibetww.com, IE3 motors: 1.5 kW with 4 poles; 200 kW with 2 poles
        (1.5, 4, "IE1", 77.2), (1.5, 4, "IE2", 82.8), (1.5, 4, "IE3", 85.3), (200, 2, "IE3", 95.8),
        (15, 4, "IE2", 90.6),  # bauergears.com, efficiency classes
        # UK SI 2021/745, Schedule 16, Tables 27 and 28, worked by hand for ratings not listed:
        # 2 kW, 4 poles, IE3: x = 0.30103; 0.0773 x^3 - 1.8951 x^2 + 9.2984 x + 83.7025 = 86.332
        (2.0, 4, "IE3", 86.3),
        # 0.3 kW, 2 poles, IE2: x = -0.52288; 22.4864 x^3 + 27.7603 x^2 + 37.8091 x + 82.458 = 67.063
        (0.3, 2, "IE2", 67.1),
        # 0.63 kW, 4 poles, IE2: straight from 77.1 at 0.55 kW to 79.6 at 0.75 kW, 77.1 + 0.4 * 2.5
        (0.63, 4, "IE2", 78.1),
    ],
)  # fmt: skip
def test_limits_at_50_hz(kilowatts, poles, name, percent):
    assert 100 * class_limits(1000 * kilowatts, poles, 50)[name].efficiency == pytest.approx(percent, abs=1e-9)


def test_every_listed_limit_follows_from_the_coefficients_of_the_law():
    """UK SI 2021/745, Schedule 16, Tables 27 and 28 (as Regulation (EU) 2019/1781): to half a tenth, IE2 to IE4."""
    table = shipped_table("efficiency_classes")["hz_50"]
    compared = 0
    for name in ("IE2", "IE3", "IE4"):
        for kilowatts, row in table["limits"][name].items():
            if kilowatts > 200:
                continue
            part = table["coefficients"]["up_to_0.55" if kilowatts <= 0.55 else "from_0.75"][name]
            for poles, percent in zip((2, 4, 6, 8), row, strict=True):
                a, b, c, d = part[poles]
                x = math.log10(kilowatts)
                assert a * x**3 + b * x**2 + c * x + d == pytest.approx(percent, abs=0.0505), (name, kilowatts, poles)
                compared += 1
    assert compared == 348


@pytest.mark.parametrize("poles", [2, 4, 6])
def test_limits_at_60_hz_are_the_levels_of_the_american_regulation(poles):
    """IE3 as 10 CFR 431.25 and IE2 as 42 USC 6313(b)(1), enclosed; IE3 of 0.75 kW with 4 poles is 83.5, not 85.5 %."""
    for horsepower, kilowatts in PAIRS:
        limits = class_limits(1000 * kilowatts, poles, 60)
        for name, level in (("IE3", "premium"), ("IE2", "energy_efficient")):
            asked = polyphase_level(level, 1000 * kilowatts, poles, "enclosed")
            assert asked.horsepower == horsepower
            expected = 0.835 if (name, horsepower, poles) == ("IE3", "1", 4) else asked.efficiency
            assert limits[name].efficiency == pytest.approx(expected), (horsepower, name)


@pytest.mark.parametrize(("kilowatts", "like"), [(4.59, 3.7), (4.6, 5.5), (0.7457, 0.75), (500.0, 375)])
def test_between_ratings_at_60_hz_the_midpoint_decides(kilowatts, like):
    """UK SI 2021/745: from the midpoint on the higher of the two."""
    assert class_limits(1000 * kilowatts, 4, 60) == class_limits(1000 * like, 4, 60)


def test_what_is_from_memory_says_so():
    limits = class_limits(1500, 4, 50)
    assert [limits[name].status for name in CLASSES] == ["confirmed"] * 4
    ie1 = {key: class_limits(*key, 50)["IE1"].status for key in ((1500, 2), (30e3, 4), (30e3, 6), (370, 4))}
    assert list(ie1.values()) == ["thin", "thin", "from memory", "from memory"]
    assert {name: one.status for name, one in class_limits(250e3, 4, 50).items()} == {
        "IE1": "thin", "IE2": "from memory", "IE3": "from memory", "IE4": "from memory",
    }  # fmt: skip


def test_ie1_of_a_public_list() -> None:
    """A public list of IE1 at 50 Hz, 4 poles, 0.75 to 315 kW; to 11 kW as in a maker's catalogue of IEC 60034-30:2008."""
    four = {
        0.75: 72.1, 1.1: 75.0, 1.5: 77.2, 2.2: 79.7, 3: 81.5, 4: 83.1, 5.5: 84.7, 7.5: 86.0, 11: 87.6, 15: 88.7, 18.5: 89.3,
        22: 89.9, 30: 90.7, 37: 91.2, 45: 91.7, 55: 92.1, 75: 92.7, 90: 93.0, 110: 93.3, 132: 93.5, 160: 93.8, 200: 94.0,
        250: 94.0, 315: 94.0,
    }  # fmt: skip
    for power, percent in four.items():
        assert class_limits(1000.0 * power, 4, 50)["IE1"].efficiency == pytest.approx(percent / 100.0)
    of_six = {0.75: 70.0, 1.1: 72.9, 1.5: 75.2, 2.2: 77.7, 3: 79.7, 4: 81.4, 5.5: 83.1, 7.5: 84.7, 11: 86.4}
    for power, percent in of_six.items():
        assert class_limits(1000.0 * power, 6, 50)["IE1"].efficiency == pytest.approx(percent / 100.0)


def test_what_is_given_from_memory() -> None:
    assert {one.status for one in class_limits(1500, 4, 60).values()} == {"from memory"}


def test_a_limit_not_at_hand_is_left_out():
    assert "IE1" not in class_limits(1500, 4, 60)
    assert "IE1" not in class_limits(300, 4, 50)  # below 0.75 kW, not listed, and no coefficients
    assert "IE1" in class_limits(250, 4, 50)


@pytest.mark.parametrize(
    ("power", "poles", "frequency"), [(100, 4, 50), (1.1e6, 4, 50), (1500, 10, 50), (1500, 4, 400)]
)
def test_outside_the_standard_there_are_no_limits(power, poles, frequency):
    assert class_limits(power, poles, frequency) == {}


@pytest.mark.parametrize(
    ("power", "poles", "frequency", "missing"),
    [
        (1500, 4, 60, ("IE1",)),  # no page with IE1 at 60 Hz was found
        (250, 4, 60, ("IE1",)),
        (1500, 4, 50, ()),
        (370, 4, 50, ()),  # a listed output
        (300, 4, 50, ("IE1",)),  # between listed outputs below 0.75 kW no coefficients are at hand
        (1700, 8, 50, ("IE1",)),
        (1500, 10, 50, ()),  # not covered at all
    ],
)
def test_a_class_without_a_limit_at_hand_is_named(power, poles, frequency, missing):
    assert missing_classes(power, poles, frequency) == missing


@given(ratings)
def test_a_higher_class_asks_more(rating):
    limits = [one.efficiency for one in class_limits(*rating).values()]
    assert limits == sorted(limits)
    assert len(set(limits)) == len(limits)


@given(ratings, st.floats(0.2, 0.999), st.floats(0.2, 0.999))
def test_a_higher_efficiency_never_gives_a_lower_class(rating, one, other):
    limits = class_limits(*rating)
    low, high = (class_of(value, limits) for value in sorted((one, other)))
    order = (None, *CLASSES)
    assert order.index(low) <= order.index(high)


@given(ratings)
def test_the_limit_itself_is_enough(rating):
    limits = class_limits(*rating)
    for name, limit in limits.items():
        assert class_of(limit.efficiency, limits) == name
        assert class_of(limit.efficiency - 1e-6, limits) != name
