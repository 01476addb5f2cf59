"""A sound motor of the examples with rows read again: what was known of it is known no worse, and nothing bends."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from certgen.pipeline import assess_job
from certgen.results.model import Results

pytestmark = pytest.mark.slow

EXAMPLES = Path(__file__).parents[3] / "example_jobs"
ROW = "      - [18, 1428, 2.049, 400.9, 399.9, 398.6, 3.363, 3.383, 3.272, 1820, 86.5, 8.5]\n"
#: What is looked at: place, quantity.
WATCHED = [
    (at, name)
    for at in ("at_rated_current", "at_rated_power")
    for name in ("torque", "speed", "shaft_power", "efficiency", "input_power", "current")
]


def with_rows(folder: Path, *added: str) -> Results:
    """The example with rows added below the third."""
    shutil.copytree(EXAMPLES / "rigs", folder / "rigs")
    shutil.copytree(EXAMPLES / "three_phase_full_plate", folder / "motor")
    job = folder / "motor" / "job.yaml"
    text = job.read_text(encoding="utf-8")
    assert ROW in text
    rows = "".join(f"      - [{row}]\n" for row in added)
    job.write_text(text.replace(ROW, ROW + rows), encoding="utf-8")
    return assess_job(job).results


@pytest.fixture(scope="module")
def plain() -> Results:
    return assess_job(EXAMPLES / "three_phase_full_plate" / "job.yaml").results


def figures(results: Results) -> dict[tuple[str, str], object]:
    return {(at, name): getattr(getattr(results, at), name) for at, name in WATCHED}


AGAIN = {
    "2 g lighter": "20, 1428, 2.047, 400.9, 399.9, 398.6, 3.363, 3.383, 3.272, 1820, 86.6, 8.5",
    "2 g lighter, a count slower": "20, 1427, 2.047, 400.9, 399.9, 398.6, 3.364, 3.384, 3.273, 1821, 86.6, 8.5",
    "2 g heavier, a count faster": "20, 1429, 2.051, 400.8, 399.9, 398.6, 3.362, 3.382, 3.272, 1819, 86.6, 8.5",
    "the brake crept by 8 g": "20, 1428, 2.041, 400.9, 399.9, 398.6, 3.356, 3.376, 3.264, 1813, 86.6, 8.5",
}


@pytest.mark.parametrize("added", AGAIN.values(), ids=AGAIN.keys())
def test_a_row_read_again_changes_no_figure_and_no_verdict(added, plain, tmp_path):
    found = with_rows(tmp_path, added)
    assert found.verdict.outcome == plain.verdict.outcome
    before = figures(plain)
    for place, one in figures(found).items():
        was = before[place]
        assert one.value == pytest.approx(was.value, rel=2e-3), place
        if was.expanded_uncertainty is not None:
            assert one.expanded_uncertainty < 1.15 * was.expanded_uncertainty, place


def test_a_copied_row_counts_once(plain, tmp_path):
    copied = ROW.strip().removeprefix("- [").removesuffix("]")
    found = with_rows(tmp_path, copied)
    for place, one in figures(found).items():
        was = figures(plain)[place]
        assert one.value == pytest.approx(was.value, rel=1e-12), place
        assert one.expanded_uncertainty == (
            was.expanded_uncertainty and pytest.approx(was.expanded_uncertainty, rel=1e-9)
        ), place
