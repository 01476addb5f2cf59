"""The swept example with its log spoilt: cells that say nan, and the torque gone for six tenths of a second."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from simulated_bench.simulated_job import EXAMPLES
from typed_job import evidence

from certgen.pipeline import assess_job

pytestmark = pytest.mark.slow

NAME = "swept_motor"
TIME, SPEED, TORQUE = range(3)


def judged(folder: Path, spoil):
    """Results of the example with its cells changed in place."""
    shutil.copytree(EXAMPLES / NAME, folder / NAME)
    shutil.copytree(EXAMPLES / "rigs", folder / "rigs")
    path = folder / NAME / "sweep.csv"
    header, *lines = path.read_text(encoding="utf-8").splitlines()
    cells = np.array([line.split(",") for line in lines], dtype=object)
    spoil(cells)
    path.write_text("\n".join([header, *(",".join(row) for row in cells)]) + "\n", encoding="utf-8")
    return assess_job(folder / NAME / "job.yaml").results


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    return judged(tmp_path_factory.mktemp("sound"), lambda cells: None)


def says_the_same(results, sound):
    assert results.verdict.outcome == sound.verdict.outcome
    for name in ("breakdown_torque", "pull_up_torque"):
        ours, theirs = getattr(results.characteristic, name), getattr(sound.characteristic, name)
        if theirs is None:
            assert ours is None
        elif ours is not None:
            assert ours.value == pytest.approx(
                theirs.value, abs=theirs.expanded_uncertainty + ours.expanded_uncertainty
            )


@pytest.mark.parametrize("word", ["nan", "NaN", ""])
def test_a_cell_without_a_figure_is_a_sample_left_out(tmp_path, sound, word):
    def spoil(cells):
        cells[200, TORQUE] = cells[201, SPEED] = word

    results = judged(tmp_path, spoil)
    says_the_same(results, sound)
    assert [(entry.count, str(entry.reason)) for entry in results.sweep.left_out] == [(2, "signal dropped out")]
    assert any("signal dropped out: 2 readings" in str(caution.because) for caution in results.cautions)


@pytest.mark.parametrize("begin", np.arange(1.0, 12.0, 1.0))
def test_torque_gone_for_a_moment_is_no_pull_up_torque(tmp_path, sound, begin):
    """The figure that went wrong: the least torque below breakdown was that of the moment without it."""

    def spoil(cells):
        time = cells[:, TIME].astype(float)
        gone = (time >= begin) & (time < begin + 0.6)
        scatter = np.random.default_rng(1).normal(0.0, 0.05, time.size)
        cells[gone, TORQUE] = [f"{value:.3f}" for value in scatter[gone]]

    results = judged(tmp_path, spoil)
    says_the_same(results, sound)
    if 2.0 <= begin <= 10.0:  # before and after there is hardly a load to lose
        (lost,) = evidence(results, "load_lost")
        assert lost.effect == "note"
