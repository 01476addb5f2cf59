"""Results of an invented 1.5 kW four-pole motor, from a simple model: enough to fill every block of a sheet."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

from certgen.job.model import Certificate, Motor, Nameplate, Shop
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.results.model import (
    EXTRAPOLATED,
    IMPOSSIBLE,
    BudgetLine,
    Caution,
    Characteristic,
    Conditions,
    Curve,
    Curves,
    Finding,
    Limits,
    Point,
    Results,
    Traceability,
    Verdict,
)

RPM = math.tau / 60.0
SYNCHRONOUS = 1500.0 * RPM
PLATE = Nameplate(
    power=1500.0,
    voltage=400.0,
    current=3.4,
    frequency=50.0,
    speed=1420.0 * RPM,
    poles=4,
    power_factor=0.79,
    efficiency=0.828,
    service_factor=1.15,
    service_factor_current=3.8,
    insulation_class="F",
    design_letter="B",
    ambient=313.15,
    duty="S1",
)


def point(torque: float, *, rich: bool = True, flags: tuple[str, ...] = (), remark: str = "") -> Point:
    """The motor at a torque [N*m]; a rich point carries every quantity a bench can take."""
    speed = SYNCHRONOUS * (1.0 - 0.0026 - 0.0045 * torque - 6e-5 * torque**2)
    shaft = torque * speed
    current = math.hypot(1.86, 0.283 * torque)
    taken = shaft + 92.0 + 5.8 * current**2 + shaft * (1.0 - speed / SYNCHRONOUS)
    apparent = math.sqrt(3.0) * 400.0 * current
    basic = Point(
        speed=Quantity(speed, "rad/s"),
        slip=Quantity(1.0 - speed / SYNCHRONOUS, "1"),
        torque=Quantity(torque, "N*m"),
        shaft_power=Quantity(shaft, "W"),
        input_power=Quantity(taken, "W"),
        current=Quantity(current, "A"),
        voltage=Quantity(400.6, "V"),
        power_factor=Quantity(taken / apparent, "1"),
        efficiency=Quantity(shaft / taken, "1"),
        losses=Quantity(taken - shaft, "W"),
        remark=remark,
        flags=flags,
    )
    if not rich:
        return basic
    return replace(
        basic,
        apparent_power=Quantity(apparent, "VA"),
        temperature=Quantity(314.0 + 2.9 * torque, "K"),
        current_unbalance=Quantity(0.012, "1"),
        voltage_unbalance=Quantity(0.004, "1"),
        frequency=Quantity(49.98, "Hz"),
        time=Quantity(60.0 * torque, "s"),
    )


def curves(highest: float) -> Curves:
    """Drawn lines from no load up to a torque [N*m]."""
    line = [point(highest * step / 60.0) for step in range(61)]
    names = ("shaft_power", "current", "power_factor", "efficiency")
    units = {
        "speed": "rad/s",
        "torque": "N*m",
        "shaft_power": "W",
        "current": "A",
        "power_factor": "1",
        "efficiency": "1",
    }

    def columns(wanted: tuple[str, ...]) -> Curve:
        return Curve(
            {name: tuple(getattr(item, name).value for item in line) for name in wanted},
            {name: units[name] for name in wanted},
        )

    return Curves(columns(("speed", "torque")), columns(names))


FINDINGS = (
    Finding(
        "speed",
        "Speed at rated power",
        "pass",
        "rad/s",
        1420.0 * RPM,
        1416.0 * RPM,
        Limits(1404.0 * RPM, 1436.0 * RPM),
        source="IEC 60034-1:2022, table 21, slip",
        note="Slip may differ by 20 % of the declared slip.",
    ),
    Finding(
        "power",
        "Shaft power at rated current",
        "pass",
        "W",
        1500.0,
        1488.2,
        Limits(1425.0, None),
        source="declared tolerance of 5 %",
    ),
    Finding(
        "efficiency",
        "Efficiency at rated power",
        "pass",
        "1",
        0.828,
        0.8106,
        Limits(0.8022, None),
        source="IEC 60034-1:2022, table 21",
    ),
    Finding(
        "power_factor",
        "Power factor at rated power",
        "conditional pass",
        "1",
        0.79,
        0.772,
        Limits(0.755, None),
        source="IEC 60034-1:2022, table 21",
        decision_rule="guarded acceptance",
    ),
    Finding(
        "current",
        "Current at rated power",
        "pass",
        "A",
        3.4,
        3.418,
        Limits(None, 3.57),
        source="declared tolerance of 5 %",
        decides=False,
    ),
    Finding(
        "torque",
        "Torque at rated speed",
        "not tested",
        "N*m",
        10.09,
        None,
        None,
        source="",
        note="No plate tolerance exists for it.",
    ),
)

CAUTIONS = (
    Caution(
        "mains",
        "Disconnect and lock off the supply before opening the terminal box; follow local codes and leave "
        "mains work to licensed persons.",
        "the motor was run from 400 V mains.",
        3,
    ),
    Caution(
        "short-test",
        "The winding had not reached its final temperature.",
        "the last point was taken 12 min after the first.",
        2,
    ),
)

CONDITIONS = Conditions(
    rig="Cradle brake no. 1",
    method=(
        "Torque by a lever of 0.5 m on a scale reading mass, pulled by local gravity.",
        "The absorber is driven directly.",
        "The zero of the scale was read before and after and taken as drifting linearly.",
        "Electrical input by three-phase power analyser.",
    ),
    criteria="IEC 60034-1:2022",
    decision_rule=Message("rule.simple"),
    ambient=Quantity(294.15, "K"),
    supply_frequency=Quantity(49.98, "Hz"),
    supply_frequency_basis="measured",
    local_gravity=Quantity(9.8107, "m/s^2"),
    local_gravity_basis="given in the job",
    instruments=("scale S-4, calibrated 2026-01-08", "power analyser P-2, calibrated 2025-11-20"),
    not_evaluated=("nameplate.insulation_class", "nameplate.duty", "rig.inertia"),
    missing=(Message("missing.finding", title="Breakdown torque", note="the brake could not hold the motor there"),),
)

TRACEABILITY = Traceability(
    "certgen",
    "0.2.0",
    {"pump.yaml": "0123456789abcdef" * 4, "../rigs/arm_brake.yaml": "fedcba9876543210" * 4},
    ("IEC 60034-1:2022",),
)

CERTIFICATE = Certificate(
    tested_on=date(2026, 3, 14),
    tested_by="R. Tanner",
    number="MR-2026-014",
    issued_to="Weir Street Joinery",
    shop=Shop("Millrace Motor Bench", ("4 Weir Street", "Lower Aldbury"), "bench@example.org"),
    remarks="Bearings renewed before the test.",
)

MOTOR = Motor(
    "three-phase induction",
    "Foot-mounted, fan-cooled, from an infeed conveyor",
    "Aldbury Electric",
    "A-90L",
    "0048117",
    "used, repainted",
)


def make_results(count: int = 8, *, rich: bool = False, flagged: bool = False) -> Results:
    """Results of a test with some load points; with fewer than three there are no curves and no rated points."""
    highest = 12.2 if not flagged else 9.2
    torques = [highest * index / max(1, count - 1) for index in range(count)] if count > 1 else [9.9]
    points = [point(torque, rich=rich) for torque in torques]
    if flagged and count > 2:
        points[1] = replace(points[1], flags=(IMPOSSIBLE,), remark="wattmeter lead loose")
    enough = count >= 3
    last = (EXTRAPOLATED,) if flagged else ()
    return Results(
        certificate=CERTIFICATE,
        motor=MOTOR,
        nameplate=PLATE,
        points=tuple(points),
        curves=curves(highest) if enough else Curves(),
        characteristic=Characteristic(
            synchronous_speed=Quantity(SYNCHRONOUS, "rad/s"),
            poles=4,
            poles_basis="declared",
            no_load_current=Quantity(1.86, "A"),
            no_load_speed=Quantity(1496.1 * RPM, "rad/s"),
        ),
        at_rated_current=point(10.05, rich=rich, flags=last) if enough else None,
        at_rated_power=point(10.13, rich=rich, flags=last) if enough else None,
        at_service_factor=point(11.72, rich=rich, flags=last) if enough else None,
        at_rated_speed=point(9.72, rich=rich, flags=last) if enough else None,
        findings=FINDINGS,
        verdict=Verdict("pass", ("All findings that matter keep their limits.",)),
        cautions=CAUTIONS,
        conditions=CONDITIONS,
        traceability=TRACEABILITY,
    )


#: Expanded uncertainty of some quantities, as part of the value.
PARTS = {
    "speed": 0.0012,
    "torque": 0.008,
    "shaft_power": 0.0082,
    "input_power": 0.007,
    "current": 0.009,
    "power_factor": 0.012,
    "efficiency": 0.011,
}
#: What defines each rated point, and so has no uncertainty there.
READ_OFF_BY = {
    "at_rated_current": "current",
    "at_rated_power": "shaft_power",
    "at_service_factor": "shaft_power",
    "at_rated_speed": "speed",
}
BUDGET = (
    ("shaft_power", "scale calibration", 0.62),
    ("shaft_power", "arm length", 0.24),
    ("shaft_power", "scale zero", 0.09),
    ("shaft_power", "tachometer", 0.05),
    ("torque", "scale calibration", 1.0),
    ("efficiency", "input power meter, part of reading", 0.71),
    ("efficiency", "scale calibration", 0.2),
    ("efficiency", "arm length", 0.09),
)


def sure_point(point: Point, read_off_by: str = "") -> Point:
    """The point with an expanded uncertainty of each quantity but the one that defines it."""
    known = {
        name: replace(found, expanded_uncertainty=abs(found.value) * part, coverage_factor=2.0)
        for name, part in PARTS.items()
        if name != read_off_by and (found := getattr(point, name)) is not None
    }
    return replace(point, **known)


def budget_line(quantity: str, cause: str, share: float, at: str = "at_rated_current") -> BudgetLine:
    """A line of which only the share decides to a page."""
    contribution = 6.0 * math.sqrt(share)
    return BudgetLine(
        quantity,
        at,
        cause,
        0.5,
        "m",
        3e-4 * math.sqrt(3.0),
        math.sqrt(3.0),
        3e-4,
        "rectangular",
        None,
        contribution / 3e-4,
        contribution,
        share,
    )


def with_uncertainties(results: Results) -> Results:
    """The results with uncertainties of points, findings and a budget; one finding passes conditionally."""
    named = {
        name: sure_point(found, by) for name, by in READ_OFF_BY.items() if (found := getattr(results, name)) is not None
    }
    findings = tuple(
        replace(
            one,
            expanded_uncertainty=abs(one.measured) * 0.01,
            false_decision_probability=0.04 if one.outcome == "conditional pass" else 1e-6,
            decision_rule="guarded acceptance",
        )
        if one.measured is not None
        else one
        for one in results.findings
    )
    at = "at_rated_current" if results.at_rated_current else f"points[{len(results.points) - 1}]"
    return replace(
        results,
        **named,
        points=tuple(sure_point(one) for one in results.points),
        findings=findings,
        conditions=replace(results.conditions, decision_rule=Message("rule.guarded")),
        budget=tuple(budget_line(quantity, cause, share, at) for quantity, cause, share in BUDGET),
    )
