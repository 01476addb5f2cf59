"""Messages become words: places filled, figures in the reader's units, texts of the user untouched."""

from __future__ import annotations

import copy
import math
import pickle
import re
from datetime import date
from importlib import resources

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.messages.catalogue import Message, catalogue, fill, places_of, significant, text_of
from certgen.quantity import Quantity


def test_a_message_is_its_key_and_values() -> None:
    assert Message("point.load_point", number=3) == Message("point.load_point", number=3)
    assert Message("point.load_point", number=3) != Message("point.load_point", number=4)
    assert len({Message("page.to", low="1", high="2"), Message("page.to", low="1", high="2")}) == 1
    assert str(Message("point.load_point", number=3)) == "Load point 3"
    with pytest.raises(AttributeError, match="does not change"):
        Message("page.to").key = "other"  # type: ignore[misc]


@pytest.mark.parametrize("copied", [copy.deepcopy, lambda message: pickle.loads(pickle.dumps(message))])
def test_a_message_goes_to_another_process_as_it_is(copied) -> None:
    message = Message("page.to", low=Quantity(1.0, "N*m"), high=Message("point.tested"))
    assert copied(message) == message


def test_figures_take_the_unit_and_digits_of_their_place() -> None:
    assert fill("{torque:.3g N·m} at {speed:.0f rpm}", {"torque": 12.449, "speed": 150.0}) == "12.4 N·m at 1432 rpm"
    assert fill("{off:+.1f %}, {part:.0f %}", {"off": -0.1234, "part": 0.5}) == "−12.3 %, 50 %"
    assert fill("{power:.4g W}", {"power": 18204.0}) == "18.2 kW"
    assert fill("{rise:.0f K} in {time:.0f min}", {"rise": 30.4, "time": 1800.0}) == "30 K in 30 min"
    assert fill("{shown:.4g}", {"shown": Quantity(2.0046, "kg")}) == "2.005 kg"
    assert fill("{found:efficiency}", {"found": Quantity(0.8251, "1", 0.0099)}) == "82.51 ± 0.99 %"
    assert fill("{found:shaft_power}", {"found": Quantity(745.7, "W")}, units="us") == "1.000 hp"
    assert fill("{found:electrical_power}", {"found": Quantity(745.7, "W")}, units="us") == "745.7 W"
    assert fill("{names:, }", {"names": ("a", Message("point.tested"))}) == "a, Tested point"
    assert fill("{title:lower}; {title:inner}; {name:capital}", {"title": "Rated IP", "name": "x y"}) == (
        "rated ip; rated IP; X y"
    )
    assert fill("{torque:~3 N·m}, {speed:~4 rpm}", {"torque": 11.0, "speed": 150.0}) == "11.0 N·m, 1432 rpm"
    assert fill("{asked:~4}; {asked}", {"asked": Quantity(150.0, "rad/s")}) == "1432 rpm; 1432 rpm"
    assert fill("{span:.4g}; {span}", {"span": Quantity(2.0046, "kg")}) == "2.005 kg; 2.005 kg"
    assert fill("{part}; {rim}", {"part": Quantity(0.5, "1"), "rim": Quantity(12.0, "m/s")}) == "0.5; 12 m/s"
    assert fill("on {day}", {"day": date(2026, 3, 14)}) == "on 2026-03-14"


def test_a_page_in_customary_units_converts_figures_and_nothing_else() -> None:
    """1 N·m = 0.737562 lbf·ft, NIST Special Publication 811 (2008), appendix B."""
    values = {"torque": 10.0, "title": "Pump contract, 25 m cable"}
    sentence = "{title}: {torque:.3g N·m}"
    assert fill(sentence, values, units="us") == "Pump contract, 25 m cable: 7.38 lbf·ft"
    assert fill(sentence, values, units="both") == "Pump contract, 25 m cable: 10 N·m (7.38 lbf·ft)"
    assert fill("{ambient:.0f °C}", {"ambient": 293.15}, units="us") == "68 °F"


def test_what_stands_in_braces_of_a_users_text_stays() -> None:
    assert fill("Rig: {rig}", {"rig": "{torque:.3g N·m}"}) == "Rig: {torque:.3g N·m}"


def test_a_missing_value_is_a_mistake_of_the_program() -> None:
    with pytest.raises(KeyError):
        text_of(Message("page.to", low="1"))


def test_places_are_known_with_how_they_are_written() -> None:
    assert places_of("{low:.1f N·m} to {high}, {not a place}") == {"low": ".1f N·m", "high": ""}


@given(value=st.floats(-1e6, 1e6), digits=st.integers(1, 6))
def test_the_same_figure_in_both_systems(value: float, digits: int) -> None:
    """The first half of a page in both systems is the page in SI."""
    sentence = f"{{torque:.{digits}g N·m}}"
    metric = fill(sentence, {"torque": value})
    assert fill(sentence, {"torque": value}, units="both").startswith(metric)


def test_the_english_catalogue_is_sound() -> None:
    for key, sentence in catalogue().items():
        assert key == key.lower()
        assert "." in key
        assert isinstance(sentence, str), key
        assert sentence, key
        assert sentence.count("{") == sentence.count("}"), key


def test_no_key_stands_twice_in_a_catalogue() -> None:
    """A YAML reader keeps the last of two lines with one key and says nothing."""
    text = resources.files("certgen.messages").joinpath("en.yaml").read_text(encoding="utf-8")
    keys = re.findall(r"^([a-z][a-z_0-9.]*):", text, re.MULTILINE)
    assert sorted(keys) == sorted(catalogue())


@given(value=st.floats(1e-3, 1e6), digits=st.integers(1, 6))
def test_significant_digits_are_kept_with_their_zeros(value: float, digits: int) -> None:
    """The figure is within half a unit of the last digit asked for, and never has more digits behind the point."""
    text = significant(value, digits)
    last = 10.0 ** (math.floor(math.log10(value)) - digits + 1)
    assert "e" not in text
    assert abs(float(text) - value) <= max(0.5 * last, 5e-7) * (1.0 + 1e-9)


@pytest.mark.parametrize(
    ("units", "printed"), [("si", "10 to 85 °C"), ("us", "50 to 185 °F"), ("both", "10 to 85 °C (50 to 185 °F)")]
)
def test_numbers_of_a_range_have_their_unit_once(units, printed):
    """50 °F is 10 °C and 185 °F is 85 °C by definition of the scales (NIST SP 811, B.8)."""
    assert fill("{range: to |.0f °C}", {"range": (283.15, 358.15)}, units=units) == printed
