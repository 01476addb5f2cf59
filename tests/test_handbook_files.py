"""Every file, key, command and option written in the handbook is one the program knows."""

from __future__ import annotations

import argparse
import dataclasses
import inspect
import re
from pathlib import Path

import pytest
import yaml
from handbook_pages import DOCS, NAMES, ROOT, TOLD, Block, blocks

from certgen.cli import command_line
from certgen.document.build import Reader
from certgen.document.source import Problems, parse
from certgen.document.vocabulary import keys_of
from certgen.job.model import Job
from certgen.job.rig import Rig
from certgen.job.shop import ShopFile
from certgen.messages.catalogue import catalogue
from certgen.results import model as log_results
from certgen.results import model as results
from certgen.results.model import OUTCOMES
from certgen.sheet.content import FLAG_SIGNS
from certgen.sheet.engine.layout import Layout
from certgen.sheet.language_file import load_language
from certgen.standards.criteria import CriteriaSet

pytestmark = pytest.mark.slow

#: Every key of job, rig, layout and criteria as a path, as the generated pages list them.
KEYS = {
    path.replace("[]", "")
    for name in ("job_and_rig_files.md", "layout_files.md", "criteria.md")
    for path in re.findall(r"^\| `([a-z_.\[\]0-9]+)` \|", (DOCS / name).read_text(encoding="utf-8"), re.MULTILINE)
}
#: Names in results.json, and what a file's name may end in.
RESULT_NAMES = {
    field.name
    for module in (results, log_results)
    for _, found in inspect.getmembers(module, dataclasses.is_dataclass)
    for field in dataclasses.fields(found)
}
ENDINGS = {
    "md",
    "py",
    "yaml",
    "json",
    "csv",
    "pdf",
    "xls",
    "xlsx",
    "ods",
    "txt",
    "log",
    "png",
    "sqlite3",
    "p12",
    "pfx",
    "crt",
}
#: Page and first key of a snippet -> the key of the job it stands below.
BELOW = {("assessment.md", "hot"): "readings.winding", ("readings.md", "load_test"): "readings"}
#: No command, although it looks like one: how the code on a tag begins.
FIRST_LINE_OF_A_CODE = "tag 2"
#: What a table needs beside the keys that make it a log.
TABLE = "columns: {time: s, speed: rpm, scale: kg}\nrows: [[0, 1400, 1]]\n"


def model_of(keys: set[str]) -> type | None:
    """What kind of file has all these keys at its top."""
    return next((of for of in (Job, Rig, Layout, CriteriaSet, ShopFile) if keys <= keys_of(of).keys()), None)


def placed(text: str, below: str) -> str:
    """A snippet below the key of a file it stands under."""
    for key in reversed(below.split(".") if below else []):
        text = f"{key}:\n" + "".join(f"  {line}\n" for line in text.splitlines())
    return text


def mistakes(text: str, name: str, folder: Path) -> list[str]:
    """What the program would find wrong with a part of a file; what the part leaves out is no mistake."""
    if text.startswith("writing.language"):
        (folder / name).write_text(text, encoding="utf-8")
        problems = Problems()
        load_language(folder / name, name, problems)
        return [str(problem) for problem in problems.found]
    of = model_of(set(yaml.load(text, Loader=yaml.BaseLoader)))
    if of is None:
        return [f"{name}: these keys stand together at the top of no file of the program"]
    problems = Problems()
    root = parse(text, name, problems)
    assert root is not None
    Reader(name, folder, problems).group(of, root)
    return [str(problem) for problem in problems.found if "this key is missing" not in str(problem)]


@pytest.mark.parametrize(
    ("name", "block"),
    [
        pytest.param(name, block, id=f"{name}-line-{block.line}")
        for name in NAMES
        for block in blocks(name)
        if block.kind == "yaml"
    ],
)
def test_every_file_written_out_is_read_without_a_mistake(name: str, block: Block, tmp_path: Path) -> None:
    """Keys, values and units are those of the program."""
    below = BELOW.get((name, block.text.split(":", 1)[0]), "")
    assert mistakes(placed(block.text, below), name, tmp_path) == []


def within_sentences(page: Path) -> list[str]:
    """What stands in a page's sentences as code."""
    prose = re.sub(r"^```.*?^```$", "", page.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    return re.findall(r"`([^`\n]+)`", prose)


@pytest.mark.parametrize("page", TOLD, ids=lambda page: page.name)
def test_keys_within_sentences_are_keys(page: Path, tmp_path: Path) -> None:
    """A key with braces behind it is read, wherever in a job or rig it may stand; a path of keys exists."""
    places = {path.rpartition(".")[0] for path in KEYS}
    suffixes = {path.split(".", cut)[-1] for path in KEYS for cut in range(path.count(".") + 1)}
    for code in within_sentences(page):
        if re.fullmatch(r"\w+: \{[^<>]*\}", code) and ".." not in code:
            snippet = TABLE + code if code.startswith(("steady:", "sweep:")) else code
            assert any(not mistakes(placed(snippet, place), page.name, tmp_path) for place in places), code
        path = re.fullmatch(r"([a-z_]+(?:\.[a-z_0-9]+)+)(?:: .*)?", code)
        if path and path[1].rpartition(".")[2] not in ENDINGS and not path[1].startswith("pandas."):
            known = path[1] in suffixes or path[1] in catalogue()
            assert known or set(path[1].split(".")) <= RESULT_NAMES, code


@pytest.mark.parametrize("page", TOLD, ids=lambda page: page.name)
def test_commands_named_in_a_sentence_exist_with_their_options(page: Path) -> None:
    (commands_of,) = (one for one in command_line()._actions if isinstance(one, argparse._SubParsersAction))
    for named in re.findall(r"`certgen ([a-z][^`]*)`", page.read_text(encoding="utf-8")):
        if named == FIRST_LINE_OF_A_CODE:
            continue
        command, *words = named.split()
        parser = commands_of.choices[command]
        actions = [one for one in parser._actions if isinstance(one, argparse._SubParsersAction)]
        if actions and words and words[0] in actions[0].choices:
            parser = actions[0].choices[words[0]]
        unknown = {word for word in words if word.startswith("--")} - parser._option_string_actions.keys()
        assert not unknown, f"certgen {named}"


@pytest.mark.parametrize("name", NAMES)
def test_a_block_says_what_it_is(name: str) -> None:
    kinds = re.findall(r"^```(\w*)$", (DOCS / name).read_text(encoding="utf-8"), flags=re.MULTILINE)[::2]
    assert set(kinds) <= {"sh", "text", "yaml", "python"}


def test_reading_the_page_names_all_that_may_stand_on_it() -> None:
    page = (DOCS / "reading_the_page.md").read_text(encoding="utf-8")
    for outcome in OUTCOMES:
        assert f"**{outcome.capitalize()}**" in page
    for sign in FLAG_SIGNS.values():
        assert f"| {sign} |" in page
    layout = yaml.safe_load((ROOT / "layouts" / "certificate.yaml").read_text(encoding="utf-8"))
    in_other_words = {"torque_chart", "load_chart", "footer", "heading", "signature"}
    for name, settings in layout["blocks"].items():
        assert name in in_other_words or settings["title"] in page, settings["title"]
