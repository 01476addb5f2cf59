"""The exceptions a person can meet, each with the exit status of the command that met it.

CertgenError
├── InputError      a job, rig, readings, criteria or layout file is wrong: every problem found, exit 2
├── RefusedTest     the readings contradict physics, so no certificate is issued, exit 2
├── NoNumber        a certificate is to be issued and nothing gives it a number, exit 2
├── PageOverflow    the content does not fit one page within the layout's limits, exit 2
├── Unexpected      the program itself failed at one job; it asks for a report, exit 2
├── WrongPaper      the layout is not made for the paper asked for, exit 2
└── AlreadyIssued   a file of that name exists and differs; it is left as it is, exit 2
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

#: Mistakes reported at once: a file of another kind given by mistake would have one in every cell.
MOST_REPORTED = 100


@dataclass(frozen=True, order=True)
class Problem:
    """One mistake in a file of the user's: where it stands, what is wrong, what to write instead."""

    file: str
    line: int
    column: int
    what: str
    instead: str

    def __str__(self) -> str:
        """One paragraph, the place first."""
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return visible(f"{place}: {self.what}; {self.instead}.")


def visible(text: str) -> str:
    """A text on one line: signs that move the cursor, break the line or cannot be seen stand as escapes."""
    return "".join(one if one.isprintable() else one.encode("unicode_escape").decode("ascii") for one in text)


class CertgenError(Exception):
    """Something a person can put right; printed without a traceback."""

    exit_code = 2
    names_its_file = True  # else whoever prints it puts the job's name before it

    def __str__(self) -> str:
        """The message, whatever it quotes shown as it is."""
        return "\n".join(visible(line) for line in super().__str__().split("\n"))


class InputError(CertgenError):
    """The files given cannot be used as written."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        reported = [str(problem) for problem in self.problems[:MOST_REPORTED]]
        if len(self.problems) > MOST_REPORTED:
            reported.append("There are more mistakes than these; mend these first.")
        super().__init__("\n".join(reported))


class RefusedTest(CertgenError):
    """The readings as a whole cannot be true, so nothing is certified."""

    names_its_file = False


class NoNumber(CertgenError):
    """Neither the job nor a register gives the certificate its number."""

    names_its_file = False


class PageOverflow(CertgenError):
    """The content needs more room than the page has."""

    names_its_file = False


class WrongPaper(CertgenError):
    """The layout is not made for the paper asked for."""

    names_its_file = False


class AlreadyIssued(CertgenError):
    """A certificate of that name exists and is not the same."""


class Unexpected(CertgenError):
    """The program failed in a way nobody foresaw: a fault of its own, reported as the outcome of one job.

    Attributes
    ----------
    details : str
        The trace that leads to the fault.
    """

    names_its_file = False

    def __init__(self, cause: BaseException) -> None:
        import traceback

        steps = traceback.extract_tb(cause.__traceback__)
        where = f" in {steps[-1].name}, line {steps[-1].lineno}" if steps else ""
        super().__init__(
            f"the program failed here ({type(cause).__name__}{where}), which is its own fault; please report this "
            "with the files of the job, and with what 'certgen -v' prints besides."
        )
        self.details = "".join(traceback.format_exception(cause))
