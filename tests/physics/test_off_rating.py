"""A motor off its rated supply, against whole circuits solved by the laws of Kirchhoff, on code of the test's own."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.off_rating import (
    THREE_PHASE,
    current_at_rated_supply,
    efficiency_at_rated_voltage,
    power_law_at_rated_voltage,
    slip_at_rated_voltage,
)

pytestmark = pytest.mark.slow


class _Motor:
    """One phase of a cage motor in parts of its rated impedance; its magnetizing branch saturates with the flux."""

    def __init__(self, draw: np.random.Generator) -> None:
        self.r1, self.x1, self.r2, self.x2 = draw.uniform([0.01, 0.05, 0.01, 0.05], [0.08, 0.12, 0.07, 0.12])
        self.xm, self.saturation, self.rc = draw.uniform([0.9, 0.0, 12.0], [3.0, 1.0, 60.0])
        self.friction, self.power = draw.uniform([0.005, 0.6], [0.03, 0.85])

    def _currents(self, slip: float, volts: float) -> tuple[complex, complex]:
        behind = 0.95 * volts
        for _ in range(40):
            xm = self.xm * (1.0 + self.saturation) / (1.0 + self.saturation * behind**6)
            rotor = self.r2 / slip + 1j * self.x2
            middle = 1.0 / (1.0 / rotor + 1.0 / (1j * xm) + 1.0 / self.rc)
            stator = volts / (self.r1 + 1j * self.x1 + middle)
            behind = 0.5 * behind + 0.5 * abs(stator * middle)
        return stator, stator * middle / rotor

    def shaft(self, slip: float, volts: float) -> float:
        _, rotor = self._currents(slip, volts)
        return (abs(rotor) ** 2 * self.r2 / slip - self.friction) * (1.0 - slip)

    def run(self, volts: float) -> tuple[float, float, float, float] | None:
        """Slip, current, power factor and efficiency at the motor's power; ``None`` where it cannot carry it."""
        low, high = 1e-4, 0.3
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if self.shaft(middle, volts) < self.power else (low, middle)
        slip = 0.5 * (low + high)
        if slip > 0.2 or self.shaft(slip, volts) < 0.99 * self.power:
            return None
        stator, _ = self._currents(slip, volts)
        return slip, abs(stator), stator.real / abs(stator), self.power / (volts * stator.real)


@pytest.fixture(scope="module")
def pairs() -> list[tuple[float, tuple[float, ...], tuple[float, ...]]]:
    """Voltage ratio, figures at that voltage, figures at rated voltage."""
    draw, found = np.random.default_rng(60034), []
    for _ in range(60):
        motor = _Motor(draw)
        rated = motor.run(1.0)
        if rated is None or rated[0] > 0.12:
            continue
        for volts in (0.9, 0.95, 1.05, 1.1):
            tested = motor.run(volts)
            if tested is not None:
                found.append((volts, tested, rated))
    assert len(found) > 150
    return found


def _share_within(pairs, bounds) -> float:
    """Part of the motors whose true figure lies within what the bounds of the exponents give."""
    return float(np.mean([low - 1e-9 <= truth <= high + 1e-9 for truth, low, high in map(bounds, pairs)]))


def test_slip_lies_within_its_bounds(pairs) -> None:
    def bounds(pair):
        ratio, tested, rated = pair
        e = THREE_PHASE.slip
        ends = [slip_at_rated_voltage(tested[0], ratio, exponent=e.mean + s * e.half_width) for s in (-1, 1)]
        return rated[0], min(ends), max(ends)

    assert _share_within(pairs, bounds) >= 0.93


def test_current_lies_within_its_bounds(pairs) -> None:
    def bounds(pair):
        ratio, tested, rated = pair
        a, r = THREE_PHASE.active, THREE_PHASE.reactive
        ends = [
            current_at_rated_supply(
                tested[1],
                tested[2],
                ratio,
                active_exponent=a.mean + x * a.half_width,
                reactive_exponent=r.mean + y * r.half_width,
            )
            for x in (-1, 1)
            for y in (-1, 1)
        ]
        return rated[1], min(ends), max(ends)

    assert _share_within(pairs, bounds) >= 0.93


def test_efficiency_lies_within_its_bounds(pairs) -> None:
    def bounds(pair):
        ratio, tested, rated = pair
        c = THREE_PHASE.losses
        ends = [
            efficiency_at_rated_voltage(tested[3], ratio, losses_exponent=c.mean + s * c.half_width) for s in (-1, 1)
        ]
        return rated[3], min(ends), max(ends)

    assert _share_within(pairs, bounds) >= 0.93


@given(
    value=st.floats(0.01, 0.99), factor=st.floats(0.1, 1.0), current=st.floats(0.1, 100.0), speed=st.floats(1.0, 3000.0)
)
def test_on_the_rated_supply_nothing_changes(value: float, factor: float, current: float, speed: float) -> None:
    assert slip_at_rated_voltage(value, 1.0) == pytest.approx(value)
    assert current_at_rated_supply(current, factor, 1.0) == pytest.approx(current)
    assert efficiency_at_rated_voltage(value, 1.0) == pytest.approx(value)
    assert power_law_at_rated_voltage(speed, 1.0, exponent=-1.7) == pytest.approx(speed)


def test_by_hand() -> None:
    """0.05 x 0.905^2 = 0.040951; a current of cos phi 1 goes with 1/U alone."""
    assert slip_at_rated_voltage(0.05, 0.905, exponent=2.0) == pytest.approx(0.04095, abs=5e-6)
    assert current_at_rated_supply(10.0, 1.0, 0.95, active_exponent=1.0) == pytest.approx(9.5)
    assert current_at_rated_supply(10.0, 1e-9, 1.0, 0.98, reactive_exponent=1.0) == pytest.approx(9.8)
    assert power_law_at_rated_voltage(100.0, 0.95, exponent=-1.0) == pytest.approx(105.263, abs=5e-4)


@pytest.mark.parametrize("ratio", [0.0, -1.0])
def test_a_supply_of_nothing_is_refused(ratio: float) -> None:
    with pytest.raises(ValueError, match="voltage ratio must be above 0"):
        slip_at_rated_voltage(0.05, ratio)
