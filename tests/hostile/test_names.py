"""Names and texts made to mislead: drawn letter by letter, shown as escapes, or told."""

from __future__ import annotations

import io
import os
from pathlib import Path

import pytest
from bench import Bench
from pypdf import PdfReader

from certgen.cli import main
from certgen.issuing.certificate import draw_job
from certgen.issuing.layouts import SheetOptions

pytestmark = pytest.mark.slow

_KEYS = ("certificate.tested_by", "motor.serial", "certificate.shop.name", "certificate.number")
_TEXTS = dict(zip(_KEYS, ("R. Tanner", "0048117", "Weir Street Bench", "WS-2026-007"), strict=True))


@pytest.mark.parametrize(
    "text",
    ["<b>x</b>", "&lt;&#65;", "%s%n{0}{x!r}", "$HOME `id`", r"\N{BULLET}\x41", "{page} ${x}", "a<br/>b", "(a) Tj ET Q"],
)
def test_markup_and_commands_are_letters(shop: Bench, text: str) -> None:
    job = shop.edit("job", {"R. Tanner": f"'{text}'", "0048117": f"'{text}'"}).write()
    page = PdfReader(io.BytesIO(draw_job(job, SheetOptions()).document)).pages[0].extract_text()
    assert page.count(text) >= 2


@pytest.mark.parametrize("key", _KEYS)
@pytest.mark.parametrize(
    ("sign", "told"),
    [
        ("\u202e", "the control character U+202E; remove it."),
        ("\u200f", "the control character U+200F; remove it."),
        ("\u2066", "the control character U+2066; remove it."),
        ("\ufeff", "the control character U+FEFF; remove it."),
        ("\\x1b[2J", "the control character U+001B; remove it."),
        ("x" * 10_000, "characters; shorten it to "),
        ("\u0301" * 10_000, "characters; shorten it to "),
    ],
)
def test_signs_that_turn_or_hide_text_and_texts_without_end_are_told(
    shop: Bench, capsys: pytest.CaptureFixture[str], key: str, sign: str, told: str
) -> None:
    shop.edit("job", {_TEXTS[key]: f'"a{sign}b"'}).write()
    assert main(["check", "motor/job.yaml"]) == 2
    shown = capsys.readouterr()
    assert f": {key}: the text h" in shown.err
    assert told in shown.err
    assert shown.err.count("\n") == 1
    assert shown.err.removesuffix("\n").isprintable()
    assert shown.out == ""


@pytest.mark.parametrize(
    "name", [b"\x1b[31mred.yaml", b"\xff\xfe.yaml", "\u202elmay.yaml".encode(), b"two\nlines.yaml"]
)
def test_a_file_name_made_to_mislead_is_shown_as_escapes_everywhere(
    shop: Bench, capfd: pytest.CaptureFixture[str], name: bytes
) -> None:
    """On the terminal, on the page and in the results; what is enclosed has a plain name or is refused."""
    job = os.fsdecode(b"motor/" + name)
    Path("motor/job.yaml").rename(job)
    assert main(["check", "motor"]) == 0
    assert _shown_as_it_is(capfd)
    status = main(["issue", job, "--out", "page.pdf", "--results", "results.json"])
    assert status in (0, 2)
    assert _shown_as_it_is(capfd)
    assert Path("page.pdf").exists() == (status == 0)
    Path(job).write_text("motor: 1\n", encoding="utf-8")
    assert main(["check", job]) == 2
    assert _shown_as_it_is(capfd)


def _shown_as_it_is(capfd: pytest.CaptureFixture[str]) -> bool:
    shown = capfd.readouterr()
    return all(line.isprintable() for line in (shown.out + shown.err).split("\n")) and "Traceback" not in shown.err


def test_a_name_longer_than_file_systems_take_is_told(shop: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "x" * 5000]) == 2
    assert "File name too long" in capsys.readouterr().err
    assert main(["issue", "motor/job.yaml", "--out", "x" * 300]) == 2
    assert "File name too long" in capsys.readouterr().err
