"""What was found in the files of a job: in the terminal and in the results; and what a typed job must not load."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
from pathlib import Path

import pytest
from bench import Bench

from certgen.cli import main
from certgen.pipeline import assess_job
from certgen.results.serialization import as_json

pytestmark = pytest.mark.slow


def test_check_tells_what_was_found_and_results_keep_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = Bench(tmp_path).start("file").write()
    assert main(["check", str(path)]) == 0
    told = capsys.readouterr().out
    assert (
        "readings files:\n"
        "  load_test.csv (readings.load_test): utf-8, delimiter comma, decimal point, headers in line 1, 3 rows\n"
        "    units: speed in rpm, scale in kg, voltage in V, current in A, input_power in W\n"
    ) in told
    results = json.loads(as_json(assess_job(path).results))
    (kept,) = results["readings"]
    assert (kept["file"], kept["encoding"], kept["delimiter"], kept["decimal"]) == (
        "load_test.csv",
        "utf-8",
        "comma",
        "point",
    )
    assert (kept["header_row"], kept["rows"], kept["skipped"], kept["joined"], kept["notes"]) == (1, 3, 0, None, [])
    written = (tmp_path / "motor" / "load_test.csv").read_bytes()
    assert results["traceability"]["inputs"]["load_test.csv"] == hashlib.sha256(written).hexdigest()


def test_the_digest_is_that_of_the_bytes_whatever_the_encoding(tmp_path: Path) -> None:
    path = Bench(tmp_path).start("file").write()
    file = path.parent / "load_test.csv"
    before = assess_job(path).results
    for encoding in ("utf-16", "utf-8-sig", "latin-1"):
        data = Bench(tmp_path).start("file").texts["csv"].encode(encoding)
        file.write_bytes(data)
        after = assess_job(path).results
        assert after.points == before.points
        assert after.traceability.inputs["load_test.csv"] == hashlib.sha256(data).hexdigest()


def test_a_scale_whose_unit_comes_from_the_file_must_be_what_the_rig_reads(tmp_path: Path) -> None:
    bench = Bench(tmp_path).start("file").edit("job", {"Kraft, unit: kg": "Kraft"}).edit("csv", {"Kraft": "Kraft (N)"})
    bench.write()
    done = subprocess.run(
        [sys.executable, "-m", "certgen", "check", "motor/job.yaml"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr == (
        "motor/job.yaml:28:7: readings.load_test.columns.scale: 'N' is a unit of force, but the rig's scale reads mass; "
        "write a unit of mass, for example 'kg' or 'lb', or correct scale.reads in the rig file.\n"
    )


@pytest.mark.parametrize("kind", ["arm", "file"])
def test_neither_a_typed_job_nor_a_short_file_loads_pandas_or_a_reader_of_workbooks(tmp_path: Path, kind: str) -> None:
    path = Bench(tmp_path).start(kind).write()
    script = (
        "import sys; from pathlib import Path; from certgen.pipeline import assess_job; "
        f"assess_job(Path({str(path)!r})); "
        "print([name for name in ('pandas', 'python_calamine', 'xml.etree.ElementTree') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
