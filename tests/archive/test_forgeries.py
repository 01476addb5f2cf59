"""A page that lies is never called sound, though seal, list and digests were made to fit.

A handful of the kinds; ``tests/studies/forgeries.py`` tries them all, signed too.
"""

from __future__ import annotations

import pytest
from archive.conftest import example
from archive.forgeries import FORGERIES

from certgen.archive.drawn_again import same_figure
from certgen.archive.signature import judged
from certgen.archive.signing import new_key, signed
from certgen.archive.verify import verify
from certgen.commands.verify import _make

pytestmark = pytest.mark.slow

HANDFUL = (
    "verdict made invisible and another painted",
    "verdict read aloud as another",
    "chart told in other words",
    "order of reading changed",
    "stamp over the verdict",
    "second page",
    "script on opening",
    "metadata with another verdict",
    "another verdict in the list",
    "glyphs swapped in a font",
    "layer that is off",
    "form field with another verdict",
    "update within the seal",
    "an earlier version claimed throughout",
    "another program claimed",
    "spare object",
    "a figure in its seventh digit",
)


@pytest.fixture(scope="module")
def failed() -> bytes:
    """The certificate of a motor that failed."""
    return example("worn_rotor")


@pytest.mark.parametrize("kind", HANDFUL)
def test_a_forgery_is_not_called_sound(failed: bytes, kind: str) -> None:
    found = verify(FORGERIES[kind](failed), _make, judged)
    assert not found.good
    assert str(found.headline) != "sound"


def test_a_stranger_s_signature_makes_no_forgery_sound(failed: bytes) -> None:
    key = new_key("Pennyfold Motor Bench", b"a stranger's passphrase", years=1)
    forged = signed(FORGERIES["verdict replaced"](failed), key.secret, b"a stranger's passphrase")
    assert judged(forged).state == "good"
    assert not verify(forged, _make, judged).good


@pytest.mark.parametrize(
    ("then", "now", "same"),
    [
        (1.2345678, 1.2345679, True),
        (1.2345678, 1.2345680, False),
        (98765432.0, 98765433.0, True),
        (0.0, 1e-17, True),
        (0.0, 1e-6, False),
        (float("inf"), float("inf"), True),
        (float("inf"), 1.0, False),
    ],
)
def test_figures_may_differ_by_one_unit_of_the_eighth_digit(then: float, now: float, same: bool) -> None:
    assert same_figure(then, now) is same
    assert same_figure(-now, -then) is same
