"""``certgen completion``: a script with which a shell completes commands, options and file names."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from pathlib import Path

from certgen.errors import CertgenError

HELP = "a script with which your shell completes commands and options"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("shell", choices=("bash", "zsh", "tcsh", "fish", "powershell"), help="which shell")


def run(options: argparse.Namespace) -> int:
    """Print the script; ``options.command_line`` is the parser of the whole command line."""
    parser: argparse.ArgumentParser = options.command_line
    if options.shell == "fish":
        print("\n".join(fish(parser)))
        return 0
    if options.shell == "powershell":
        print(powershell(parser))
        return 0
    try:
        import shtab
    except ImportError:
        raise CertgenError("completion needs an extra: install it with pip install 'certgen[completion]'.") from None

    for action in _actions(parser):
        if action.type is Path or action.metavar == "PATH":
            action.complete = shtab.FILE  # type: ignore[attr-defined]
    print(shtab.complete(parser, options.shell))
    return 0


def _actions(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """Every argument of a parser and of its commands."""
    for action in parser._actions:  # argparse has no public list of them
        yield action
        if isinstance(action, argparse._SubParsersAction):
            for inner in action.choices.values():
                yield from _actions(inner)


def _commands(
    parser: argparse.ArgumentParser, path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], argparse.ArgumentParser]]:
    """A parser with the words that lead to it, and every one below it."""
    yield path, parser
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for name, inner in action.choices.items():
                yield from _commands(inner, (*path, name))


def _inner(parser: argparse.ArgumentParser) -> dict[str, str]:
    """The commands of a parser, each with its help."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            helps = {one.dest: one.help or "" for one in action._choices_actions}
            return {name: helps.get(name, "") for name in action.choices}
    return {}


# A script for fish. Source: the manual page complete(1) of fish.


def fish(parser: argparse.ArgumentParser) -> Iterator[str]:
    """Lines of a script for fish."""
    yield "complete -c certgen -e"
    for path, one in _commands(parser):
        inner = _inner(one)
        here = [f"__fish_seen_subcommand_from {word}" for word in path]
        if inner:
            apart = [*here, f"not __fish_seen_subcommand_from {' '.join(inner)}"]
            for name, about in inner.items():
                yield f"complete -c certgen -f -n {_quoted('; and '.join(apart))} -a {name} -d {_quoted(about)}"
        elif path:
            yield from (_fish_option(action, "; and ".join(here)) for action in one._actions if action.option_strings)


def _fish_option(action: argparse.Action, condition: str) -> str:
    parts = ["complete -c certgen", f"-n {_quoted(condition)}" if condition else ""]
    for option in action.option_strings:
        parts.append(f"-l {option[2:]}" if option.startswith("--") else f"-s {option[1:]}")
    if action.choices is not None:
        parts.append(f"-x -a {_quoted(' '.join(map(str, action.choices)))}")
    elif action.nargs != 0:
        parts.append("-r")
    parts.append(f"-d {_quoted(_first_words(action))}")
    return " ".join(part for part in parts if part)


def _first_words(action: argparse.Action) -> str:
    return re.split(r"[;(:]", action.help or "")[0].strip()


def _quoted(text: str) -> str:
    """A word in single quotes, as fish reads them."""
    return "'" + text.replace("\\", "\\\\").replace("'", "\\'") + "'"


# A script for PowerShell. Source: its reference, Register-ArgumentCompleter.


_POWERSHELL = """\
Register-ArgumentCompleter -Native -CommandName certgen -ScriptBlock {{
    param($wordToComplete, $commandAst, $cursorPosition)
    $known = @{{
{known}
    }}
    $path = ''
    foreach ($element in $commandAst.CommandElements | Select-Object -Skip 1) {{
        $word = "$element"
        $next = ($path + ' ' + $word).Trim()
        if ($word -ne $wordToComplete -and $known.ContainsKey($next)) {{ $path = $next }}
    }}
    $known[$path] | Where-Object {{ $_ -like "$wordToComplete*" }} | ForEach-Object {{
        [System.Management.Automation.CompletionResult]::new($_, $_, 'ParameterValue', $_)
    }}
}}"""


def powershell(parser: argparse.ArgumentParser) -> str:
    """A script for PowerShell; files are completed by the shell itself."""
    lines = []
    for path, one in _commands(parser):
        words = [*_inner(one), *(option for action in one._actions for option in action.option_strings)]
        listed = ", ".join(f"'{word}'" for word in words)
        lines.append(f"        '{' '.join(path)}' = @({listed})")
    return _POWERSHELL.format(known="\n".join(lines))
