"""An invented list of motors, and repeated tests of an invented one: enough to fill a summary and a trend page."""

from __future__ import annotations

from certgen.messages.catalogue import Message
from certgen.physics.control_chart import control_limits, signals
from certgen.quantity import Quantity
from certgen.sheet.list_content import FollowedMotor, NotListed, Summary, SummaryRow, TrendTest

RPM = 0.10471975511965977  # pi / 30

MOTORS = Summary(
    tuple(
        SummaryRow(
            number=f"HB-2026-{index:04}",
            tested_on=f"2026-03-{index % 28 + 1:02}",
            motor=(
                "Vantrell, VK 90, three-phase induction",
                "Foot-mounted, from a feed conveyor, single-phase induction",
            )[index % 2],
            verdict=("pass", "pass", "conditional pass", "fail", "no verdict")[index % 5],
            headline=Message("headline.measured", power=Quantity(150.0 * index, "W")) if index % 5 == 4 else "",
            scope=Message("scope.all_met") if index % 3 else "load test only; insulation, starting NOT TESTED",
            set_by="power" if index % 5 in (0, 1) else "",
            power=None if index % 5 == 4 else 150.0 * index,
            torque=None if index % 5 == 4 else 1.01 * index,
            speed=1428.0 * RPM,
            current=0.34 * index,
            voltage=399.8,
            efficiency=0.7 + 0.002 * index,
            replaced_by="HB-2026-0040" if index == 3 else "",
        )
        for index in range(1, 41)
    ),
    shop="Harrow Bench",
    source="tested from 2026-03-01",
    not_listed=(
        NotListed("planer/job.yaml", "nameplate.power: '1.5' has no unit; write a number with a unit of power."),
        NotListed("saw/job.yaml", Message("summary.awaits_test"), awaiting=True),
    ),
    program="certgen",
)

_VALUES = (
    0.8251,
    0.8247,
    0.8255,
    0.8249,
    0.8252,
    0.8246,
    0.8254,
    0.8250,
    0.8248,
    0.8275,
    0.8249,
    0.8240,
    0.8238,
    0.8239,
)
_LIMITS = control_limits(_VALUES[:9])
_SIGNALS = signals(_VALUES, _LIMITS)

TESTS = FollowedMotor(
    motor="0071934",
    quantity="efficiency",
    tests=tuple(
        TrendTest(
            f"HB-2026-{index:04}",
            f"2026-04-{index + 1:02}",
            value,
            tuple(Message(f"trend.rule.{one.rule}") for one in _SIGNALS if one.at == index),
        )
        for index, value in enumerate(_VALUES)
    ),
    limits=_LIMITS,
    least_tests=5,
    without_value=("HB-2026-0033",),
    program="certgen",
)
