"""The commands: what they print where, what they write, and how they end."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from bench import Bench

import certgen
from certgen.cli import main
from certgen.errors import RefusedTest

pytestmark = pytest.mark.slow

GOOD = "motor/job.yaml"
BAD = "bad/job.yaml"


@pytest.fixture
def jobs(bench: Bench) -> Bench:
    """A good job beside one without a unit."""
    text = bench.with_fine_instruments().write().read_text(encoding="utf-8")
    Path("bad").mkdir()
    Path(BAD).write_text(text.replace("1.5 kW", "1.5"), encoding="utf-8")
    return bench


def listing() -> list[tuple[str, int, int]]:
    found = sorted(Path().rglob("*"))
    return [(str(path), path.stat().st_mtime_ns, path.stat().st_size) for path in found]


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "certgen", *arguments],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def test_check_tells_the_verdict_on_standard_output_and_writes_nothing(
    jobs: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    before = listing()
    assert main(["check", GOOD]) == 0
    told = capsys.readouterr()
    assert told.out.startswith(f"{GOOD}: Pass\n")
    assert told.err == ""
    assert listing() == before


def test_a_wrong_input_ends_with_2_and_is_told_on_standard_error(
    jobs: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    before = listing()
    assert main(["issue", BAD]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith(f"{BAD}:10:10: nameplate.power: '1.5' has no unit; ")
    assert listing() == before


@pytest.mark.parametrize("order", [[GOOD, BAD, GOOD], [BAD, GOOD, GOOD]])
def test_one_bad_job_does_not_stop_the_others(
    jobs: Bench, capsys: pytest.CaptureFixture[str], order: list[str]
) -> None:
    assert main(["check", *order]) == 2
    told = capsys.readouterr()
    assert told.out.count(f"{GOOD}: Pass\n") == 2
    assert len(told.err.splitlines()) == 1


def test_require_ends_with_1_where_the_verdict_is_not_as_good(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    bench.edit("job", {"efficiency: 80 %": "efficiency: 93 %"}).write()
    assert main(["check", GOOD]) == 0
    assert capsys.readouterr().out.startswith(f"{GOOD}: Fail\n")
    assert main(["check", "--require", "pass", GOOD]) == 1
    assert capsys.readouterr().err == f"{GOOD}: the verdict is 'fail', 'pass' was required\n"
    assert main(["check", "--require", "conditional pass", GOOD]) == 1


@pytest.mark.parametrize("outcome", ["pass", "conditional pass"])
def test_require_ends_with_0_where_the_verdict_is_good_enough(bench: Bench, outcome: str) -> None:
    bench.with_fine_instruments().write()
    assert main(["check", "--require", outcome, GOOD]) == 0


def test_the_worst_status_counts(jobs: Bench) -> None:
    text = Path(GOOD).read_text(encoding="utf-8")
    Path(GOOD).write_text(text.replace("efficiency: 80 %", "efficiency: 93 %"), encoding="utf-8")
    assert main(["check", "--require", "pass", BAD, GOOD]) == 2
    assert main(["check", "--require", "pass", GOOD, BAD]) == 2


def test_issue_writes_one_page_named_by_its_number(jobs: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", GOOD]) == 0
    assert Path("WS-2026-007.pdf").read_bytes().startswith(b"%PDF-")
    assert capsys.readouterr().out == "WS-2026-007.pdf: pass\n"
    assert main(["issue", GOOD]) == 0
    assert capsys.readouterr().out == "WS-2026-007.pdf: pass (unchanged, already issued)\n"


def test_issue_never_overwrites_another_certificate(jobs: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    Path("WS-2026-007.pdf").write_bytes(b"an earlier page")
    assert main(["issue", GOOD]) == 2
    assert "never overwritten" in capsys.readouterr().err
    assert Path("WS-2026-007.pdf").read_bytes() == b"an earlier page"


def test_issue_writes_the_results_too(jobs: Bench) -> None:
    Path("out").mkdir()
    assert main(["issue", GOOD, "--out", "out", "--results", "out"]) == 0
    assert sorted(path.name for path in Path("out").iterdir()) == ["WS-2026-007.json", "WS-2026-007.pdf"]
    results = json.loads(Path("out/WS-2026-007.json").read_text(encoding="utf-8"))
    assert results["verdict"]["outcome"] == "pass"
    assert main(["issue", GOOD, "--out", "page.pdf", "--results", "numbers.json"]) == 0
    assert Path("page.pdf").read_bytes() == Path("out/WS-2026-007.pdf").read_bytes()
    assert Path("numbers.json").read_bytes() == Path("out/WS-2026-007.json").read_bytes()


@pytest.mark.parametrize("option", ["--out", "--results"])
def test_several_jobs_need_a_folder(jobs: Bench, capsys: pytest.CaptureFixture[str], option: str) -> None:
    before = listing()
    assert main(["issue", GOOD, BAD, option, "absent.pdf" if option == "--out" else "absent.json"]) == 2
    named = "absent.pdf" if option == "--out" else "absent.json"
    told = f"{option} {named}: with several jobs this must be a folder; end its name in '/' to make one.\n"
    assert capsys.readouterr().err == told
    assert listing() == before


def test_a_folder_that_is_not_there_is_told(jobs: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", GOOD, "--out", "absent/page.pdf"]) == 2
    told = capsys.readouterr().err
    assert told.startswith("absent/page.pdf: the file cannot be written (No such file or directory); ")


def test_a_layout_that_is_not_there_is_told(jobs: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    before = listing()
    assert main(["issue", GOOD, "--sheet", "certificat"]) == 2
    assert "did you mean 'certificate'" in capsys.readouterr().err
    assert main(["issue", GOOD, "--sheet", "absent.yaml"]) == 2
    assert capsys.readouterr().err == "absent.yaml: there is no such file; give the name of an existing file.\n"
    assert listing() == before


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["chek", GOOD], "certgen: error: unknown command 'chek'; did you mean 'check'"),
        (["frobnicate"], "unknown command 'frobnicate'; known here: plan, issue, check"),
        (["issue", GOOD, "--papr", "a4"], "certgen issue: error: unknown option '--papr'; did you mean '--paper'"),
        (["register", "lst"], "certgen register: error: unknown action 'lst'; did you mean 'list'"),
        (
            ["register", "list", "--mst=3"],
            "certgen register list: error: unknown option '--mst'; did you mean '--most'",
        ),
        (["plan", GOOD, "again.yaml"], "certgen plan: error: too many arguments: again.yaml"),
        (["issue", "--units", "uss", GOOD], "--units: 'uss' is none of them; did you mean 'us'"),
        (["check", "--require", "excellent", GOOD], "excellent"),
        (["issue", "--paper", "a7", GOOD], "a7"),
        (["schema", "motor"], "motor"),
    ],
)
def test_a_wrong_command_line_ends_with_2_and_says_why(
    capsys: pytest.CaptureFixture[str], arguments: list[str], told: str
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("usage: certgen")
    assert told in printed.err


def test_certgen_alone_prints_its_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    assert capsys.readouterr().out.startswith("usage: certgen")


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out == f"certgen {certgen.__version__}\n"


def test_help_names_every_command_and_what_it_does(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--help"])
    printed = capsys.readouterr().out
    for command in ("issue", "check", "new", "schema"):
        assert re.search(rf"^ +{command} +\w", printed, re.MULTILINE)


def test_interrupted_work_ends_with_130(
    jobs: Bench, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(_: Path) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("certgen.pipeline.assess_job", interrupted)
    assert main(["check", GOOD]) == 130
    assert capsys.readouterr().err == "stopped\n"


def test_a_fault_of_the_program_is_told_in_a_line_and_with_v_in_full(
    jobs: Bench, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def mistaken(_: Path) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("certgen.pipeline.assess_job", mistaken)
    assert main(["check", GOOD]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert told.startswith(f"{GOOD}: the program failed here (ZeroDivisionError in mistaken, line ")
    assert "please report this" in told
    for arguments in (["-v", "check", GOOD], ["check", "-v", GOOD]):
        assert main(arguments) == 2
        assert "Traceback (most recent call last):" in capsys.readouterr().err


def test_a_closed_pipe_ends_quietly(jobs: Bench) -> None:
    read_end, write_end = os.pipe()
    os.close(read_end)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "certgen", "check", GOOD], stdout=write_end, stderr=subprocess.PIPE, check=False
        )
    finally:
        os.close(write_end)
    assert done.returncode == 141
    assert done.stderr == b""


def test_a_terminal_of_few_signs_shows_escapes(jobs: Bench) -> None:
    done = run("check", GOOD, PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    assert done.stdout.isascii()
    assert "N\\xb7m" in done.stdout or "\\xb0C" in done.stdout


def test_a_name_of_few_signs_is_told_in_escapes(jobs: Bench) -> None:
    done = run("check", "Prüfung.yaml", PYTHONIOENCODING="ascii")
    assert done.returncode == 2
    assert done.stderr == "Pr\\xfcfung.yaml: there is no such file; give the name of an existing file.\n"


@pytest.mark.parametrize("arguments", ["--help", "--version", "check --help"])
def test_help_answers_without_the_heavy_libraries(arguments: str) -> None:
    heavy = {"numpy", "pandas", "pint", "matplotlib", "reportlab", "yaml", "scipy"}
    program = (
        "import sys\nfrom certgen.cli import main\n"
        f"try: main({arguments.split()!r})\nexcept SystemExit: pass\n"
        f"print('loaded:', *sorted(set(sys.modules) & {heavy!r}))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "loaded:"


def test_a_wrong_job_is_told_without_drawing_anything(jobs: Bench) -> None:
    program = (
        "import sys\nfrom certgen.cli import main\n"
        f"assert main(['check', {BAD!r}]) == 2\n"
        "print(*sorted(set(sys.modules) & {'matplotlib', 'reportlab', 'pandas'}))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout == "\n"


def test_a_refusal_names_its_job(
    jobs: Bench, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(path: Path) -> None:
        raise RefusedTest("every load point gives more than it takes.")

    monkeypatch.setattr("certgen.pipeline.assess_job", refuse)
    assert main(["check", GOOD]) == 2
    assert capsys.readouterr().err == f"{GOOD}: every load point gives more than it takes.\n"


def test_a_refused_test_names_the_unit_that_would_explain_it(jobs: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    """An arm's scale that weighs in pounds, its readings written as kilograms: 2.2046 of it (NIST SP 811, B.8)."""
    path = Path(GOOD)
    pounds = re.sub(
        r"(?m)^(      - \[\s*\d+,\s*)([\d.]+)",
        lambda found: f"{found[1]}{(float(found[2]) + 0.15) * 2.2046:.3f}",
        path.read_text(encoding="utf-8"),
    )
    path.write_text(pounds, encoding="utf-8")
    assert main(["check", GOOD]) == 2
    told = capsys.readouterr().err
    assert told.startswith(f"{GOOD}: every load point gives more shaft power than it takes in")
    assert "Pounds written as kilograms?" in told
    assert len(told.splitlines()) == 1


def test_papers_are_the_same_on_the_command_line_in_a_job_and_on_the_sheet() -> None:
    from certgen.commands.issue import PAPERS as OFFERED
    from certgen.job.model import SHEET_PAPERS
    from certgen.sheet.engine.layout import PAPERS

    assert OFFERED == SHEET_PAPERS == tuple(PAPERS)


def test_check_without_a_job_or_layout_says_what_to_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check"]) == 2
    assert capsys.readouterr().err == "check: name a job file, or a rig, shop, criteria or layout file.\n"


def test_check_layout_tells_what_it_is_or_every_mistake(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text("purpose: record\nrows: [heading, {columns: [[verdict], [footer]]}]\n")
    bad.write_text("rows: [headin]\ntext: {smalest: 5 pt}\nlanguage: deutsch sprache\n")
    assert main(["check", "--layout", str(good)]) == 0
    assert capsys.readouterr().out == f"{good}: a layout of 3 blocks on one page, paper a4 or letter\n"
    assert main(["check", "--layout", str(bad)]) == 2
    told = capsys.readouterr().err.splitlines()
    assert [line.split(": ")[0].removeprefix(str(bad)) for line in told] == [":1:8", ":2:8", ":3:11"]
