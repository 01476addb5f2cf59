"""The layouts written out in the handbook are read without a mistake and make a sound page."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from bench import ARM_RIG, JOB
from sheet.geometry import assert_sound
from sheet.results_factory import make_results

from certgen.cli import main
from certgen.sheet.blocks.code import FIRST_LINE, code_text
from certgen.sheet.content import Content, Digest
from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "sheets.md").read_text(encoding="utf-8")
LAYOUTS = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)


def test_there_are_layouts_in_the_handbook() -> None:
    assert len(LAYOUTS) == 2


@pytest.mark.parametrize("text", LAYOUTS, ids=["nested", "other-words"])
def test_layout_of_the_handbook_works(layout_from: Callable[[str], tuple[Layout | None, list[str]]], text: str) -> None:
    layout, mistakes = layout_from(text)
    assert mistakes == []
    assert layout is not None
    page = compose(make_results(), layout, paper="a4", units="si")
    assert page.left_out == ()
    assert_sound(page, layout)


COMMANDS = [line for block in re.findall(r"```sh\n(.*?)```", PAGE, re.DOTALL) for line in block.splitlines()]


def test_the_commands_of_the_page_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "example_jobs").symlink_to(ROOT / "example_jobs")
    shutil.copy(ROOT / "layouts" / "certificate.yaml", "ours.yaml")
    Path("rig.yaml").write_text(ARM_RIG, encoding="utf-8")
    Path("job.yaml").write_text(JOB.replace("../rigs/rig.yaml", "rig.yaml"), encoding="utf-8")
    assert len(COMMANDS) == 4
    for command in COMMANDS:
        program, *arguments = shlex.split(command)
        assert program == "certgen"
        assert main(arguments) == 0
    for made in ("WS-2026-007.pdf", "PMB-2026-0041-tag.pdf", "motors.pdf"):
        assert Path(made).is_file()


def test_the_lines_of_the_code_are_those_the_page_tells() -> None:
    told = re.findall(r"^\| ((?:`[\w -]+` ?)+)\|", PAGE, re.MULTILINE)
    words = [word for row in told for word in re.findall(r"`([\w-]+)", row)]
    for digest in (Digest("pdf", "0" * 64), Digest("results", "0" * 64)):
        results = make_results()
        revised = replace(results, certificate=replace(results.certificate, revision=2))
        lines = [line.split(" ")[0] for line in code_text(Content(revised, digest=digest)).splitlines()]
        assert lines == [word for word in words if not word.endswith("sha256") or word.startswith(digest.of)]
    assert code_text(Content(make_results())).splitlines()[0] == FIRST_LINE
    assert f"`{FIRST_LINE}`" in PAGE
