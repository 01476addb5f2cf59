"""The catalogue and the program belong together: every key is used, every place is filled, no sentence stands elsewhere."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import certgen
from certgen.job.model import MOTOR_TYPES
from certgen.messages.catalogue import catalogue, places_of
from certgen.sheet.engine.layout import layout_folder
from certgen.sheet.words import ON_PAGE

pytestmark = pytest.mark.slow

PACKAGE = Path(certgen.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))
#: What makes a message, or a text of a page, of a key.
MAKERS = {"Message", "words"}


@cache
def tree_of(module: Path) -> ast.Module:
    return ast.parse(module.read_text(encoding="utf-8"))


@cache
def nodes_of(scope: ast.AST) -> tuple[ast.AST, ...]:
    """Every node of a module or a part of one; they are asked for many times over."""
    return tuple(ast.walk(scope))


def _patterns(tree: ast.AST) -> Iterator[str]:
    """Every text constant, and every text with gaps as a pattern: a gap stands for one or more parts of a key."""
    for node in nodes_of(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield re.escape(node.value)
        elif isinstance(node, ast.JoinedStr):
            parts = (
                re.escape(str(part.value)) if isinstance(part, ast.Constant) else r"[a-z_0-9.]+" for part in node.values
            )
            pattern = "".join(parts)
            if re.match(r"[a-z_]+\\\.", pattern):
                yield pattern


def used_keys() -> set[str]:
    """Keys that stand in the code, whole or made of parts, or in a shipped table."""
    patterns = {pattern for module in MODULES for pattern in _patterns(tree_of(module))}
    texts = [table.read_text(encoding="utf-8") for table in PACKAGE.rglob("*.yaml") if table.parent.name != "messages"]
    tables = {word.strip(".") for text in texts for word in re.findall(r"[a-z_0-9.]+", text)}
    whole = {re.sub(r"\\(.)", r"\1", pattern) for pattern in patterns if "[a-z_0-9.]+" not in pattern}
    made = re.compile("|".join(sorted(pattern for pattern in patterns if "[a-z_0-9.]+" in pattern)))
    shipped = {*_shipped_titles(), *MOTOR_TYPES}
    said = "\n".join(texts)
    return {
        key
        for key, text in catalogue().items()
        if key in whole
        or key in tables
        or made.fullmatch(key)
        or (key.startswith(("title.", "table.")) and (text in shipped or text in said))
        or (key.endswith(ON_PAGE) and key.removesuffix(ON_PAGE) in catalogue())
    }


def _shipped_titles() -> set[str]:
    """The titles of the shipped layouts, which are English in their files and said by their keys."""
    layouts = "\n".join(layout.read_text(encoding="utf-8") for layout in layout_folder().glob("*.yaml"))
    return set(re.findall(r"title: ([^,}']+)", layouts))


def test_every_key_is_used() -> None:
    assert sorted(catalogue().keys() - used_keys()) == []


def _calls() -> Iterator[tuple[str, ast.Call]]:
    for module in MODULES:
        for node in nodes_of(tree_of(module)):
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                name = ast.unparse(node.func).split(".")[-1]
                if name in MAKERS and isinstance(node.args[0].value, str):
                    yield f"{module.relative_to(PACKAGE)}:{node.lineno}", node


def test_every_key_that_is_asked_for_is_there() -> None:
    missing = [(place, key) for place, node in _calls() if (key := _key(node)) not in catalogue()]
    assert missing == []


def test_every_place_is_filled_and_nothing_else_is_given() -> None:
    wrong = []
    for place, node in _calls():
        given = {word.arg for word in node.keywords}
        if None in given:
            continue
        places = set(places_of(catalogue()[_key(node)]))
        # A text that is handed on as a template is asked for without values.
        if given != places and (given or ast.unparse(node.func).endswith("Message")):
            wrong.append((place, _key(node), sorted(map(str, given ^ places))))
    assert wrong == []


def _key(node: ast.Call) -> str:
    constant = node.args[0]
    assert isinstance(constant, ast.Constant)
    return str(constant.value)


# No module outside messages/ holds a sentence about a motor.


#: Rooms that speak by errors alone: of the user's files and what their keys mean, or of an argument.
SPEAK_BY_ERRORS = (
    "document",
    "job",
    "readings",
    "physics",
    "standards/criteria.py",
    "errors.py",
    "units.py",
    "streams.py",
)
#: So many words in a row are a sentence, or begin one.
_LEAST_WORDS = 4
_SENTENCE = re.compile(rf"[A-Za-z][a-z'-]*(?:,? (?:[a-z][a-z'-]*|_)){{{_LEAST_WORDS - 1}}}")
#: Calls whose texts are about a file, a layout or the command line, or for the database; exceptions are told by their
#: ending. Besides them, everything imported from the room that reads files is such a call.
_ABOUT_FILES = re.compile(
    r"\b(\w*(Error|Refused|Overflow|Problem)|BlockKind|add_argument|add_parser|add_action|\w*wrong\w*|unknown|note|execute"
    r"|executescript|passphrase_from|re\.compile)$"
)
#: Constants that hold help, a statement for the database, advice in an error, or what a file is worth.
_OWN_NAMES = re.compile(r"^(HELP|_TABLES|_[A-Z_]*(ADVICE|WARNING|CAUTION|DESCRIPTION|EXAMPLE|COPYRIGHT))$")


def _sentences(tree: ast.Module, said_in_errors: frozenset[str] = frozenset()) -> Iterator[ast.expr]:
    """Texts of four words or more, a gap counted as a word, but for docstrings and what is about a file."""
    waiting: list[tuple[ast.AST, frozenset[str]]] = [(tree, frozenset(_file_words(tree)))]
    while waiting:
        node, names = waiting.pop()
        if isinstance(node, (ast.FunctionDef, ast.Module)):
            if isinstance(node, ast.FunctionDef) and node.name in said_in_errors:
                continue
            names |= _named_in(node, names) | (said_in_errors if isinstance(node, ast.Module) else frozenset())
        if _about_a_file(node, names):
            continue
        if isinstance(node, (ast.Constant, ast.JoinedStr)) and _is_sentence(_text(node)):
            yield node
        if not isinstance(node, ast.Constant):
            waiting += [(inner, names) for inner in ast.iter_child_nodes(node) if not _part_of(node, inner)]


def _is_sentence(text: str) -> bool:
    """Signs of units in a row are none."""
    found = _SENTENCE.search(text)
    return found is not None and re.search("[a-z]{4}", found[0]) is not None


def _text(node: ast.Constant | ast.JoinedStr) -> str:
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else ""
    return "".join(str(part.value) if isinstance(part, ast.Constant) else "_" for part in node.values)


def _part_of(node: ast.AST, inner: ast.AST) -> bool:
    """Whether a text is a piece of one with gaps, which is looked at as a whole."""
    return isinstance(node, ast.JoinedStr) and isinstance(inner, ast.Constant)


def _file_words(tree: ast.Module) -> Iterator[str]:
    """Names that a module takes from the room that reads files."""
    for node in nodes_of(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("certgen.document"):
            yield from (name.asname or name.name for name in node.names)


@cache
def _called(node: ast.Call) -> str:
    return ast.unparse(node.func)


def _about_a_file(node: ast.AST, names: frozenset[str]) -> bool:
    """Docstrings, what is raised, texts of files and of the command line, and what is handed to these by name."""
    match node:
        case ast.Raise() | ast.Assert() | ast.Expr(value=ast.Constant()):
            return True
        case ast.Call():
            called = _called(node)
            return called in names or bool(_ABOUT_FILES.search(called))
        case ast.ClassDef(bases=[ast.Name(id=base)]):
            return base.endswith(("Error", "Exception"))
        case (
            ast.Assign(targets=[ast.Name(id=name), *_])
            | ast.AnnAssign(target=ast.Name(id=name))
            | ast.NamedExpr(target=ast.Name(id=name))
        ):
            return name in names or bool(_OWN_NAMES.search(name))
    return False


@cache
def _names_within(node: ast.AST) -> frozenset[str]:
    return frozenset(inner.id for inner in ast.walk(node) if isinstance(inner, ast.Name))


@cache
def _that_may_speak(scope: ast.AST) -> tuple[ast.AST, ...]:
    kinds = (ast.Raise, ast.Call, ast.ClassDef, ast.Assign, ast.AnnAssign, ast.NamedExpr)
    return tuple(node for node in nodes_of(scope) if isinstance(node, kinds))


def _named_in(scope: ast.AST, names: frozenset[str]) -> set[str]:
    """Names that are handed to what is raised or said of a file, in one step or several."""
    handed: set[str] = set()
    while True:
        known = names | handed
        speaking = (node for node in _that_may_speak(scope) if _about_a_file(node, known))
        found = set().union(*map(_names_within, speaking))
        if found <= handed:
            return handed
        handed |= found


def _said_in_errors() -> frozenset[str]:
    """Names that stand in what is raised, in whatever module: functions and constants of these names belong to it."""
    scopes = (
        scope
        for module in MODULES
        for scope in nodes_of(tree_of(module))
        if isinstance(scope, (ast.FunctionDef, ast.Module))
    )
    return frozenset(name for scope in scopes for name in _named_in(scope, frozenset()))


def test_no_module_outside_messages_holds_a_sentence_about_a_motor() -> None:
    elsewhere = (*SPEAK_BY_ERRORS, "messages")
    searched = [module for module in MODULES if not module.relative_to(PACKAGE).as_posix().startswith(elsewhere)]
    raised = _said_in_errors()
    here = [
        f"{module.relative_to(PACKAGE)}:{node.lineno}: {ast.unparse(node)}"
        for module in searched
        for node in _sentences(tree_of(module), raised)
    ]
    assert here == []


def test_the_search_for_sentences_sees_those_of_a_motor_and_no_others() -> None:
    source = '''
"""A docstring is no sentence of the program."""
def judged(name):
    """Nor is the docstring of a function."""
    if not name:
        wrong = "the name of the motor is missing here"
        raise ValueError(wrong)
    yield "The rig drifts, or the motor does."
    yield f"{name} is used {name} its span"
    yield Message("a.key", name="rated power")
    command.add_argument("--name", help="what the motor is called in the register")
'''
    assert sorted(node.lineno for node in _sentences(ast.parse(source))) == [8, 9]
