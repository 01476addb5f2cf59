"""The load points of the published procedures."""

from __future__ import annotations

import pytest

from certgen.standards.procedures import loads_of_test


@pytest.mark.parametrize("procedure", ["iec-60034-2-1", "ieee-112-b"])
def test_six_points_as_the_procedures_ask(procedure):
    """From memory: IEC 60034-2-1, 125, 115, 100, 75, 50, 25 %; IEEE Std 112, four up to 100 %, two above, at most 150 %."""
    loads = loads_of_test(procedure, three_phase=True).loads
    assert loads == (0.25, 0.5, 0.75, 1.0, 1.15, 1.25)
    assert sum(load <= 1.0 for load in loads) == 4
    assert all(load <= 1.5 for load in loads)


@pytest.mark.parametrize(
    ("procedure", "three_phase", "source"),
    [
        ("iec-60034-2-1", True, "IEC 60034-2-1 (2014), load curve test, from memory"),
        ("ieee-112-b", True, "IEEE Std 112, method B (2017), test under load, from memory"),
        ("iec-60034-2-1", False, "common practice, no source (the load points of three-phase motors"),
    ],
)
def test_the_source_is_named(procedure, three_phase, source):
    found = loads_of_test(procedure, three_phase=three_phase)
    assert str(found.source).startswith(source)
    assert found.order_source
