"""``python -m certgen``, and the ``certgen`` command: signals are heeded before anything is loaded."""

import sys

from certgen.stopping import run_until_stopped


def _command() -> int:
    from certgen.cli import main

    return main()


def run() -> None:
    """Run the command line and end with its status."""
    sys.exit(run_until_stopped(_command))


if __name__ == "__main__":
    run()
