"""The blocks of words: heading, identity, plate, figures, conditions, cautions, signature, footer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from scipy import constants
from sheet.results_factory import CAUTIONS, CONDITIONS, RPM, make_results

from certgen.job.model import Gear, Nameplate
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.results.model import Characteristic
from certgen.sheet.blocks.cautions import all_cautions
from certgen.sheet.blocks.conditions import condition_pairs
from certgen.sheet.blocks.head_and_foot import footer, heading, identity_pairs, inputs, motor_line, signature
from certgen.sheet.blocks.nameplate import (
    characteristic_notes,
    characteristic_pairs,
    declared_only,
    nameplate,
    nameplate_rows,
)
from certgen.sheet.content import Content, uncertainty_sentence
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Area, Block, TextMark

Read = Callable[..., str]


def test_heading_without_a_shop(words_of: Read) -> None:
    results = make_results()
    found = words_of(
        heading(Content(replace(results, certificate=replace(results.certificate, shop=None))), Titled("A title"))
    )
    assert found == "A title MR-2026-014 Tested on 2026-03-14 · Page 1 of 1"


def test_identity_says_what_was_not_stated() -> None:
    results = make_results()
    bare = replace(
        results,
        certificate=replace(results.certificate, issued_to=None),
        motor=replace(results.motor, maker=None, model=None, serial=None, condition=None, description=None),
    )
    pairs = dict(identity_pairs(Content(bare)))
    assert pairs.pop("Plate").startswith("3.4 A, 50 Hz, power factor 0.79, efficiency 82.8 %, service factor 1.15")
    assert pairs == {"Maker": "not stated", "Serial no.": "not stated"}


def test_one_line_says_what_the_motor_is() -> None:
    results = make_results()
    assert motor_line(Content(results)) == "1.5 kW three-phase motor, 4 poles, 400 V, 1420 rpm"
    assert motor_line(Content(results, "us")).startswith("2.012 hp three-phase motor")
    unmarked = replace(results, nameplate=Nameplate(), characteristic=Characteristic(poles=6))
    assert motor_line(Content(unmarked)) == "Three-phase motor, 6 poles"
    assert dict(identity_pairs(Content(unmarked)))["Plate"] == "no plate that can be read"


def test_gear_is_told_with_what_it_means() -> None:
    results = replace(make_results(), nameplate=Nameplate(gear=Gear(25.0)))
    assert dict(identity_pairs(Content(results)))["Gear"] == "ratio 25; all figures are of the output shaft"


def test_plate_stands_beside_what_was_measured() -> None:
    rows = {row[0]: row[1:] for row in nameplate_rows(Content(make_results()))}
    assert rows["Power"] == ("1.5", "1.505", "kW")
    assert rows["Speed"] == ("1420", "1418", "rpm")
    assert rows["Service-factor current"] == ("3.8", "3.80", "A")
    assert rows["Frequency"] == ("50", "49.98", "Hz")  # from the conditions where the point has none
    assert "Design letter" not in rows


def test_plate_in_both_systems() -> None:
    rows = {row[0]: row[1:] for row in nameplate_rows(Content(make_results(), "both"))}
    assert rows["Power"][0] == f"1.5 ({1500.0 / constants.hp:.3f})"
    assert rows["Power"][2] == "kW (hp)"


def test_keys_no_test_answers_are_listed_after_the_table() -> None:
    sentence = declared_only(Content(make_results()))
    assert (
        sentence == "poles 4, service factor 1.15, insulation class F, design letter B, duty S1, highest ambient 40 °C"
    )


def test_letter_that_was_found_stands_in_the_table() -> None:
    results = replace(make_results(), characteristic=Characteristic(design_letter="C"))
    rows = {row[0]: row[1:] for row in nameplate_rows(Content(results))}
    assert rows["Design letter"] == ("B", "C", "")
    assert "design letter" not in declared_only(Content(results))


def test_empty_plate_is_said(words_of: Read) -> None:
    found = words_of(nameplate(Content(replace(make_results(), nameplate=Nameplate())), Titled("")))
    assert found == "The motor carries no readable nameplate: nothing is declared."


def test_figures_of_the_machine_with_their_ratios_and_reasons() -> None:
    known = Characteristic(
        poles=4,
        poles_basis="nameplate",
        synchronous_speed=Quantity(1500.0 * RPM, "rad/s"),
        locked_rotor_torque=Quantity(24.1, "N*m"),
        locked_rotor_torque_ratio=Quantity(2.39, "1"),
        kva_per_hp=Quantity(6.61, "kVA/hp"),
        code_letter="J",
        design_letter="B",
        design_letter_reason="by torque and slip",
    )
    content = Content(replace(make_results(), characteristic=known))
    assert characteristic_pairs(content) == (
        ("Poles", "4 (nameplate)"),
        ("Synchronous speed", "1500 rpm"),
        ("Locked-rotor torque", "24.10 N·m, 2.39 × rated"),
        ("Locked-rotor kVA", "6.61 kVA/hp"),
        ("Code letter", "J"),
        ("Design letter", "B"),
    )
    assert characteristic_notes(content) == "Design letter B: by torque and slip."


def test_conditions_carry_method_surroundings_and_what_is_missing() -> None:
    pairs = dict(condition_pairs(Content(make_results())))
    assert pairs["Method"].startswith("Torque by a lever of 0.5 m on a scale")
    assert pairs["Surroundings"] == (
        "ambient 21.0 °C; supply frequency 49.98 Hz (measured); local gravity 9.8107 m/s² (given in the job)"
    )
    assert pairs["Remarks"] == "Bearings renewed before the test."
    assert pairs["Recorded, not evaluated"] == "nameplate.insulation_class, nameplate.duty, rig.inertia"
    assert pairs["Missing"] == "Breakdown torque: the brake could not hold the motor there."


def test_conditions_say_what_was_not_given() -> None:
    results = make_results()
    bare = replace(
        results,
        certificate=replace(results.certificate, remarks=None),
        conditions=replace(CONDITIONS, ambient=None, local_gravity=None, instruments=(), not_evaluated=(), missing=()),
    )
    pairs = dict(condition_pairs(Content(bare)))
    assert pairs["Surroundings"].startswith("ambient —; ")
    assert "gravity" not in pairs["Surroundings"]
    assert pairs["Remarks"] == "none stated"
    assert not {"Instruments", "Recorded, not evaluated", "Missing"} & set(pairs)


def test_keys_of_one_file_are_listed_under_its_name() -> None:
    keys = ("nameplate.duty", "rig: inertia", "rig: arm_length.tolerance")
    results = replace(make_results(), conditions=replace(CONDITIONS, not_evaluated=keys))
    pairs = dict(condition_pairs(Content(results)))
    assert pairs["Recorded, not evaluated"] == "nameplate.duty; rig: inertia, arm_length.tolerance"


def test_missing_uncertainty_is_said_once() -> None:
    results = make_results()
    assert dict(condition_pairs(Content(results)))["Uncertainty"] == "Uncertainty not stated."
    said = replace(results, conditions=replace(CONDITIONS, missing=(Message("missing.every_uncertainty"),)))
    assert "Uncertainty" not in dict(condition_pairs(Content(said)))


def test_known_uncertainty_is_explained() -> None:
    results = make_results(1)
    known = {
        name: Quantity(1.0, "1", 0.1, 2.0)
        for name, value in vars(results.points[0]).items()
        if isinstance(value, Quantity)
    }
    bare = replace(results, losses=None, thermal=None, insulation=None, assessed_rating=None)
    bare = replace(bare, conditions=replace(CONDITIONS, ambient=None, supply_frequency=None, local_gravity=None))
    every = replace(bare, points=(replace(results.points[0], **known),), characteristic=Characteristic())
    assert uncertainty_sentence(every) == (
        "Figures after ± are expanded uncertainties, coverage 95.45 %, factor k = 2.00."
    )
    some = replace(every, points=(replace(results.points[0], torque=Quantity(1.0, "N*m", 0.1, 2.0)),))
    assert uncertainty_sentence(some).endswith("; figures without ± are declared or defined.")
    gaps = (Message("missing.uncertainty", to_state=("the accuracy of the voltmeter",)),)
    partly = replace(some, conditions=replace(CONDITIONS, missing=gaps))
    assert "k = 2.00" in dict(condition_pairs(Content(partly)))["Uncertainty"]
    assert uncertainty_sentence(partly).endswith("; uncertainty not stated where an input is missing.")


def test_each_caution_says_what_raised_it(words_of: Read) -> None:
    found = words_of(all_cautions(Content(make_results()), Titled("")))
    for caution in CAUTIONS:
        assert caution.text in found
        assert f"Because: {caution.because}" in found
    assert words_of(all_cautions(Content(replace(make_results(), cautions=())), Titled(""))) == "None from this test."


def test_signature_names_who_answers(words_of: Read) -> None:
    found = words_of(signature(Content(make_results()), Titled("Authorisation")))
    assert found == "Authorisation Tested and authorised by R. Tanner Signature Date of issue"


def test_footer_names_scope_and_program(words_of: Read) -> None:
    found = words_of(footer(Content(make_results()), Titled("")), 2000.0)
    assert found == (
        "These results are of this one motor, as tested. Not to be copied except in full. "
        "— not measured, not declared or not stated. Made by certgen 0.2.0."
    )


def test_inputs_stand_with_their_whole_digests(words_of: Read) -> None:
    results = make_results()
    block = inputs(Content(results), Titled("Files"))
    assert block is not None
    found = words_of(block, 2000.0)
    for name, digest in results.traceability.inputs.items():
        assert f"{name} {digest}" in found


@pytest.mark.parametrize("make", [heading, nameplate, all_cautions, signature])
def test_title_of_the_layout_stands_above(make: Callable[[Content, Titled], Block], words_of: Read) -> None:
    assert "Titel der Werkstatt" in words_of(make(Content(make_results()), Titled("Titel der Werkstatt")))


WHOLE = {
    "received_on": date(2026, 3, 9),
    "issued_on": date(2026, 3, 16),
    "place": "Hall 2, Weir Street",
    "method": "Bench procedure 3, issue 2",
    "customer_contact": "stores@weir.example",
    "function": "bench lead",
    "deviations": "Held for 4 minutes a load instead of 10.",
}


def filled(**more: object) -> Content:
    results = make_results()
    return Content(replace(results, certificate=replace(results.certificate, **{**WHOLE, **more})))


def test_heading_has_the_days_of_receipt_test_and_issue(words_of: Read) -> None:
    """ISO/IEC 17025:2017, 7.8.2.1, i), j) and k): receipt where it matters, test, issue. No line ends in a dot between."""
    content = filled()
    found = words_of(heading(content, Titled("A title")))
    assert "Received 2026-03-09 · Tested on 2026-03-14" in found
    for day in ("2026-03-09", "2026-03-14", "2026-03-16"):
        assert found.count(day) == 1
    marks = heading(content, Titled("A title")).set(Area(500.0, 9.0, 8.0)).marks
    assert not any(mark.text.endswith("·") for mark in marks if isinstance(mark, TextMark))


def test_record_has_customer_people_place_and_what_was_departed_from() -> None:
    """ISO/IEC 17025:2017, 7.8.2.1, c) place, e) customer with contact, f) method, n) departures, o) who authorises."""
    pairs = dict(condition_pairs(filled()))
    assert pairs["Customer"] == "Weir Street Joinery, stores@weir.example"
    assert pairs["People"] == "tested and authorised by R. Tanner, bench lead"
    assert pairs["Place of test"] == "Hall 2, Weir Street"
    assert pairs["Method"].startswith("Bench procedure 3, issue 2. ")
    assert pairs["Deviations"] == "Held for 4 minutes a load instead of 10."
    assert pairs["Remarks"] == make_results().certificate.remarks
    other = dict(condition_pairs(filled(authorised_by="M. Weir")))
    assert other["People"] == "tested by R. Tanner; authorised by M. Weir, bench lead"
    plain = dict(condition_pairs(Content(make_results())))
    assert plain["Deviations"] == "none stated"
    assert "Place of test" not in plain


def test_signature_names_who_authorises_with_function_and_day(words_of: Read) -> None:
    found = words_of(signature(filled(), Titled("")))
    assert found == "Tested and authorised by R. Tanner, bench lead Signature 2026-03-16 Date of issue"
    other = words_of(signature(filled(authorised_by="M. Weir", function=None, issued_on=None), Titled("")))
    assert other == "Tested by R. Tanner. Authorised by M. Weir Signature Date of issue"
