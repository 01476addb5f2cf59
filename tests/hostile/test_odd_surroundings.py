"""The real command where clock, language, home, terminal and streams are not what they should be: the same bytes."""

from __future__ import annotations

import os
import pty
import struct
import subprocess
import termios
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from fcntl import ioctl
from pathlib import Path

import pytest
from bench import FILES, Bench
from running import PATIENCE, Surroundings

pytestmark = pytest.mark.slow

JOB = str(FILES["job"])
PAGE = "WS-2026-007.pdf"
Issued = Callable[[], bytes]

#: Runs the command at another time: the first argument, in seconds since 1970.
AT_ANOTHER_TIME = """
import sys, time_machine
with time_machine.travel(float(sys.argv.pop(1))):
    from certgen.cli import main
    sys.exit(main())
"""
PLACES = ("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "MPLCONFIGDIR", "TMPDIR")
NO_PLACE = dict.fromkeys(PLACES, "/nonexistent")
PLAIN_SIGNS = {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}


def below() -> set[str]:
    return {str(path) for path in Path().rglob("*") if path.is_file()}


@pytest.mark.parametrize(
    "environment",
    [
        pytest.param({}, id="nothing set"),
        pytest.param(NO_PLACE, id="no home, no place for caches"),
        pytest.param(PLAIN_SIGNS, id="ASCII only"),
        pytest.param({"TZ": "Mars/Olympus_Mons", "TERM": "none", "COLUMNS": "1", "LINES": "0"}, id="odd zone, no room"),
    ],
)
def test_the_same_page_in_any_environment(shop: Bench, as_issued: Issued, environment: Mapping[str, str]) -> None:
    before = below()
    done = Surroundings(environment).run("issue", JOB)
    assert (done.returncode, done.stdout, done.stderr) == (0, f"{PAGE}: conditional pass\n", "")
    assert Path(PAGE).read_bytes() == as_issued()
    assert below() - before == {PAGE}


def test_the_same_page_and_words_where_decimals_are_written_with_a_comma(
    shop: Bench, as_issued: Issued, german: Mapping[str, str]
) -> None:
    code = "import locale, sys; locale.setlocale(locale.LC_ALL, ''); assert locale.str(1.5) == '1,5'\n"
    done = Surroundings(german, code=f"{code}from certgen.cli import main; sys.exit(main())").run("issue", JOB)
    assert (done.returncode, done.stderr) == (0, "")
    assert Path(PAGE).read_bytes() == as_issued()


@pytest.mark.parametrize(("year", "zone"), [(1980, "Asia/Kathmandu"), (2100, "<+99>-99")])
def test_a_wrong_clock_changes_no_page_and_stops_no_register(
    shop: Bench, as_issued: Issued, year: int, zone: str
) -> None:
    away = Surroundings({"TZ": zone}, code=AT_ANOTHER_TIME)
    at = str(datetime(year, 1, 2, tzinfo=UTC).timestamp())
    assert away.run(at, "issue", JOB, "--archive", ".").returncode == 0
    assert Path(PAGE).read_bytes() == as_issued()
    exported = Surroundings().run("register", "export")  # when the clock is right again
    assert (exported.returncode, exported.stderr) == (0, "")
    assert exported.stdout.endswith(f",{year}-01-02T00:00:00+00:00\n")


def test_closed_streams_lose_the_talk_and_nothing_else(shop: Bench, as_issued: Issued) -> None:
    """The page is no place for the talk, though its file is the next to be opened."""
    done = Surroundings(closed=(0, 1, 2)).run("issue", JOB)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert Path(PAGE).read_bytes() == as_issued()
    done = Surroundings(closed=(2,)).run("check", "absent.yaml")
    assert (done.returncode, done.stdout) == (2, "")


def test_a_terminal_of_one_sign_shows_the_progress_and_all_that_is_told(shop: Bench) -> None:
    Path("motor/second.yaml").write_text(shop.texts["job"].replace("WS-2026-007", "WS-2026-008"), encoding="utf-8")
    ours, theirs = pty.openpty()
    ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 1, 1, 0, 0))
    dumb = Surroundings({"TERM": "dumb"})
    command = dumb.command("issue", "motor", "--workers", "1")
    process = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, env=dumb.all)
    os.close(theirs)
    shown = _until_closed(ours)
    assert process.wait(PATIENCE) == 0
    assert b"1 of 2" in shown
    assert b"WS-2026-008.pdf: conditional pass\r\n" in shown
    assert b"Traceback" not in shown


def _until_closed(terminal: int) -> bytes:
    shown = b""
    while True:
        try:
            part = os.read(terminal, 4096)
        except OSError:
            part = b""
        if not part:
            os.close(terminal)
            return shown
        shown += part


def test_help_has_room_on_the_narrowest_terminal() -> None:
    done = Surroundings({"COLUMNS": "1"}).run("register", "find", "--help")
    assert (done.returncode, done.stderr) == (0, "")
    assert "certificate" in done.stdout
