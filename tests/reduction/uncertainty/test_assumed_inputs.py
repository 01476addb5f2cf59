"""A home bench that states nothing: its intervals hold the truth, and whoever states an instrument gains by it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig
from hypothesis import given, settings
from hypothesis import strategies as st

from certgen.document.build import Dimensioned, Toleranced
from certgen.job.columns import Column
from certgen.job.model import Conditions, Job
from certgen.job.rig import Ammeter, Meters, Rig, Tachometer, Voltmeter, Wattmeter
from certgen.job.table import Cell, TableSource
from certgen.messages.catalogue import Message
from certgen.physics.uncertainty import coverage_factor, expanded
from certgen.readings.model import Readings, Zero
from certgen.reduction.reduce import reduce_test
from certgen.reduction.uncertainty.assumed_inputs import assumed_in_words, typed_steps
from certgen.reduction.uncertainty.errors import uncertainty_of
from certgen.reduction.uncertainty.linear import Error, linear
from certgen.reduction.uncertainty.model import UncertainInput, Uncertainty
from certgen.standards.assumed_accuracy import assumed_accuracy

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
TORQUE = np.array([0.05, 1.0, 2.0, 3.0, 4.0, 5.0])
SPEED = RPM * (1497.0 - 11.0 * TORQUE - 0.6 * TORQUE**2)
CURRENT = np.sqrt(1.1**2 + (0.31 * TORQUE) ** 2)
POWER = TORQUE * SPEED + 80.0 + 6.0 * TORQUE + 5.0 * TORQUE**2
ARM, GRAVITY = 0.5, 9.80665
LOAD = TORQUE / ARM / GRAVITY
STEPS = {"scale": 0.005, "speed": 1.0 * RPM, "current": 0.01, "input_power": 1.0, "voltage": 1.0}

# The plainest bench: an arm, a scale, a tachometer and meters by name alone.


def a_job(**conditions: object) -> Job:
    """A job whose rows are typed with the steps of the bench."""
    units = {"scale": "kg", "speed": "rpm", "voltage": "V", "current": "A", "input_power": "W"}
    digits = {"scale": "1.005", "speed": "1451", "voltage": "401", "current": "1.21", "input_power": "501"}
    columns = tuple(Column(name, unit, "", name, (1, 1)) for name, unit in units.items())
    rows = (tuple(Cell(digits[name], (1, 1)) for name in units),)
    job = make_job(
        conditions=Conditions(**conditions),
        power=600.0, voltage=400.0, current=1.8, frequency=50.0, poles=4, speed=1430.0 * RPM,
    )  # fmt: skip
    return replace(job, readings=replace(job.readings, load_test=TableSource("", (1, 1), columns, rows)))


def truth() -> dict[str, np.ndarray]:
    return {"speed": SPEED, "scale": LOAD, "voltage": np.full(6, 400.0), "current": CURRENT, "input_power": POWER}


def figures(rig: Rig, readings: Readings, job: Job | None = None) -> dict[tuple[str, str], Uncertainty]:
    """Uncertainty of everything, by point and quantity."""
    found = reduce_test(job or a_job(), rig, readings).uncertainties
    assert found is not None
    rows: Mapping[str, Mapping[str, Uncertainty]] = {
        **{str(row): values for row, values in enumerate(found.points)}, **found.operating
    }  # fmt: skip
    return {(at, name): one for at, values in rows.items() for name, one in values.items()}


def test_every_figure_of_a_bench_that_states_nothing_has_an_uncertainty_marked_assumed():
    known = figures(make_rig("arm"), make_readings(**truth()))
    for (at, name), one in known.items():
        if name in ("torque", "shaft_power", "speed", "efficiency", "slip") and not at.startswith("at_"):
            assert one.expanded is not None, (at, name)
            assert one.assumed, (at, name)
    loaded = known["4", "torque"]
    assert loaded.assumed[0].key == "assumed.input"
    assert {str(one.values["what"]) for one in loaded.assumed} >= {"scale", "arm length", "tare torque"}


def test_what_hardly_counts_is_not_named():
    """By hand: shares 90, 8.5, 1.2 and 0.3 %: the last two together make less than 2 %."""
    errors = [Error(0.0, size) for size in np.sqrt([0.90, 0.085, 0.012, 0.003])]
    known = {error: assumed(f"{index}", error.size) for index, error in enumerate(errors)}
    found = uncertainty_of(linear(1.0, [(1.0, error) for error in errors]), known)
    assert [str(one.values["what"]) for one in found.assumed] == ["0", "1"]


def assumed(name: str, size: float, freedom: float = 8.0) -> UncertainInput:
    return UncertainInput(
        Message("input.gain", instrument=name), "1", size, lambda measured, _: measured, shared=True, step=size,
        degrees_of_freedom=freedom, assumption=Message("assumed.input", what=name, limits=()),
    )  # fmt: skip


def stated(name: str, size: float, freedom: float = math.inf) -> UncertainInput:
    return replace(assumed(name, size, freedom), assumption=None)


def of_parts(*parts: UncertainInput) -> Uncertainty:
    errors = {Error(0.0, one.size): one for one in parts}
    return uncertainty_of(linear(1.0, [(1.0, error) for error in errors]), errors)


def test_what_is_stated_is_expanded_together_and_what_is_assumed_by_itself():
    """JCGM 100:2008, G.4.1 and G.6.4 for the stated parts; k = 2.37 for 8 degrees of freedom (table G.2)."""
    found = of_parts(stated("a", 3.0, 5), stated("b", 4.0), assumed("c", 2.0))
    together, _ = expanded(5.0, 625.0 / (81.0 / 5.0))
    assert coverage_factor(8.0) == pytest.approx(2.37, abs=0.005)
    assert found.expanded == pytest.approx(math.hypot(together, 2.0 * coverage_factor(8.0)))
    assert found.standard == pytest.approx(math.sqrt(29.0))
    assert found.coverage_factor == pytest.approx(found.expanded / found.standard)


@given(
    others=st.lists(st.tuples(st.floats(1e-3, 1e3), st.sampled_from([8, 20, 100, math.inf])), max_size=4),
    guessed=st.lists(st.floats(1e-3, 1e3), max_size=3),
    size=st.floats(1e-3, 1e3),
    share=st.floats(0.01, 1.0),
)
def test_a_smaller_part_that_is_stated_never_widens(others, guessed, size, share):
    known = [stated(str(index), *one) for index, one in enumerate(others)]
    known += [assumed(f"guessed {index}", one) for index, one in enumerate(guessed)]
    before = of_parts(*known, assumed("x", size)).expanded
    after = of_parts(*known, stated("x", share * size)).expanded
    assert after <= before * (1.0 + 1e-9)


# Stating one instrument after the other, each at or below what is assumed of it.


def half(kind: str) -> tuple[float, float]:
    """Parts of reading and of the greatest, each half of what is assumed, so that their sum is within it."""
    found = assumed_accuracy(kind)
    return 0.5 * found.reading, 0.5 * found.greatest


def with_meter(rig: Rig, name: str, meter: object) -> Rig:
    return replace(rig, meters=replace(rig.meters or Meters(), **{name: meter}))


def meter_of(kind: str, of: type, name: str, share: float, largest: float) -> object:
    reading, part = half(kind)
    return of(reading=share * reading, range=share * part, full_scale=largest, resolution=STEPS[name])


STATEMENTS = {
    "arm": lambda rig, share: replace(rig, arm_length=Toleranced(ARM, tolerance=share * 0.0045)),
    "tare": lambda rig, share: replace(rig, tare_torque=Toleranced(0.0, tolerance=share * 0.03 * 5.0)),
    "scale": lambda rig, share: replace(
        rig, scale=replace(rig.scale, tolerance=Dimensioned(share * 0.005 * float(LOAD.max()), "mass"))
    ),
    "step": lambda rig, share: replace(rig, scale=replace(rig.scale, resolution=Dimensioned(share * 0.005, "mass"))),
    "tachometer": lambda rig, share: replace(rig, tachometer=Tachometer(tolerance=share * 0.1047)),
    "pulses": lambda rig, share: replace(rig, tachometer=Tachometer(60, 2.0 / share)),
    "voltmeter": lambda rig, share: with_meter(
        rig, "voltage", meter_of("voltmeter", Voltmeter, "voltage", share, 400.0)
    ),
    "ammeter": lambda rig, share: with_meter(
        rig, "current", meter_of("ammeter", Ammeter, "current", share, float(CURRENT.max()))
    ),
    "wattmeter": lambda rig, share: with_meter(
        rig, "input_power", meter_of("wattmeter", Wattmeter, "input_power", share, float(POWER.max()))
    ),
}  # fmt: skip


@settings(deadline=None, max_examples=10)
@given(order=st.permutations(sorted(STATEMENTS)), share=st.floats(0.05, 1.0), zero=st.booleans(), counted=st.booleans())
def test_stating_an_instrument_narrows_or_keeps_every_interval(order, share, zero, counted):
    """JCGM 100:2008, 4.3.7: limits within those assumed; whatever else is stated already.

    A tachometer is stated one way: by its pulses and gate, or by its limit of error.
    """
    order = [name for name in order if name != ("tachometer" if counted else "pulses")]
    readings = make_readings(Zero(0.0, 0.0) if zero else None, **truth())
    rig = make_rig("arm")
    before = figures(rig, readings)
    for name in order:
        rig = STATEMENTS[name](rig, share)
        after = figures(rig, readings)
        for figure, one in after.items():
            if before[figure].expanded is not None and one.expanded is not None:
                assert one.expanded <= before[figure].expanded * (1.0 + 1e-9), (name, figure)
        before = after


@given(tolerance=st.floats(1e-4, 0.5), of_gravity=st.floats(1e-5, 0.005))
@settings(deadline=None, max_examples=6)
def test_stating_the_supply_and_the_place_narrows_or_keeps_every_interval(tolerance, of_gravity):
    readings, rig = make_readings(**truth()), make_rig("arm")
    nothing = figures(rig, readings)
    frequency = {"supply_frequency": Toleranced(50.0, tolerance=tolerance)}
    gravity = {"local_gravity": Toleranced(GRAVITY, tolerance=of_gravity)}
    for conditions in (frequency, gravity, frequency | gravity):
        for figure, one in figures(rig, readings, a_job(**conditions)).items():
            if nothing[figure].expanded is not None and one.expanded is not None:
                assert one.expanded <= nothing[figure].expanded * (1.0 + 1e-9), figure


# Coverage by simulation: benches whose errors lie anywhere within what is assumed.


WATCHED = [("4", "torque"), ("4", "shaft_power"), ("4", "efficiency"), ("4", "slip"), ("4", "current"), ("2", "speed")]


def drawn(generator: np.random.Generator) -> tuple[Readings, dict[str, float]]:
    """Readings of a bench whose every error is drawn within its assumed limits, and the true gravity aside."""

    def within(limit: float, count: int | None = None) -> float | np.ndarray:
        return generator.uniform(-limit, limit, count)

    def shown(kind: str, name: str, true: np.ndarray) -> np.ndarray:
        found = assumed_accuracy(kind)
        offset = found.greatest * float(np.abs(true).max()) + found.constant
        read = true * (1.0 + within(found.reading)) + within(offset)
        return np.round(read / STEPS[name]) * STEPS[name]

    arm = ARM + within(assumed_accuracy("arm_length").limit(ARM, 0.0))
    gravity = generator.uniform(9.7639, 9.8337)
    tare = within(0.03 * float(TORQUE.max()))
    load = (TORQUE - tare) / arm / gravity
    zero = within(assumed_accuracy("zero_not_read").limit(0.0, float(load.max())))
    hertz = 50.0 + within(0.5)
    columns = {
        "scale": shown("scale", "scale", load + zero),
        "speed": shown("tachometer", "speed", SPEED * hertz / 50.0),
        "current": shown("ammeter", "current", CURRENT),
        "voltage": shown("voltmeter", "voltage", np.full(6, 400.0)),
        "input_power": shown("wattmeter", "input_power", POWER * hertz / 50.0),
    }
    row, speed = 4, float(SPEED[4]) * hertz / 50.0
    shaft = float(TORQUE[row]) * speed
    true = {
        "torque": float(TORQUE[row]), "shaft_power": shaft, "efficiency": shaft / float(POWER[row] * hertz / 50.0),
        "slip": 1.0 - float(SPEED[row]) / (50.0 * math.pi), "current": float(CURRENT[row]),
        "speed": float(SPEED[2]) * hertz / 50.0,
    }  # fmt: skip
    return make_readings(**columns), true


def test_intervals_of_a_home_bench_hold_the_truth():
    """JCGM 101:2008: errors drawn from the assumed distributions; at least 95 % of 80 tests, for every figure."""
    generator = np.random.default_rng(20261130)
    held = dict.fromkeys(WATCHED, 0)
    tests = 80
    job, rig = a_job(), make_rig("arm")
    for _ in range(tests):
        readings, true = drawn(generator)
        reduction = reduce_test(job, rig, readings)
        for at, name in WATCHED:
            value = float(getattr(reduction.points, name)[int(at)])
            held[at, name] += abs(value - true[name]) <= reduction.uncertainties.points[int(at)][name].expanded
    assert all(count >= 0.95 * tests for count in held.values()), held


# The last digit as it was typed.


@pytest.mark.parametrize(
    ("unit", "texts", "step"),
    [
        ("kg", ["1.005", "2.0", ""], 0.005),
        ("kg", ["1.005", "2.003", "−0.001"], 0.001),
        ("kg", ["0.002", "1.004"], 0.002),
        ("kg", ["0", "0"], 1.0),
        ("lb", ["4", "7"], 0.45359237),
        ("rpm", ["1451", "1495"], RPM),
        ("A", ["1.3", "10"], 0.1),
        ("A", ["?", ""], None),
    ],
)
def test_the_last_digit_typed_is_seen_in_si(unit, texts, step):
    """One pound is 0.45359237 kg (international yard and pound agreement, 1959)."""
    job = a_job()
    source = TableSource(
        "", (1, 1), (Column("scale", unit, "", "scale", (1, 1)),), tuple((Cell(text, (1, 1)),) for text in texts)
    )
    found = typed_steps(replace(job, readings=replace(job.readings, load_test=source)))
    assert found.get("scale") == (None if step is None else pytest.approx(step))


def test_one_sentence_says_what_was_assumed_and_what_to_state():
    found = reduce_test(a_job(), make_rig("arm"), make_readings(**truth())).uncertainties
    text = str(assumed_in_words(found.assumed))
    assert "ammeter ± 3 % of reading and 1 % of the largest reading" in text
    assert "meters.input_power" in text
    assert text.count("with reading, range or digits in the rig file") == 1
    assert assumed_in_words(()) is None
