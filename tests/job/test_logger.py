"""The logger of a rig as it is read; what is wrong with one stands in tests/mistakes/in_logger.yaml."""

from __future__ import annotations

from pathlib import Path

import pytest
from serial_logger import RIG

from certgen.document.build import Dimensioned, Reader
from certgen.document.source import Problems, parse
from certgen.job.load import load_before
from certgen.job.logger import CountsCalibration, Logger, LoggerColumn
from certgen.job.rig import Rig


def logger_of(written: str) -> Logger:
    problems = Problems()
    root = parse(f"name: a rig\nabsorber: {{kind: arm}}\nlogger: {written}\n", "rig.yaml", problems)
    assert root is not None
    rig = Reader("rig.yaml", Path(), problems).group(Rig, root)
    assert not problems.found
    assert rig is not None and rig.logger is not None
    return rig.logger


def test_the_least_logger() -> None:
    logger = logger_of("{separator: tab, columns: [{name: speed, unit: rpm}]}")
    assert logger == Logger(separator="\t", columns=(LoggerColumn("speed", "rpm"),))
    assert (logger.baud, logger.frame, logger.decimal, logger.comment) == (9600, "8N1", "point", "#")
    assert not logger.labelled


def test_a_calibration_is_read_in_si() -> None:
    logger = logger_of(
        "{separator: ';', columns: [{name: scale, unit: lb, label: F, "
        "calibration: {counts: [8412, 9.4230e4], values: [0 kg, 2000 g], between: table}}]}"
    )
    values = (Dimensioned(0.0, "mass"), Dimensioned(2.0, "mass"))
    assert logger.columns[0].calibration == CountsCalibration((8412.0, 94230.0), values, "table")
    assert logger.labelled


def test_a_rig_is_loaded_without_a_job(tmp_path: Path) -> None:
    (tmp_path / "rig.yaml").write_text(RIG, encoding="utf-8")
    problems = Problems()
    loaded = load_before(tmp_path / "rig.yaml", None, problems)
    assert not problems.found
    assert loaded is not None
    assert loaded.rig.logger is not None
    assert loaded.job.nameplate.power is None


@pytest.mark.parametrize("text", ["", "- a list\n", "name: [\n"])
def test_a_rig_that_holds_no_keys_is_told(tmp_path: Path, text: str) -> None:
    (tmp_path / "rig.yaml").write_text(text, encoding="utf-8")
    problems = Problems()
    assert load_before(tmp_path / "rig.yaml", None, problems) is None
    assert problems.found
