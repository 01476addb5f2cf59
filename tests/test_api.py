"""The public names: what they return, how they fail, and that they cost nothing to import."""

from __future__ import annotations

import contextlib
import inspect
import io
import re
import subprocess
import sys
from pathlib import Path

import pytest
from bench import Bench

import certgen
from certgen.results.model import Results

pytestmark = pytest.mark.slow

DOCS = Path(__file__).parent.parent / "docs" / "python.md"


def test_assess_gives_the_results_and_writes_nothing(bench: Bench) -> None:
    job = bench.with_fine_instruments().write()
    before = sorted(Path().rglob("*"))
    results = certgen.assess(job)
    assert isinstance(results, Results)
    assert results.verdict.outcome == "pass"
    assert sorted(Path().rglob("*")) == before


def test_issue_writes_the_page_and_tells_where(bench: Bench) -> None:
    job = bench.write()
    issued = certgen.issue(str(job), results="results.json", paper="letter")
    assert (issued.path, issued.number, issued.new) == (Path("WS-2026-007.pdf"), "WS-2026-007", True)
    assert issued.path.read_bytes().startswith(b"%PDF-")
    assert Path("results.json").exists()
    assert issued.results == certgen.assess(job)
    assert not certgen.issue(job, paper="letter").new


def test_an_archive_keeps_it(bench: Bench) -> None:
    Path("kept").mkdir()
    assert certgen.issue(bench.write(), archive="kept").path == Path("kept/WS-2026-007.pdf")
    with pytest.raises(ValueError, match="not both"):
        certgen.issue("job.yaml", out="x", archive="kept")


def test_a_mistake_is_one_error_with_every_place(bench: Bench) -> None:
    job = bench.write()
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace("1.5 kW", "1.5").replace("poles: 4", "poles: 5"), encoding="utf-8")
    with pytest.raises(certgen.CertgenError) as told:
        certgen.assess(job)
    assert [line.split(": ")[1] for line in str(told.value).splitlines()] == ["nameplate.power", "nameplate.poles"]


@pytest.mark.parametrize("name", [name for name in certgen.__all__ if not name.startswith("_")])
def test_every_public_name_is_documented_and_typed(name: str) -> None:
    public = getattr(certgen, name)
    assert inspect.getdoc(public)
    if inspect.isfunction(public):
        signature = inspect.signature(public)
        assert signature.return_annotation is not inspect.Signature.empty
        for parameter in signature.parameters.values():
            assert parameter.annotation is not inspect.Parameter.empty
            assert parameter.name in (public.__doc__ or "")
    assert (Path(certgen.__file__).parent / "py.typed").exists()


def test_importing_the_package_loads_nothing_heavy() -> None:
    code = (
        "import certgen, sys; print([name for name in ('numpy', 'yaml', 'reportlab', 'pint') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


#: Blocks of the page on Python: the language, and what stands in it.
_BLOCKS = re.compile(r"```(python|text)\n(.*?)```", flags=re.DOTALL)


def test_the_page_on_python_runs_and_prints_what_it_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All its code in one go, as a reader would type it; each output is that of the code before it."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MPLBACKEND", "agg")
    (tmp_path / "example_jobs").symlink_to(DOCS.parent.parent / "example_jobs")
    names: dict[str, object] = {}
    told = None
    for language, text in _BLOCKS.findall(DOCS.read_text(encoding="utf-8")):
        if language == "text":
            assert told == text, text
            continue
        with contextlib.redirect_stdout(io.StringIO()) as printed:
            exec(compile(text, "python.md", "exec"), names)
        told = printed.getvalue()
    assert told is not None
