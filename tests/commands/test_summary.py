"""``certgen summary``, and the sheets that the register's commands draw."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from bench import Bench
from pypdf import PdfReader

from certgen.cli import main
from certgen.commands.summary import SORTS
from certgen.errors import CertgenError
from certgen.issuing.layouts import SheetOptions
from certgen.issuing.lists import SORTED_BY, write_summary
from certgen.sheet.list_content import Summary, SummaryRow

pytestmark = pytest.mark.slow

COUNT = 6


@pytest.fixture
def jobs(bench: Bench) -> Path:
    """A folder of jobs, one of them broken, all of one motor."""
    job = bench.write()
    text = job.read_text(encoding="utf-8")
    for index in range(COUNT):
        folder = Path("jobs") / f"motor_{index}"
        folder.mkdir(parents=True)
        own = text.replace("WS-2026-007", f"WS-2026-{index:03}").replace("2026-03-14", f"2026-03-{index + 10}")
        (folder / "job.yaml").write_text(own.replace("[1420, 2.06", f"[142{index % 3}, 2.0{index}"), encoding="utf-8")
    shutil.copytree(job.parent.parent / "rigs", Path("jobs") / "rigs", dirs_exist_ok=True)
    return Path("jobs")


def text_of(path: Path) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(path).pages)


def test_a_folder_becomes_a_list(jobs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["summary", str(jobs)]) == 0
    assert capsys.readouterr().out == f"summary.pdf: jobs in the list: {COUNT}\n"
    said = text_of(Path("summary.pdf"))
    assert "Motors tested" in said
    assert all(f"WS-2026-{index:03}" in said for index in range(COUNT))
    assert "Weir Street Bench" in said
    first = Path("summary.pdf").read_bytes()
    assert main(["summary", "jobs/*/job.yaml", "--units", "us", "--paper", "letter"]) == 0
    assert Path("summary.pdf").read_bytes() != first
    assert "lbf·ft" in text_of(Path("summary.pdf"))


def test_a_bad_job_does_not_stop_the_others(jobs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = jobs / "motor_0" / "job.yaml"
    bad.write_text(bad.read_text(encoding="utf-8").replace("1.5 kW", "1.5"), encoding="utf-8")
    assert main(["summary", str(jobs), "--out", "list.pdf"]) == 2
    told = capsys.readouterr()
    assert "nameplate.power" in told.err
    assert told.out == f"list.pdf: jobs in the list: {COUNT - 1} of {COUNT}\n"
    said = text_of(Path("list.pdf"))
    assert "Could not be judged, not in the list: 1." in said
    assert "motor_0/job.yaml" in said
    assert "'1.5' has no unit" in said
    assert main(["summary", str(bad), "--out", "none.pdf"]) == 2
    assert "nothing to list" in capsys.readouterr().err
    assert not Path("none.pdf").exists()


def test_a_job_that_awaits_its_test_is_named_and_no_error(jobs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    waiting = jobs / "motor_0" / "job.yaml"
    text = waiting.read_text(encoding="utf-8")
    waiting.write_text(re.sub(r"(?ms)^readings:.*?(?=^\w|\Z)", "", text), encoding="utf-8")
    assert main(["summary", str(jobs), "--out", "list.pdf"]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert told.out == f"list.pdf: jobs in the list: {COUNT - 1} of {COUNT}\n"
    said = text_of(Path("list.pdf"))
    assert "Awaiting their test: 1." in said
    assert "motor_0/job.yaml" in said
    assert "awaits its test" in said


def test_only_a_summary_is_replaced_by_one(jobs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one = str(jobs / "motor_0" / "job.yaml")
    assert main(["issue", one, "--out", "page.pdf"]) == 0
    certificate = Path("page.pdf").read_bytes()
    assert main(["summary", one, "--out", "page.pdf"]) == 2
    assert "so it is left as it is" in capsys.readouterr().err
    assert Path("page.pdf").read_bytes() == certificate
    assert main(["summary", one, "--sheet", "certificate"]) == 2
    assert "this layout is about a test; name one with 'subject: summary'" in capsys.readouterr().err
    assert main(["summary", one, "--sheet", "sumary"]) == 2
    assert "summary" in capsys.readouterr().err


@pytest.fixture
def archive(jobs: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """All of them issued into an archive."""
    Path("kept").mkdir()
    assert main(["issue", str(jobs), "--archive", "kept"]) == 0
    capsys.readouterr()
    return Path("kept")


def test_what_the_register_found_as_a_sheet(archive: Path, capsys: pytest.CaptureFixture[str]) -> None:
    find = ["register", "find", "--archive", str(archive), "--tested-from", "2026-03-12", "--pdf", "found.pdf"]
    assert main(find) == 0
    told = capsys.readouterr()
    assert len(told.out.splitlines()) == COUNT - 2
    assert told.err == "found.pdf\n"
    said = text_of(Path("found.pdf"))
    assert "tested from 2026-03-12" in said
    assert "WS-2026-002" in said
    assert "WS-2026-001" not in said
    assert main(["register", "list", "--archive", str(archive), "--most", "2", "--pdf", "."]) == 0
    assert "Motors tested: 2" in text_of(Path("summary.pdf"))


def test_the_trend_as_a_page(archive: Path, capsys: pytest.CaptureFixture[str]) -> None:
    trend = ["register", "trend", "0048117", "--of", "torque", "--archive", str(archive)]
    assert main([*trend, "--out", "trend.pdf"]) == 0
    assert capsys.readouterr().err == "trend.pdf\n"
    said = text_of(Path("trend.pdf"))
    assert "Weir Street Bench" in said
    assert re.search(r"Tested from \d{4}-\d\d-\d\d to \d{4}-\d\d-\d\d", said)
    assert "Torque of the motor with the serial number 0048117" in said
    assert "three standard deviations" in said
    assert all(f"WS-2026-{index:03}" in said for index in range(COUNT))
    first = Path("trend.pdf").read_bytes()
    assert main([*trend, "--out", "trend.pdf", "--units", "us"]) == 0
    assert Path("trend.pdf").read_bytes() != first
    assert main([*trend, "--out", "."]) == 0
    assert Path("0048117-torque-trend.pdf").read_bytes() == first
    assert main(["register", "trend", "0048117", "--archive", str(archive), "--out", "trend.pdf"]) == 2
    assert "so it is left as it is" in capsys.readouterr().err


def test_a_list_too_long_for_paper_is_refused(tmp_path: Path) -> None:
    row = SummaryRow("HB-1", "2026-03-14", "dc", "pass")
    with pytest.raises(CertgenError, match="at most 2000 motors, and these are more; ask for fewer"):
        write_summary(Summary((row,) * 2001), tmp_path, SheetOptions())
    assert list(tmp_path.iterdir()) == []


def test_processes_list_the_same(jobs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A bad job among them, told in its place."""
    bad = jobs / "motor_2" / "job.yaml"
    bad.write_text(bad.read_text(encoding="utf-8").replace("1.5 kW", "1.5"), encoding="utf-8")
    told, sheets = [], []
    for workers in ("1", "2"):
        assert main(["summary", str(jobs), "--workers", workers]) == 2
        told.append(capsys.readouterr())
        sheets.append(Path("summary.pdf").read_bytes())
    assert told[0] == told[1]
    assert sheets[0] == sheets[1]


