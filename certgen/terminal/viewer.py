"""A finished page shown by the viewer that the system has for such files."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from certgen.errors import visible
from certgen.messages.catalogue import Message, text_of
from certgen.messages.format import SI, Units

#: By the name of a system (``sys.platform``): the programs that open a file with what is set for its kind.
#: Sources: the manual pages open(1) of macOS; xdg-open(1) of xdg-utils, gio(1) of GLib.
_OPENERS = {"darwin": (("open",),)}
_ELSEWHERE = (("xdg-open",), ("gio", "open"))


def show(path: Path, units: Units | None = None) -> bool:
    """Open a file with the system's viewer; where there is none, say where the file is, and return whether it was shown.

    Nothing is waited for: the viewer stays when this program ends.
    """
    try:
        if sys.platform == "win32":
            os.startfile(path)
            return True
        command = opener(sys.platform)
        if command is not None:
            shown = subprocess.Popen(
                [*command, str(path.resolve())],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
            shown.returncode = 0  # nobody waits for it
            return True
    except OSError:
        pass
    print(text_of(Message("terminal.no_viewer", path=visible(str(path))), units=units or SI), file=sys.stderr)
    return False


def opener(platform: str) -> list[str] | None:
    """The command that opens a file on this system, or ``None`` where none is installed."""
    for command in _OPENERS.get(platform, _ELSEWHERE):
        found = shutil.which(command[0])
        if found is not None:
            return [found, *command[1:]]
    return None
