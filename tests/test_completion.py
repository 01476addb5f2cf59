"""The shell completes what the command line knows."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from certgen.cli import main


def completed(words: str, script: str, folder: Path) -> set[str]:
    """What bash offers for the last of the words."""
    asked = f"""
{script}
COMP_WORDS=({words}); COMP_CWORD=$(( ${{#COMP_WORDS[@]}} - 1 )); COMP_LINE="{words}"; COMP_POINT=${{#COMP_LINE}}
_shtab_certgen certgen "${{COMP_WORDS[COMP_CWORD]}}" "${{COMP_WORDS[COMP_CWORD-1]}}" 2>/dev/null
printf '%s\\n' "${{COMPREPLY[@]}}"
"""
    done = subprocess.run(["bash", "--norc", "-c", asked], cwd=folder, capture_output=True, text=True, check=True)
    return set(done.stdout.split())


@pytest.mark.skipif(shutil.which("bash") is None, reason="needs bash")
def test_bash_completes_commands_options_and_choices(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", "bash"]) == 0
    script = capsys.readouterr().out
    assert {"issue"} <= completed("certgen iss", script, tmp_path)
    assert {"--paper", "--units"} <= completed("certgen issue --", script, tmp_path)
    assert completed("certgen issue --paper le", script, tmp_path) == {"letter"}
    (tmp_path / "job.yaml").touch()
    assert completed("certgen issue jo", script, tmp_path) == {"job.yaml"}


@pytest.mark.parametrize("shell", ["zsh", "tcsh"])
def test_other_shells_have_a_script(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    assert "issue" in capsys.readouterr().out