def test_a_job_whose_process_was_lost_is_on_the_list() -> None:
    from certgen.issuing.lists import lost

    found = lost(Path("jobs/motor/job.yaml"), "signal 9")
    assert found.error.startswith("jobs/motor/job.yaml: the process that worked on it was lost (signal 9)")
    assert found.missing is not None and found.missing.job == "motor/job.yaml"
    assert (found.row, found.exit_code) == (None, 2)


def test_a_fault_of_the_program_is_told_of_one_job(jobs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from certgen.issuing.lists import listed

    def fails(job: Path) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("certgen.pipeline.assess_job", fails)
    found = listed(jobs / "motor_0" / "job.yaml")
    assert "the program failed here (ZeroDivisionError" in found.error
    assert "Traceback" in found.details and found.missing is not None


def test_a_list_is_sorted_as_asked_and_names_shop_and_days(jobs: Path) -> None:
    orders = {}
    for order in (None, *SORTS):
        assert main(["summary", str(jobs), "--out", "sorted.pdf", *(["--sort", order] if order else [])]) == 0
        said = text_of(Path("sorted.pdf"))
        assert "Weir Street Bench" in said
        assert "Tested from 2026-03-10 to 2026-03-15" in said
        orders[order] = re.findall(r"WS-2026-\d+", said)
    assert orders["number"] == orders["date"] == sorted(orders[None])
    assert all(sorted(found) == sorted(orders[None]) for found in orders.values())


def test_what_asks_for_work_and_the_largest_motor_come_first() -> None:
    outcomes = ["pass", "fail", "no verdict", "conditional pass", "conditional fail", "pass"]
    powers = [150.0, None, 2200.0, 750.0, 1100.0, 370.0]
    rows = [
        SummaryRow(str(index), "2026-03-14", "dc", outcome, power=power)
        for index, (outcome, power) in enumerate(zip(outcomes, powers, strict=True))
    ]
    by_verdict = [row.verdict for row in sorted(rows, key=SORTED_BY["verdict"])]
    assert by_verdict == ["fail", "conditional fail", "no verdict", "conditional pass", "pass", "pass"]
    assert [row.power for row in sorted(rows, key=SORTED_BY["power"])] == [2200.0, 1100.0, 750.0, 370.0, 150.0, None]
    assert tuple(SORTED_BY) == SORTS
