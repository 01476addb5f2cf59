"""Run-down and sweep in the words of a page."""

from __future__ import annotations

import math
from dataclasses import replace

from sheet.results_factory import make_results

from certgen.messages.format import Units
from certgen.quantity import Quantity
from certgen.results.model import RunDown, Sweep
from certgen.sheet.blocks.nameplate import run_down_notes, run_down_pairs, sweep_pairs
from certgen.sheet.content import Content

SPEED = Quantity(1420.0 * math.tau / 60.0, "rad/s")
FOUND = RunDown(
    coasting="motor",
    method="",
    lowest_speed=Quantity(10.0, "rad/s"),
    highest_speed=Quantity(157.0, "rad/s"),
    at_speed=SPEED,
    at_rated_speed=True,
    deceleration=Quantity(30.0, "rad/s^2"),
    inertia=Quantity(0.00312, "kg*m^2", 0.00012, 2.0),
    inertia_found=True,
    friction_torque=Quantity(0.0948, "N*m", 0.0035, 2.0),
    friction_loss=Quantity(14.1, "W", 0.53, 2.0),
    constant_term=Quantity(0.05, "N*m"),
    windage_term=Quantity(2.03e-6, "N*m*s^2"),
    notes=("A remark.",),
)

PLAIN = Content(make_results())
CONTENT = Content(replace(make_results(), run_down=FOUND))


def test_friction_and_a_found_inertia_stand_with_their_uncertainty():
    assert list(run_down_pairs(CONTENT)) == [
        ("Friction (run-down)", "0.0948 ± 0.0035 N·m, 14.10 ± 0.53 W at rated speed, 1420 rpm"),
        ("Inertia (run-down)", "0.00312 ± 0.00012 kg·m²"),
    ]


def test_the_terms_that_were_found_are_named_with_their_power_of_speed():
    assert list(run_down_notes(CONTENT)) == [
        "Friction over speed by run-down: 0.05 N·m + 2.03·10⁻⁶ N·m·s² ω².",
        "A remark.",
    ]


def test_figures_take_the_decimal_mark_of_the_page():
    content = replace(CONTENT, units=Units("si", ","))
    assert list(run_down_pairs(content))[1] == ("Inertia (run-down)", "0,00312 ± 0,00012 kg·m²")
    assert next(run_down_notes(content)) == "Friction over speed by run-down: 0,05 N·m + 2,03·10⁻⁶ N·m·s² ω²."


def test_a_test_without_them_has_no_such_words():
    assert [*run_down_pairs(PLAIN), *run_down_notes(PLAIN), *sweep_pairs(PLAIN)] == []


def test_the_inertia_of_a_sweep_is_told():
    sweep = Sweep(Quantity(2.0, "Hz"), 1, 1, Quantity(40.0, "rad/s^2"), inertia=Quantity(0.025, "kg*m^2"))
    assert list(sweep_pairs(Content(replace(make_results(), sweep=sweep)))) == [
        ("Inertia in the sweep", "0.0250 kg·m²")
    ]
