"""``certgen check``: the same up to the verdict, told in the terminal."""

from __future__ import annotations

import argparse
from pathlib import Path

from certgen.commands.each_job import add_jobs, add_require, each_job

HELP = "the same up to the verdict, told in the terminal; nothing is written"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    add_jobs(command)
    command.add_argument("--budget", action="store_true", help="also print the uncertainty budget at the rated point")
    add_require(command)


def run(options: argparse.Namespace) -> int:
    """Tell the results of every job."""
    from certgen.pipeline import assess_job
    from certgen.terminal import told
    from certgen.terminal_budget import budget_told

    def one(job: Path) -> str:
        assessed = assess_job(job)
        print(told(assessed.results, str(job)))
        if options.budget:
            print(budget_told(assessed.results))
        return assessed.results.verdict.outcome

    return each_job(options, one)
